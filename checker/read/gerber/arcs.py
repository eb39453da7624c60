"""Arcs as the format states them: two ends, an offset to the centre, a direction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.read.gerber.curves import arc

if TYPE_CHECKING:
    from checker.read.gerber.drawing import Point

# A quarter circle may be overshot by this much (radians) through rounded coordinates.
_SLACK = 0.02


def arc_points(
    start: Point, end: Point, offset: Point, *, clockwise: bool, single_quadrant: bool
) -> list[Point] | None:
    """Points of an arc after its start, its end included.

    Args:
        start: where the pen is.
        end: where it goes; equal to ``start`` means a full circle in multi-quadrant mode and
            nothing at all in single-quadrant mode.
        offset: from start to centre; unsigned in single-quadrant mode.
        clockwise: direction.
        single_quadrant: mode G74, else G75.

    Returns:
        None where no centre gives a quarter circle in single-quadrant mode.
    """
    if not single_quadrant:
        return _through(start, end, (start[0] + offset[0], start[1] + offset[1]), clockwise)
    if start == end:
        return [end]
    i, j = abs(offset[0]), abs(offset[1])
    centres = {(start[0] + a, start[1] + b) for a in (i, -i) for b in (j, -j)}
    fitting = [
        (abs(math.dist(centre, start) - math.dist(centre, end)), centre)
        for centre in sorted(centres)
        if abs(_sweep(start, end, centre, clockwise)) <= math.pi / 2 + _SLACK
    ]
    return _through(start, end, min(fitting)[1], clockwise) if fitting else None


def _sweep(start: Point, end: Point, centre: Point, clockwise: bool) -> float:
    """Angle from start to end in radians, counter-clockwise positive; equal ends: a full turn."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    turn = (first - last if clockwise else last - first) % (2 * math.pi)
    if start == end or turn == 0:
        turn = 2 * math.pi if start == end else 0.0
    return -turn if clockwise else turn


def _through(start: Point, end: Point, centre: Point, clockwise: bool) -> list[Point]:
    if centre in (start, end):
        return [end]  # no radius: a straight line, or a dot
    return arc(start, end, centre, _sweep(start, end, centre, clockwise))
