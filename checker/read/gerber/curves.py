"""Circles and arcs as chords that enclose the area of the true curve.

Corners on the curve would make every pad too small: a 0.5 mm pad by half a percent at a sagitta of
1 um. So the corners lie two thirds of the sagitta outside, the middles of the chords one third
inside, and the area is exact.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from checker.board import Floats

# The bound in mm on the distance between a drawn and a true boundary. Sagittas are at most this.
TOLERANCE = 0.001


def chords(radius: float) -> int:
    """Chords of a full circle: a multiple of four, at least eight, sagitta within TOLERANCE."""
    return 4 * quarter_chords(radius)


def quarter_chords(radius: float) -> int:
    """Chords of a quarter of a circle, at least two, sagitta within TOLERANCE."""
    if radius <= TOLERANCE:
        return 2
    return max(2, math.ceil(math.pi / (4 * math.acos(1 - TOLERANCE / radius))))


def _reach(sweep: float, n: int) -> float:
    """Distance of inner corners from the centre of an arc of radius 1, its two ends on it.

    Its n sectors then have the area of the true sector: with s the sine of one chord's angle,
    (n - 2) f^2 s + 2 f s = sweep. Two chords alone would need corners too far out for that, so
    they lie no more than the sagitta outside.
    """
    angle = abs(sweep) / n
    s = math.sin(angle)
    if n == 2:
        exact = angle / s
    else:
        exact = (math.sqrt(s * s + (n - 2) * s * abs(sweep)) - s) / ((n - 2) * s)
    return min(exact, 2 - math.cos(angle / 2))


def circle(radius: float) -> Floats:
    """(n, 2) corners of a disc about the origin, counter-clockwise, the first on the x axis."""
    n = chords(radius)
    angle = 2 * math.pi / n
    turn = np.arange(n) * angle
    reach = radius * math.sqrt(angle / math.sin(angle))
    return reach * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def obround(width: float, height: float) -> Floats:
    """(n, 2) corners of a rectangle with two full round ends; the straight sides are exact."""
    radius = min(width, height) / 2
    if radius <= 0:
        return np.zeros((0, 2))
    n = 2 * quarter_chords(radius)
    turn = np.linspace(-math.pi / 2, math.pi / 2, n + 1)
    reach = np.full(n + 1, radius * _reach(math.pi, n))
    reach[[0, -1]] = radius
    end = np.stack([reach * np.cos(turn), reach * np.sin(turn)], axis=1)
    end[:, 0] += abs(width - height) / 2
    corners = np.concatenate([end, -end])
    return corners if width >= height else np.stack([-corners[:, 1], corners[:, 0]], axis=1)


def arc(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], sweep: float
) -> Floats:
    """(n, 2) points of an arc after its start, its end last.

    Where start and end are not equally far from the centre the radius changes evenly.

    Args:
        start: first point.
        end: last point; both are kept exactly.
        centre: centre of the circle.
        sweep: angle in radians, counter-clockwise positive.
    """
    dx, dy = start[0] - centre[0], start[1] - centre[1]
    r0, r1 = math.hypot(dx, dy), math.dist(end, centre)
    n = math.ceil(chords(max(r0, r1)) * abs(sweep) / (2 * math.pi) - 1e-9)
    if n < 2:
        return np.array([end])
    part = np.arange(1, n) / n
    turn = math.atan2(dy, dx) + part * sweep
    reach = (r0 + part * (r1 - r0)) * _reach(sweep, n)
    points = np.array([*centre]) + reach[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return np.concatenate([points, [end]])
