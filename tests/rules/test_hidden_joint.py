from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Part
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.load import DEFAULT_PROFILE
from checker.read import read_board
from tests.handmade import on_board, seen
from tests.holed import holed, unchecked
from tests.joined import facts_of, joining, leap, without_parts, without_words

NAME = "hidden-joint"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
VIA = (13.0, 12.0)
RADIUS = 0.45  # of the via's hole


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Facts:
    """Two vias at 13, 12 and 27, 12 and no part near them."""
    return facts_of(leap(), tmp_path_factory.mktemp("leap"))


def under(facts: Facts, *parts: Part) -> Facts:
    return on_board(facts, replace(facts.board, parts=parts))


def flat(edge: float, side: str = "top", **more: object) -> Part:
    """A body that ends ``edge`` to the left of the first via, negative where it covers it."""
    x = VIA[0] - edge
    body = shapely.box(x - 5, 10, x, 14)
    return Part("U1", side, x - 2.5, 12, body, mount="surface", **more)


# A lump of 0.5 to 1 mm lifts a part: common trade practice.
@pytest.mark.parametrize(
    ("edge", "caught"),
    [(-2.0, True), (0.0, True), (RADIUS - 0.01, True), (RADIUS, False), (1.0, False)],
)
def test_a_body_over_any_part_of_the_hole_is_caught(
    plain: Facts, edge: float, caught: bool
) -> None:
    found = seen(NAME, under(plain, flat(edge)), joining(head=1.0))

    assert len(found) == caught


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_parts_on_either_side_hide_a_wire(plain: Facts, side: str) -> None:
    (found,) = seen(NAME, under(plain, flat(-1.0, side)), joining(head=1.0))

    assert (found.side, found.state) == (side, State.MARGINAL)
    assert (found.x, found.y) == VIA
    assert found.nets == ("LINE",)


def test_the_message_tells_how_deep_and_the_remedy_how_far(plain: Facts) -> None:
    (found,) = seen(NAME, under(plain, flat(-1.2)), joining(head=1.0))

    assert found.message == (
        "Via 1.20 mm inside the body of U1 on the top, its lump needs 0.50 mm from the edge: LINE"
    )
    assert found.remedy == "Move it 1.70 mm out from under U1, or bend a thin wire flat"
    assert found.measured == pytest.approx(-1.2)
    assert found.limit == 0.5


def test_moving_by_the_remedy_mends_it(plain: Facts) -> None:
    assert seen(NAME, under(plain, flat(-1.2 + 1.7)), joining(head=1.0)) == []


def test_under_a_part_on_leads_it_is_a_remark(plain: Facts) -> None:
    (found,) = seen(
        NAME, under(plain, replace(flat(-1.0), mount="through hole")), joining(head=1.0)
    )

    assert found.state is State.REMARK
    assert found.remedy.endswith("or solder it first and stand U1 1.00 mm off")


def test_where_only_the_room_of_the_part_is_known_it_is_a_remark(plain: Facts) -> None:
    part = flat(-1.0)
    (found,) = seen(
        NAME, under(plain, replace(part, body=None, courtyard=part.body)), joining(head=1.0)
    )

    assert found.state is State.REMARK
    assert "the room of U1" in found.message


def test_the_body_counts_where_both_are_known(plain: Facts) -> None:
    wide = flat(-1.0).body

    assert seen(NAME, under(plain, flat(2.0, courtyard=wide)), joining(head=1.0)) == []


def test_wires_under_one_part_are_one_cause(plain: Facts) -> None:
    part = replace(flat(-1.0), body=shapely.box(10, 10, 30, 14))

    found = seen(NAME, under(plain, part), joining(head=1.0))

    assert len(found) == 2
    assert {one.cause for one in found} == {"wires under U1"}


def test_a_via_that_only_one_side_uses_takes_no_wire(tmp_path: Path) -> None:
    layout = leap()
    layout.tracks = [track for track in layout.tracks if track.side != "top"]

    facts = under(facts_of(layout, tmp_path), flat(-1.0))

    assert seen(NAME, facts, joining(head=1.0)) == []


def test_without_parts_it_is_unchecked(tmp_path: Path) -> None:
    layout = leap()
    facts = facts_of(layout, tmp_path, without_parts(layout))

    (one,) = unchecked(NAME, facts, joining())
    assert one.why == "no component layer names the parts' bodies"


def test_where_nothing_but_leads_joins_the_sides_no_part_can_hide_a_wire(tmp_path: Path) -> None:
    layout = leap(over_vias=False)
    facts = facts_of(layout, tmp_path, without_parts(layout))

    assert unchecked(NAME, facts, joining()) == []


def test_one_via_among_leads_is_enough_to_ask_for_parts(tmp_path: Path) -> None:
    layout = leap()
    layout.track("top", 0.8, "OTHER", (20.0, 4.0), (20.0, 8.0))
    facts = facts_of(layout, tmp_path, without_parts(layout))

    assert len(unchecked(NAME, facts, joining())) == 1


def test_where_vias_are_not_told_from_leads_it_is_unchecked(tmp_path: Path) -> None:
    layout = leap()
    facts = under(facts_of(layout, tmp_path, without_words(layout)), flat(-1.0))

    (one,) = unchecked(NAME, facts, joining())
    assert "do not tell vias" in one.why
    assert seen(NAME, facts, joining()) == []


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [one.why for one in unchecked(NAME, holed(read=False), joining())] == ["no drill file"]


def test_a_board_of_one_side_has_no_wires() -> None:
    assert unchecked(NAME, holed(sides=("bottom",)), joining()) == []


def test_the_sample_tells_place_and_depth() -> None:
    report = check(read_board([BAD]), load_profile(DEFAULT_PROFILE))

    (found,) = report.findings
    assert (found.seen.x, found.seen.y, found.seen.side) == (20.0, 12.0, "top")
    # The body of the regulator is 3.5 mm deep, the via in its middle.
    assert found.seen.measured == pytest.approx(-3.5 / 2)
    assert report.verdict.value == "marginal"
