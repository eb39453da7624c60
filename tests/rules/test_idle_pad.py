from __future__ import annotations

from pathlib import Path

import pytest

from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.load import DEFAULT_PROFILE
from checker.read import read_board
from samples import parts
from samples.layout import Layout
from tests.handmade import cutting, seen
from tests.holed import holed, unchecked
from tests.joined import facts_of, leap, without_words

NAME = "idle-pad"
ROOT = Path(__file__).parents[2] / "samples"
BAD = ROOT / "rules" / NAME / "bad"
CUT = cutting(0.2)


def link() -> Layout:
    """Two posts joined on the bottom."""
    layout = Layout("link", (30.0, 20.0))
    for part, x in (("J1", 6.0), ("J2", 24.0)):
        layout.place(parts.header(1), part, x, 10.0, ["LINE"])
    layout.track("bottom", 0.8, "LINE", (6.0, 10.0), (24.0, 10.0))
    return layout


def passing(gap: float) -> Layout:
    """The same with a track of another net on the top, ``gap`` from the first pad."""
    layout = link()
    x = 6.0 + 0.85 + gap + 0.4  # half of a pad and of a track
    for part, y in (("J3", 3.0), ("J4", 17.0)):
        layout.place(parts.dip(8), part, 15.0, y, {"1": "PASS"})
    layout.track("top", 0.8, "PASS", (x, 5.0), (x, 15.0))
    return layout


@pytest.mark.parametrize("named", [True, False])
def test_a_side_that_holds_pads_alone_is_told_once(tmp_path: Path, named: bool) -> None:
    layout = link()
    (found,) = seen(NAME, facts_of(layout, tmp_path, None if named else without_words(layout)), CUT)

    assert found.message == "2 pads on the top and no trace to any: nothing there needs a joint"
    assert found.remedy == "Leave the top out and solder the 2 leads on the bottom alone"
    assert (found.state, found.side, found.x) == (State.REMARK, "top", None)


def test_a_side_with_any_use_is_not(tmp_path: Path) -> None:
    assert seen(NAME, facts_of(leap(), tmp_path), CUT) == []


def test_a_side_with_a_flat_part_is_not(tmp_path: Path) -> None:
    layout = link()
    layout.place(parts.chip("1206"), "R1", 15.0, 15.0, ["A", "B"])

    assert seen(NAME, facts_of(layout, tmp_path), CUT) == []


@pytest.mark.parametrize(("gap", "caught"), [(0.15, True), (0.25, False)])
def test_an_idle_pad_is_told_where_it_stands_in_the_way(
    tmp_path: Path, gap: float, caught: bool
) -> None:
    found = seen(NAME, facts_of(passing(gap), tmp_path), CUT)

    assert [one.pins for one in found] == [("J1.1",)] * caught


def test_the_message_tells_gap_and_neighbour(tmp_path: Path) -> None:
    (found,) = seen(NAME, facts_of(passing(0.15), tmp_path), CUT)

    assert found.message == (
        "Idle pad 0.150 mm from the trace PASS, the cut is up to 0.200 mm wide: J1.1 (LINE)"
    )
    assert found.remedy == "Leave out the pad on the top side, which nothing joins there"
    assert (found.x, found.y, found.side) == (6.0, 10.0, "top")
    assert found.measured == pytest.approx(0.15, abs=0.002)
    assert found.limit == 0.2


def test_a_wider_cut_never_tells_of_fewer_pads(tmp_path: Path) -> None:
    facts = facts_of(passing(0.15), tmp_path)

    counts = [len(seen(NAME, facts, cutting(cut))) for cut in (0.1, 0.16, 0.2, 0.3, 0.4)]
    assert counts == sorted(counts)
    assert counts[0] == 0


def test_usual_boards_with_pads_on_both_sides_are_left_alone() -> None:
    report = check(read_board([ROOT / "boards" / "hive-scale"]), load_profile(DEFAULT_PROFILE))

    assert [one for one in report.findings if one.rule == NAME] == []


def test_boards_with_layers_between_are_left_to_another_rule() -> None:
    report = check(read_board([ROOT / "boards" / "orchard-cam"]), load_profile("cone-60-0.2"))

    assert [one for one in report.findings if one.rule == NAME] == []


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [one.why for one in unchecked(NAME, holed(read=False), CUT)] == ["no drill file"]


def test_a_board_of_one_side_has_none() -> None:
    assert unchecked(NAME, holed(sides=("bottom",), read=False), CUT) == []


def test_the_sample_tells_side_and_number() -> None:
    report = check(read_board([BAD]), load_profile(DEFAULT_PROFILE))

    (found,) = report.findings
    assert found.seen.message.startswith("2 pads on the top and no trace")
    assert report.verdict.value == "makeable"
