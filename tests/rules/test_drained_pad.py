from __future__ import annotations

from pathlib import Path

import pytest

from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.load import DEFAULT_PROFILE
from checker.read import read_board
from samples import parts
from samples.layout import Footprint, Land, Layout
from tests.handmade import RULES, seen
from tests.holed import holed, unchecked
from tests.joined import facts_of, joining
from tests.read.made import BOARDS, needs_boards

NAME = "drained-pad"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def tab(x: float, hole: float = 0.9) -> Layout:
    """A regulator whose tab, 3.50 x 2.20 about 20, 15.1, has a via at ``x``."""
    layout = Layout("tab", (40.0, 30.0))
    layout.place(parts.sot223(), "U1", 20.0, 12.0, ["GND", "OUT", "IN", "OUT"])
    layout.via(x, 15.1, "OUT", 1.9, hole)
    return layout


def cooled(hole: float, count: int, function: str = "HeatsinkPad") -> Layout:
    """A part that cools through a pad of 4 x 4 about 10, 10, with a row of holes in it."""
    lands = (Land("9", 0, 0, 4, 4, function=function),)
    layout = Layout("cooled", (20.0, 20.0))
    layout.place(Footprint(lands, (-3, -3, 3, 3)), "U1", 10.0, 10.0, ["GND"])
    for k in range(count):
        layout.via(10.0 + k - (count - 1) / 2, 10.0, "GND", hole + 0.3, hole)
    return layout


@pytest.mark.parametrize(
    ("x", "caught"), [(20.0, True), (21.7, True), (21.76, False), (23.0, False)]
)
def test_a_hole_whose_middle_is_in_the_pad_is_caught(
    tmp_path: Path, x: float, caught: bool
) -> None:
    assert len(seen(NAME, facts_of(tab(x), tmp_path), joining(head=1.0))) == caught


def test_the_message_tells_how_far_inside_and_the_remedy_how_far_to_move(tmp_path: Path) -> None:
    (found,) = seen(NAME, facts_of(tab(21.25), tmp_path), joining(head=1.0))

    assert found.message == (
        "Hole of 0.90 mm inside a pad that is soldered flat, 0.50 mm from its edge: U1.4 (OUT)"
    )
    assert found.remedy == "Move the hole 1.00 mm, out of the pad"  # 0.5 and half a lump of 1 mm
    assert (found.x, found.y, found.side) == (21.25, 15.1, "top")
    assert (found.state, found.pins, found.nets) == (State.MARGINAL, ("U1.4",), ("OUT",))


def test_two_holes_in_a_pad_are_told_as_two(tmp_path: Path) -> None:
    layout = tab(19.0)
    layout.via(21.0, 15.1, "OUT", 1.9, 0.9)

    (found,) = seen(NAME, facts_of(layout, tmp_path), joining(head=1.0))

    assert found.message.startswith("2 holes of 0.90 mm inside a pad")
    assert found.remedy.startswith("Move the holes ")


# One hole of 1 to 2 mm under a cooling pad, filled from the other side: common trade practice.
@pytest.mark.parametrize(
    ("hole", "count", "caught"),
    [(0.3, 1, True), (0.3, 4, True), (0.9, 1, True), (1.0, 1, False), (1.5, 1, False)],
)
def test_a_cooling_pad_wants_one_wide_hole(
    tmp_path: Path, hole: float, count: int, caught: bool
) -> None:
    found = seen(NAME, facts_of(cooled(hole, count), tmp_path), joining(head=1.0))

    assert len(found) == caught
    assert all(
        one.remedy == "Make it one hole of 1.00 mm, filled with solder from the other side"
        for one in found
    )


def test_all_holes_of_a_pad_are_told_once_in_their_middle(tmp_path: Path) -> None:
    (found,) = seen(NAME, facts_of(cooled(0.3, 4), tmp_path), joining(head=1.0))

    assert found.message.startswith("4 holes of 0.30 mm inside")
    assert [found.x, found.y] == pytest.approx([10.0, 10.0])


def test_many_holes_in_any_pad_are_there_for_heat(tmp_path: Path) -> None:
    (few,) = seen(NAME, facts_of(cooled(0.3, 2, "SMDPad,CuDef"), tmp_path), joining(head=1.0))
    (many,) = seen(NAME, facts_of(cooled(0.3, 4, "SMDPad,CuDef"), tmp_path), joining(head=1.0))

    assert few.remedy.startswith("Move the holes")
    assert many.remedy.startswith("Make it one hole")


@pytest.mark.parametrize(("name", "told"), [("TP1", 0), ("TP", 1), ("T1", 1)])
def test_test_points_take_no_solder(tmp_path: Path, name: str, told: int) -> None:
    layout = Layout("point", (20.0, 20.0))
    lands = (Land("1", 0, 0, 2, 2, function="SMDPad,CuDef"),)
    layout.place(Footprint(lands, (-1, -1, 1, 1)), name, 10.0, 10.0, ["A"])
    layout.via(10.3, 10.0, "A", 0.9, 0.6)

    assert len(seen(NAME, facts_of(layout, tmp_path), joining(head=1.0))) == told


def test_leads_in_their_pads_are_no_fault(tmp_path: Path) -> None:
    layout = Layout("leads", (30.0, 20.0))
    layout.place(parts.dip(8), "U1", 15.0, 10.0, [])

    assert seen(NAME, facts_of(layout, tmp_path), joining()) == []


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [one.why for one in unchecked(NAME, holed(read=False), joining())] == ["no drill file"]


@needs_boards
def test_cooling_pads_of_an_open_board_that_states_no_functions() -> None:
    # Looked at on a picture: three parts with 10 holes each under them, and nothing else.
    board = read_board([BOARDS / "clockblock"])
    report = check(board, load_profile(DEFAULT_PROFILE), {NAME: RULES[NAME]})

    found = [one.seen for one in report.findings if one.rule == NAME]
    assert [one.message[:20] for one in found] == ["10 holes of 0.38 mm "] * 3


def test_the_sample_tells_place_and_depth() -> None:
    report = check(read_board([BAD]), load_profile(DEFAULT_PROFILE))

    (found,) = report.findings
    assert (found.seen.x, found.seen.y, found.seen.pins) == (20.0, 15.1, ("U1.4",))
    assert "1.10 mm from its edge" in found.seen.message  # the tab is 2.20 mm deep
