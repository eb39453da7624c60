from __future__ import annotations

import math

import pytest
import shapely

from checker.measure.holes.remains import ERROR, left_beside
from tests.coppered import Drawn, coppered, disk, drilled, trace

HOLE = shapely.Point(0, 0).buffer(0.5, quad_segs=64)


def left(*drawn: Drawn, enough: float = 0.4) -> tuple[float, float] | None:
    board = coppered(drilled(0, 0, 1.0), top=drawn).board
    return left_beside(board.copper[0], 0, HOLE, enough)


@pytest.mark.parametrize("turn", [0, 30, 45, 73])
@pytest.mark.parametrize("cut", [0.05, 0.2, 0.35, 0.5])
def test_of_a_straight_trace_stays_what_the_hole_does_not_reach(turn: float, cut: float) -> None:
    # The lower edge of a trace of 0.5 mm lies so far within the rim of a hole of 1 mm.
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    y = 0.5 - cut + 0.25
    line = trace("N", 0.5, (-9 * c - y * s, -9 * s + y * c), (9 * c - y * s, 9 * s + y * c))

    without, beside = left(line) or (0, 0)

    assert without == 0.4
    assert beside == pytest.approx(min(0.5 - cut, 0.4), abs=ERROR)


def test_a_hole_amid_a_trace_leaves_the_wider_of_two_strips() -> None:
    _, beside = left(trace("N", 1.5, (-9, 0.05), (9, 0.05))) or (0, 0)

    # From -0.7 to 0.8: 0.2 mm on one side and 0.3 mm on the other.
    assert beside == pytest.approx(0.3, abs=ERROR)


def test_a_bend_round_the_hole_is_as_wide_as_at_its_narrowest() -> None:
    _, beside = left(trace("N", 0.4, (-9, -0.6), (0.6, -0.6), (0.6, 9))) or (0, 0)

    # Both arms begin 0.4 mm from the hole's middle: 0.3 mm of 0.4 mm are left.
    assert beside == pytest.approx(0.3, abs=ERROR)


def test_of_a_junction_every_arm_has_to_be_reached() -> None:
    _, beside = left(trace("N", 0.4, (-9, 0.9), (9, 0.9)), trace("N", 0.4, (0, 0.9), (0, -9))) or (
        9, 9,
    )  # fmt: skip

    assert beside == 0


def test_where_the_copper_ends_nothing_is_parted() -> None:
    assert left(trace("N", 0.5, (-9, 0.4), (0, 0.4))) is None


def test_a_pad_beside_the_hole_is_reached_too() -> None:
    line, pad = trace("N", 0.5, (-9, 0.4), (0.6, 0.4)), Drawn(disk(0.8, 0.4, 0.8), "N")

    _, beside = left(line, pad) or (9, 9)

    assert beside == pytest.approx(0.15, abs=ERROR)
