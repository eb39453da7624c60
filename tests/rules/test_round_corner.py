from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import seen
from tests.holed import hit

NAME = "round-corner"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
ELL = BOX.difference(shapely.box(20, 15, 50, 50))


@pytest.mark.parametrize(("cutter", "stays"), [(0.8, 0.17), (1.0, 0.21), (2.0, 0.41), (3.0, 0.62)])
def test_a_right_corner_is_told_with_its_diagonal_error(cutter: float, stays: float) -> None:
    # D/2 (sqrt 2 - 1), as tabulated for four cutters.
    (found,) = seen(NAME, edged(ELL), cutting_out(cutter))

    assert found.measured == pytest.approx(stays, abs=0.005)
    assert (found.x, found.y) == (20.0, 15.0)


def test_the_message_tells_angle_rest_and_remedy() -> None:
    (found,) = seen(NAME, edged(ELL), cutting_out(1.0))

    assert found.message == (
        "Inside corner of 90 degrees drawn sharp keeps 0.207 mm, the cutter of 1.00 mm leaves a "
        "radius of 0.50 mm"
    )
    assert found.remedy == (
        "Draw it with a radius of 0.50 mm, or drill a hole of 1.00 mm on it where a part has to "
        "go in"
    )
    assert found.state is State.REMARK


def test_the_corners_of_a_window_are_marginal_and_one_cause() -> None:
    window = shapely.box(10, 10, 20, 20).buffer(-0.2).buffer(0.2, quad_segs=16)

    found = seen(NAME, edged(BOX.difference(window)), cutting_out(1.0))

    assert [one.state for one in found] == [State.MARGINAL] * 4
    assert {one.cause for one in found} == {"inside corners of cut-outs sharper than 0.50 mm"}
    assert all("of 0.20 mm radius keeps 0.12" in one.message for one in found)


@pytest.mark.parametrize(("radius", "told"), [(0.37, 4), (0.39, 0), (0.5, 0), (1.0, 0)])
def test_a_corner_within_a_stroke_of_the_file_is_silent(radius: float, told: int) -> None:
    # (0.5 - r) (sqrt 2 - 1) is 0.054 mm for r = 0.37 and 0.046 mm for r = 0.39.
    window = shapely.box(10, 10, 20, 20).buffer(-radius).buffer(radius, quad_segs=24)

    assert len(seen(NAME, edged(BOX.difference(window)), cutting_out(1.0))) == told


def test_outer_corners_and_relieved_ones_are_silent() -> None:
    assert seen(NAME, edged(BOX), cutting_out(3.0)) == []
    assert seen(NAME, edged(ELL, (), hit(20.2, 15.2, 1.0)), cutting_out(1.0)) == []


def test_corners_of_a_tab_that_breaks_off_are_silent() -> None:
    # Two boards, a bridge of 2 mm between two slots, and two holes across the bridge.
    slots = shapely.box(5, 14, 19, 16) | shapely.box(21, 14, 35, 16)
    holes = [hit(x, 15.0, 0.5) for x in (19.5, 20.5)]
    process = cutting_out(1.0)

    bare, torn = (seen(NAME, edged(BOX - slots, (), *h), process) for h in ((), holes))

    assert {one.x for one in bare} == {5, 19, 21, 35}
    assert {one.x for one in torn} == {5, 35}


def test_a_notch_that_the_cutter_does_not_enter_is_told_by_another_rule() -> None:
    notch = edged(BOX.difference(shapely.box(10, 20, 10.8, 40)))

    assert seen(NAME, notch, cutting_out(1.0)) == []
    assert len(seen("narrow-cutout", notch, cutting_out(1.0))) == 1
    assert len(seen(NAME, notch, cutting_out(0.8))) == 2


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject = "inside corners of the edge"

    assert unchecked(NAME, edged(None), cutting_out()) == [Unchecked(subject, NO_EDGE)]
    assert unchecked(NAME, edged(ELL), cutting_out(None)) == [
        Unchecked(subject, "the profile sets no outline.cutter")
    ]


def test_the_bad_sample_tells_the_corners_of_its_window() -> None:
    found = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert [one.seen.measured for one in found] == pytest.approx([0.207] * 4, abs=0.001)
    assert {(one.seen.x, one.seen.y) for one in found} == {
        (x, y) for x in (11.0, 19.0) for y in (11.0, 15.0)
    }
