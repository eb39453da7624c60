from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.edged import BOX, NO_EDGE, cutting_out, edged, unchecked
from tests.handmade import seen
from tests.holed import slot

NAME = "narrow-cutout"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
# A cut is never narrower than its cutter: geometry.


def notched(width: float, deep: float = 8.0) -> shapely.Polygon:
    return BOX.difference(shapely.box(10, 30 - deep, 10 + width, 40))


@pytest.mark.parametrize(
    ("width", "state"),
    [(0.6, State.NOT_MAKEABLE), (0.94, State.NOT_MAKEABLE), (0.96, State.MARGINAL),
     (0.994, State.MARGINAL), (0.996, None), (1.0, None), (1.1, None)],
)  # fmt: skip
def test_a_notch_as_wide_as_the_cutter_passes(width: float, state: State | None) -> None:
    found = seen(NAME, edged(notched(width)), cutting_out(1.0))

    assert [one.state for one in found] == ([] if state is None else [state])
    assert [one.measured for one in found] == pytest.approx([width] * len(found), abs=1e-6)


def test_the_message_tells_width_limit_and_remedy() -> None:
    (found,) = seen(NAME, edged(notched(0.6)), cutting_out(1.0))

    assert found.message == "Notch 0.600 mm wide, the outline cutter is 1.00 mm"
    assert found.remedy == "Widen it by 0.40 mm, or take a cutter of 0.60 mm"
    assert found.cause == "notches 0.60 mm wide"
    assert (found.x, found.y) == pytest.approx((10.3, 26.0))


def test_a_shallow_notch_counts_too() -> None:
    (found,) = seen(NAME, edged(notched(0.8, 0.3)), cutting_out(1.0))

    assert found.measured == pytest.approx(0.8)


def test_a_cutout_is_called_one() -> None:
    window = BOX.difference(shapely.box(10, 10, 20, 10.7))

    (found,) = seen(NAME, edged(window), cutting_out(1.0))

    assert found.message == "Cut-out 0.700 mm wide, the outline cutter is 1.00 mm"


def test_a_slot_of_the_drill_file_is_told_by_another_rule() -> None:
    cut = shapely.LineString([(10, 10), (20, 10)]).buffer(0.3, quad_segs=32)
    board = edged(BOX.difference(cut), (), slot((10, 10), (20, 10), 0.6))

    assert seen(NAME, board, cutting_out(1.0)) == []
    assert len(seen("narrow-slot", board, cutting_out(1.0))) == 1


@given(
    st.floats(0.1, 3), st.floats(0.3, 4), st.floats(0, 360), st.floats(0.2, 3), st.floats(0.2, 3)
)
@settings(deadline=None, max_examples=40)
def test_a_wider_cutter_never_passes_more(
    width: float, deep: float, angle: float, one: float, other: float
) -> None:
    board = edged(affinity.rotate(notched(width, deep), angle))
    low, high = sorted((one, other))

    assert len(seen(NAME, board, cutting_out(low))) <= len(seen(NAME, board, cutting_out(high)))


def test_the_corners_of_a_wide_notch_are_corners_however_the_board_lies() -> None:
    board = edged(affinity.rotate(notched(1.0, 2.0), 163.0))

    assert seen(NAME, board, cutting_out(0.5)) == []
    assert len(seen("round-corner", board, cutting_out(0.5))) == 2


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject = "width of notches and cut-outs"

    assert unchecked(NAME, edged(None), cutting_out()) == [Unchecked(subject, NO_EDGE)]
    assert unchecked(NAME, edged(BOX), cutting_out(None)) == [
        Unchecked(subject, "the profile sets no outline.cutter")
    ]


def test_the_bad_sample_tells_its_slit() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # A slit 0.8 mm wide from y = 13 to 18 mm about x = 15.
    assert found.seen.measured == pytest.approx(0.8)
    assert (found.seen.x, found.seen.y) == pytest.approx((15.0, 15.5))
