from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Joints
from checker.read import read_board
from samples.layout import Layout
from tests.handmade import cutting, seen
from tests.holed import holed, unchecked
from tests.joined import facts_of, leap, without_words

NAME = "crowded-rivet"
CASE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def riveting(head: float | None = 2.2, cut: float = 0.2, method: str = "rivet") -> Process:
    return replace(cutting(cut), joints=Joints(method=method, wire=0.8, head=head))


def beside(distance: float) -> Layout:
    """The first via at 13, 12 with the edge of a track ``distance`` from its middle, on the top."""
    layout = leap()
    x = 13.0 - distance - 0.4
    layout.track("top", 0.8, "PASS", (x, 8.0), (x, 16.0))
    return layout


def pair(pitch: float) -> Layout:
    """Two vias of two nets, each joined away from the other on both sides."""
    layout = Layout("pair", (40.0, 20.0))
    for net, x, step in (("A", 20.0, -8.0), ("B", 20.0 + pitch, 8.0)):
        layout.via(x, 10.0, net, 1.4, 0.9)
        for side in ("top", "bottom"):
            layout.track(side, 0.8, net, (x, 10.0), (x + step, 10.0))
    return layout


@pytest.mark.parametrize(
    ("distance", "states"),
    [
        (1.0, [State.NOT_MAKEABLE]),
        (1.1, [State.NOT_MAKEABLE]),
        (1.2, [State.MARGINAL]),
        (1.29, [State.MARGINAL]),
        (1.3, []),
        (1.5, []),
    ],
    ids=lambda value: str(value),
)
def test_the_cut_is_to_stay_clear_of_the_head(
    tmp_path: Path, distance: float, states: list[State]
) -> None:
    found = seen(NAME, facts_of(beside(distance), tmp_path), riveting(head=2.2))

    assert [one.state for one in found] == states


def test_the_message_tells_what_is_left_and_the_remedy_how_far(tmp_path: Path) -> None:
    (found,) = seen(NAME, facts_of(beside(1.2), tmp_path), riveting(head=2.2))

    assert found.message == (
        "Head of 2.20 mm leaves 0.100 mm, the cut is 0.200 mm wide: rivet LINE and copper of PASS"
    )
    assert found.remedy == "Move the via 0.10 mm away, or join the sides there with a wire"
    assert (found.x, found.y, found.side) == (13.0, 12.0, "top")
    assert found.measured == pytest.approx(0.1)
    assert found.limit == 0.2
    assert found.nets == ("LINE", "PASS")


def test_rivets_at_the_pitch_of_headers_touch_their_neighbours(tmp_path: Path) -> None:
    # A maker of boards with rivets reports heads of 2.2 mm at 2.54 mm pitch 0.34 mm apart, which
    # spread and short: set from alternate sides. Common trade practice, contested.
    facts = facts_of(pair(2.54), tmp_path)

    wide = seen(NAME, facts, riveting(head=2.2, cut=0.4))

    assert {one.side for one in wide} == {"top", "bottom"}
    assert [round(one.measured or 0.0, 3) for one in wide] == [0.34] * 4
    assert seen(NAME, facts, riveting(head=2.2, cut=0.3)) == []


def test_heads_that_overlap_are_told_as_such(tmp_path: Path) -> None:
    found = seen(NAME, facts_of(pair(2.0), tmp_path), riveting(head=2.2))

    assert {one.state for one in found} == {State.NOT_MAKEABLE}
    assert any(
        one.message.startswith("Head of 2.20 mm overlaps by 0.200 mm")
        and one.message.endswith("rivet A and the head of the rivet B")
        for one in found
    )


def test_a_wider_cut_never_finds_fewer(tmp_path: Path) -> None:
    facts = facts_of(beside(1.2), tmp_path)

    counts = [len(seen(NAME, facts, riveting(cut=cut))) for cut in (0.05, 0.15, 0.3, 0.8)]
    assert counts == sorted(counts)


def test_wires_have_no_heads(tmp_path: Path) -> None:
    facts = facts_of(beside(1.0), tmp_path)

    assert seen(NAME, facts, riveting(method="wire")) == []
    assert unchecked(NAME, facts, riveting(None, method="wire")) == []


def test_without_a_head_it_is_unchecked(tmp_path: Path) -> None:
    (one,) = unchecked(NAME, facts_of(beside(1.0), tmp_path), riveting(None))

    assert one.why == "the profile sets no joints.head"


def test_where_vias_are_not_told_from_leads_it_is_unchecked(tmp_path: Path) -> None:
    layout = beside(1.0)
    (one,) = unchecked(NAME, facts_of(layout, tmp_path, without_words(layout)), riveting())

    assert "do not tell vias" in one.why


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [one.why for one in unchecked(NAME, holed(read=False), riveting())] == ["no drill file"]


def test_the_sample_tells_place_and_room() -> None:
    report = check(read_board([CASE / "bad"]), load_profile(CASE / "profile.yaml"))

    (found,) = report.findings
    assert (found.seen.x, found.seen.y, found.seen.side) == (13.0, 14.0, "top")
    assert found.seen.measured == pytest.approx(1.45 - 2.6 / 2, abs=0.002)
