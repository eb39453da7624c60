"""Arcs as the format states them: two ends, an offset to the centre, a direction."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from checker.read.gerber.curves import arc

if TYPE_CHECKING:
    from checker.board import Floats
    from checker.read.gerber.drawing import Point

# Rounded coordinates may overshoot a quarter circle by this much (radians), and make the ends
# of an arc differ in radius by this much (mm; half a mil in each coordinate of a 2.3 inch file).
_SLACK = 0.02
_MISFIT = 0.05


def arc_points(
    start: Point, end: Point, offset: Point, *, clockwise: bool, single_quadrant: bool | None
) -> tuple[Floats, str]:
    """(n, 2) points of an arc after its start, its end last, and what is doubtful about it or "".

    Args:
        start: where the pen is.
        end: where it goes; equal to ``start`` means a full circle in multi-quadrant mode and
            nothing at all in single-quadrant mode.
        offset: from start to centre; unsigned in single-quadrant mode.
        clockwise: direction.
        single_quadrant: mode G74, else G75; None where the file states neither.
    """
    doubt = ""
    centre = (start[0] + offset[0], start[1] + offset[1])
    if single_quadrant is None:
        single_quadrant = start != end and _misfit(start, end, centre) > _MISFIT
        doubt = "arc before G74 or G75, taken as " + ("G74" if single_quadrant else "G75")
    if single_quadrant:
        if start == end:
            return np.array([end]), doubt
        fitting = _quarter_centres(start, end, offset, clockwise)
        if not fitting:
            return np.array([end]), "arc whose centre fits no quarter circle, drawn straight"
        centre = fitting[0]
    if centre in (start, end):
        straight = doubt if start == end else "arc without a radius, drawn straight"
        return np.array([end]), straight
    if _misfit(start, end, centre) > _MISFIT:
        doubt = "arc whose ends are not equally far from its centre, radius changed evenly"
    return arc(start, end, centre, _sweep(start, end, centre, clockwise)), doubt


def _misfit(start: Point, end: Point, centre: Point) -> float:
    return abs(math.dist(centre, start) - math.dist(centre, end))


def _quarter_centres(start: Point, end: Point, offset: Point, clockwise: bool) -> list[Point]:
    """Centres that make the arc a quarter circle at most, the best fitting first."""
    i, j = abs(offset[0]), abs(offset[1])
    centres = {(start[0] + a, start[1] + b) for a in (i, -i) for b in (j, -j)}
    quarter, misfit = math.pi / 2 + _SLACK, max(_MISFIT, 0.1 * math.hypot(i, j))
    return sorted(
        (
            c
            for c in centres
            if abs(_sweep(start, end, c, clockwise)) <= quarter and _misfit(start, end, c) <= misfit
        ),
        key=lambda c: (_misfit(start, end, c), c),
    )


def _sweep(start: Point, end: Point, centre: Point, clockwise: bool) -> float:
    """Angle from start to end in radians, counter-clockwise positive; equal ends: a full turn."""
    if start == end:
        turn = 2 * math.pi
    else:
        first = math.atan2(start[1] - centre[1], start[0] - centre[0])
        last = math.atan2(end[1] - centre[1], end[0] - centre[0])
        turn = (first - last if clockwise else last - first) % (2 * math.pi)
    return -turn if clockwise else turn
