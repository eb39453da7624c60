"""Arcs of a cutter's path as chords, within a tolerance."""

from __future__ import annotations

from math import acos, atan2, ceil, cos, hypot, pi, sin, sqrt

CHORD = 0.001  # mm between a chord and its arc
MOST = 2_000  # chords of one arc; those of a full circle of 0.8 m radius

_Point = tuple[float, float]


def arc_by_centre(start: _Point, end: _Point, centre: _Point, clockwise: bool) -> list[_Point]:
    """Points after ``start`` up to ``end``; a full circle where both are the same."""
    radius = hypot(start[0] - centre[0], start[1] - centre[1])
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    turn = (atan2(end[1] - centre[1], end[0] - centre[0]) - first) % (2 * pi)
    if clockwise:
        turn -= 2 * pi
    if abs(turn) < 1e-9 or start == end:
        turn = -2 * pi if clockwise else 2 * pi
    if radius <= CHORD:
        return [end]
    step = max(2 * acos(1 - CHORD / radius), abs(turn) / MOST)
    count = ceil(abs(turn) / step)
    angles = (first + turn * i / count for i in range(1, count))
    points = [(centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles]
    return [*points, end]


def arc_by_radius(start: _Point, end: _Point, radius: float, clockwise: bool) -> list[_Point]:
    """The arc of at most half a turn with this radius; a straight line where there is none."""
    across, up = end[0] - start[0], end[1] - start[1]
    chord = hypot(across, up)
    if chord == 0 or abs(radius) < 1e-9:
        return [end]
    # Rounded coordinates can leave the chord of a half turn a little longer than its diameter.
    height = sqrt(max(radius * radius - chord * chord / 4, 0.0))
    side = -1.0 if clockwise else 1.0
    centre = (
        (start[0] + end[0]) / 2 - side * height * up / chord,
        (start[1] + end[1]) / 2 + side * height * across / chord,
    )
    return arc_by_centre(start, end, centre, clockwise)
