"""Circles and arcs as chords.

A chord polygon is drawn so that the true curve runs midway between its corners and the middles
of its sides: the corners lie half of the sagitta outside, the middles half of it inside.
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
    if radius <= TOLERANCE:
        return 8
    # Corners at R = 2 r / (1 + cos(pi/n)): sagitta R (1 - cos(pi/n)) = 2 r tan(pi/2n)^2.
    least = math.pi / (2 * math.atan(math.sqrt(TOLERANCE / (2 * radius))))
    return max(8, 4 * math.ceil(least / 4))


def quarter_chords(radius: float) -> int:
    """Chords of a quarter of a circle whose corners lie on it, sagitta within TOLERANCE."""
    if radius <= TOLERANCE:
        return 2
    return max(2, math.ceil(math.pi / (4 * math.acos(1 - TOLERANCE / radius))))


def _outward(angle: float) -> float:
    """Factor on the radius that puts the curve midway; ``angle`` is that of one chord."""
    return 2 / (1 + math.cos(angle / 2))


def circle(radius: float) -> Floats:
    """(n, 2) corners of a disc about the origin, counter-clockwise, the first on the x axis."""
    n = chords(radius)
    turn = np.arange(n) * (2 * math.pi / n)
    return radius * _outward(2 * math.pi / n) * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def obround(width: float, height: float) -> Floats:
    """(n, 2) corners of a rectangle with two full round ends; the straight sides are exact."""
    radius = min(width, height) / 2
    if radius <= 0:
        return np.zeros((0, 2))
    n = chords(radius) // 2
    turn = np.linspace(-math.pi / 2, math.pi / 2, n + 1)
    reach = np.full(n + 1, radius * _outward(math.pi / n))
    reach[[0, -1]] = radius
    end = np.stack([reach * np.cos(turn), reach * np.sin(turn)], axis=1)
    end[:, 0] += abs(width - height) / 2
    corners = np.concatenate([end, -end])
    return corners if width >= height else np.stack([-corners[:, 1], corners[:, 0]], axis=1)


def arc_chords(radius: float, sweep: float) -> int:
    """Chords of an arc of that radius and sweep in radians (either sign)."""
    return max(1, math.ceil(chords(radius) * abs(sweep) / (2 * math.pi) - 1e-9))


def arc(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], sweep: float
) -> list[tuple[float, float]]:
    """Points of an arc after its start, its end included.

    Where start and end are not equally far from the centre the radius changes evenly.

    Args:
        start: first point.
        end: last point; both are kept exactly.
        centre: centre of the circle.
        sweep: angle in radians, counter-clockwise positive.
    """
    dx, dy = start[0] - centre[0], start[1] - centre[1]
    r0, r1 = math.hypot(dx, dy), math.dist(end, centre)
    n = arc_chords(max(r0, r1), sweep)
    part = np.arange(1, n) / n
    turn = math.atan2(dy, dx) + part * sweep
    reach = (r0 + part * (r1 - r0)) * _outward(sweep / n)
    xs, ys = centre[0] + reach * np.cos(turn), centre[1] + reach * np.sin(turn)
    return [*zip(xs.tolist(), ys.tolist(), strict=True), end]
