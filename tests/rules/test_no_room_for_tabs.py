from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts, Reach
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import seen
from tests.holed import hit
from tests.read.made import chain, gerber, pads, rectangle, write

NAME = "no-room-for-tabs"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def tabs(count: int = 3, width: float = 3.0) -> Process:
    # Three or four tabs of 2 to 4 mm, none near copper: common trade practice.
    return cutting_out(1.0, edge_clearance=0.5, tab_width=width, tab_count=count)


def square(size: float) -> shapely.Polygon:
    return shapely.box(0, 0, size, size)


@pytest.mark.parametrize(("size", "told"), [(3.9, True), (4.0, False), (4.1, False), (30.0, False)])
def test_each_side_takes_a_tab_and_the_cutter(size: float, told: bool) -> None:
    found = seen(NAME, edged(square(size)), tabs())

    assert [one.state for one in found] == [State.REMARK] * told


@pytest.mark.parametrize(("sides", "fit"), [(0, 0), (1, 2), (2, 4)])
def test_tabs_in_one_stretch_keep_apart(sides: int, fit: int) -> None:
    """A free side of a square takes two of three tabs: they lie a sixth of the girth apart."""
    bars = [
        shapely.box(0.3, 0.3, 29.7, 0.8), shapely.box(0.3, 29.2, 29.7, 29.7),
        shapely.box(0.3, 1.0, 0.8, 29.0), shapely.box(29.2, 1.0, 29.7, 29.0),
    ]  # fmt: skip

    found = seen(NAME, edged(square(30), bars[sides:]), tabs())

    assert [one.message.split(" tab")[0] for one in found] == [f"Room for {fit}"] * (fit < 3)


def test_a_round_board_takes_them_anywhere() -> None:
    assert seen(NAME, edged(shapely.Point(0, 0).buffer(10, 64)), tabs(6)) == []


def test_the_message_tells_room_limit_and_remedy() -> None:
    (found,) = seen(NAME, edged(shapely.box(0, 0, 12, 3.5)), tabs(8))

    assert found.message == (
        "Room for 6 tabs of 3.0 mm with copper and holes 0.50 mm away, 8 hold the board"
    )
    assert found.remedy == (
        "Keep 2 more stretches of 4.0 mm free, or hold the board with tape over its full area"
    )
    assert (found.x, found.y) == (6.0, 1.75)


@pytest.mark.parametrize(("inset", "told"), [(0.0, False), (0.7, True)], ids=["edge", "border"])
def test_a_line_of_copper_that_shows_the_edge_takes_no_room(
    inset: float, told: bool, tmp_path: Path
) -> None:
    """The outline cutter takes it, but not a border that runs just inside."""
    x, y = 30 - inset, 20 - inset
    ring = chain((inset, inset), (x, inset), (x, y), (inset, y), (inset, inset), pen=10)
    files = {
        "b-B_Cu.gbr": gerber(pads((5, 5), (25, 15)), ring, function="Copper,L1,Bot"),
        "b-Edge.gbr": gerber(rectangle(0, 0, 30, 20), function="Profile,NP"),
    }
    board = read_board([write(tmp_path, files)])

    assert len(seen(NAME, Facts(board, Reach(), (), ()), tabs())) == told


def test_holes_take_room_too() -> None:
    holes = [hit(1 + 2 * k, y, 1.0) for k in range(10) for y in (0.9, 19.1)]
    holes += [hit(x, 1 + 2 * k, 1.0) for k in range(10) for x in (0.9, 19.1)]

    assert len(seen(NAME, edged(square(20), (), *holes), tabs())) == 1


def test_each_board_of_a_panel_is_judged() -> None:
    panel = shapely.MultiPolygon([BOX, shapely.box(50, 0, 53, 3)])

    (found,) = seen(NAME, edged(panel), tabs())

    assert (found.x, found.y) == (51.5, 1.5)


@pytest.mark.parametrize("key", ["cutter", "edge_clearance", "tab_width", "tab_count"])
def test_what_the_profile_leaves_open_is_not_checked(key: str) -> None:
    keys: dict[str, float | None] = {
        "cutter": 1.0, "edge_clearance": 0.5, "tab_width": 3.0, "tab_count": 3, key: None
    }  # fmt: skip

    assert unchecked(NAME, edged(), cutting_out(**keys)) == [  # type: ignore[arg-type]
        Unchecked("room for tabs", f"the profile sets no outline.{key}")
    ]


def test_without_an_edge_nothing_is_checked() -> None:
    assert unchecked(NAME, edged(None), tabs()) == [Unchecked("room for tabs", NO_EDGE)]


def test_the_bad_sample_tells_its_pendant() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # Sides of an octagon 8.6 mm across: 8.6 (sqrt 2 - 1) = 3.56 mm, less than 3 + 1.
    assert found.seen.message.startswith("Room for 0 tabs of 3.0 mm")
    assert (found.seen.x, found.seen.y) == pytest.approx((4.3, 4.3))
