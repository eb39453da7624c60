from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import seen
from tests.holed import hit, slot

NAME = "hole-at-edge"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def keeping(clearance: float | None) -> Process:
    return cutting_out(hole_clearance=clearance)


@pytest.mark.parametrize(
    ("off", "caught"),
    [(0.494, True), (0.496, False), (0.5, False), (0.51, False), (0.0, True), (-0.5, True)],
    ids=["below", "within the error of drawing", "exactly", "above", "touching", "half outside"],
)
def test_a_hole_at_just_the_clearance_passes(off: float, caught: bool) -> None:
    # 0.5 mm: holes nearer than 0.5 to 1 mm to the edge break out, common trade practice.
    found = seen(NAME, edged(BOX, (), hit(10, off + 0.5, 1.0)), keeping(0.5))

    assert [one.state for one in found] == [State.MARGINAL] * caught


def test_the_message_tells_laminate_limit_and_remedy() -> None:
    (found,) = seen(NAME, edged(BOX, (), hit(10, 1.813, 3.2)), keeping(0.5))

    assert found.message == (
        "Hole of 3.20 mm leaves 0.213 mm of laminate to the edge, it breaks out below 0.500 mm"
    )
    assert found.remedy == "Move it 0.29 mm inwards"
    assert found.cause == "holes with laminate to the edge of 0.21 mm"
    assert (found.x, found.y, found.limit) == (10, 1.813, 0.5)


@pytest.mark.parametrize(
    ("size", "pitch", "caught"),
    [(0.5, 0.8, 0), (0.9, 1.5, 0), (0.9, 1.6, 3), (1.1, 1.5, 3)],
    ids=["narrow", "as far apart as any", "too far apart", "too wide"],
)
def test_a_row_to_break_the_board_off_along_is_meant_so(
    size: float, pitch: float, caught: int
) -> None:
    # 0.5 mm holes 0.8 to 1 mm apart are common trade practice; 0.9 mm ones 1.2 mm apart on the
    # edge itself are those of an open board.
    row = [hit(10 + k * pitch, 0.1, size) for k in range(3)]

    assert len(seen(NAME, edged(BOX, (), *row), keeping(0.5))) == caught


def test_a_hole_across_the_edge_is_told_with_what_lies_outside() -> None:
    (found,) = seen(NAME, edged(BOX, (), slot((10, 5), (10, 0.3), 1.0)), keeping(0.5))

    assert found.message == (
        "Slot of 1.00 mm crosses the edge by 0.200 mm, it breaks out below 0.500 mm"
    )
    assert found.remedy == "Move it 0.70 mm inwards"


@pytest.mark.parametrize(
    ("function", "kind"),
    [("ViaDrill", "vias"), ("ComponentDrill", "holes for leads"), ("MechanicalDrill", "holes")],
)
def test_holes_near_and_holes_across_the_edge_are_a_cause_each_by_their_use(
    function: str, kind: str
) -> None:
    holes = [hit(x, y, 1.0, function) for x, y in ((10, 0.8), (20, 0.4))]

    near, across = seen(NAME, edged(BOX, (), *holes), keeping(0.5))

    assert near.cause == f"{kind} with laminate to the edge of 0.30 mm"
    assert across.cause == f"{kind} across the edge by 0.10 mm"


def test_a_cutout_has_an_edge_too() -> None:
    window = BOX.difference(shapely.box(20, 10, 30, 20))

    (found,) = seen(NAME, edged(window, (), hit(19, 15, 1.4)), keeping(0.5))

    assert found.measured == pytest.approx(0.3)


@pytest.mark.parametrize(
    "hole", [hit(10, -2, 1.0), hit(25, 15, 1.0)], ids=["tooling", "within a cut-out"]
)
def test_holes_wholly_outside_are_left_out(hole: object) -> None:
    window = BOX.difference(shapely.box(20, 10, 30, 20))

    assert seen(NAME, edged(window, (), hole), keeping(0.5)) == []  # type: ignore[arg-type]


def test_a_slot_that_the_edge_shows_as_well_is_left_out() -> None:
    cut = shapely.LineString([(10, 10), (20, 10)]).buffer(1.0, quad_segs=32)
    same = slot((10, 10), (20, 10), 2.0)

    assert seen(NAME, edged(BOX.difference(cut), (), same), keeping(0.5)) == []


def test_a_hole_that_relieves_an_inside_corner_is_left_out() -> None:
    ell = BOX.difference(shapely.box(20, 15, 50, 50))

    assert seen(NAME, edged(ell, (), hit(20.2, 15.2, 1.0)), keeping(0.5)) == []
    assert len(seen(NAME, edged(BOX, (), hit(0.2, 0.2, 1.0)), keeping(0.5))) == 1


def test_a_plated_hole_across_the_edge_is_told_by_another_rule() -> None:
    across = replace(hit(10, 0.1, 1.0), plated=True)
    near = replace(hit(10, 0.7, 1.0), plated=True)

    assert seen(NAME, edged(BOX, (), across), keeping(0.5)) == []
    assert len(seen("plated-edge", edged(BOX, (), across), keeping(0.5))) == 1
    assert len(seen(NAME, edged(BOX, (), near), keeping(0.5))) == 1


@given(st.lists(st.floats(-1, 3), min_size=1, max_size=6), st.floats(0, 4), st.floats(0, 4))
@settings(deadline=None, max_examples=40)
def test_a_wider_clearance_never_passes_more(offs: list[float], one: float, other: float) -> None:
    board = edged(BOX, (), *(hit(3.0 + 5 * k, off, 1.0) for k, off in enumerate(offs)))
    low, high = sorted((one, other))

    assert {found.x for found in seen(NAME, board, keeping(low))} <= {
        found.x for found in seen(NAME, board, keeping(high))
    }


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject, hole = "holes at the edge", hit(10, 0.6, 1.0)

    assert unchecked(NAME, edged(None, (), hole), keeping(0.5)) == [Unchecked(subject, NO_EDGE)]
    assert unchecked(NAME, edged(BOX, (), hole), keeping(None)) == [
        Unchecked(subject, "the profile sets no outline.hole_clearance")
    ]
    assert unchecked(NAME, edged(BOX, read=False), keeping(0.5)) == [
        Unchecked(subject, "no drill file")
    ]
    assert unchecked(NAME, edged(BOX), keeping(0.5)) == []


def test_the_bad_sample_tells_its_holes() -> None:
    found = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # Holes of 3.2 mm whose middles are 1.85 mm from the upper edge.
    assert [one.seen.measured for one in found] == pytest.approx([0.25, 0.25])
    assert {(one.seen.x, one.seen.y) for one in found} == {(10.0, 16.15), (20.0, 16.15)}
