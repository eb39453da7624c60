"""Gaps so even over so long a stretch that no cutter wider than they are separates their sides.

Such a cutter stops at both ends of the stretch, and what it sweeps from there does not meet: the
widest cut is as wide as the gap. Beside straight copper the minimum itself tells; round a bend both
sides are followed from corner to corner. Between two contacts that follow each other both sides are
straight, so nowhere there is the gap wider than the longer of the two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.measure.plane import dot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]

EVEN = 0.001  # mm by which such a gap is wider at most than where it is narrowest
_MOST = 40  # corners that are followed to each side


def straight(normals: Normals, more: float) -> Bools:
    """(n,) True beside a straight stretch at least as long as the cut that fits is wide.

    Args:
        normals: minima.
        more: mm by which the cut that fits is wider than the gap, for running into copper.
    """
    walled: Bools = normals.overlap >= normals.distance + more
    return walled


def round_bend(segments: Segments, normals: Normals, more: float) -> Floats:
    """(n,) how wide the gap is at most along a stretch as long, mm; inf where it isn't so even.

    Args:
        segments: of all copper.
        normals: minima.
        more: as for `straight`.
    """
    enough = normals.distance + EVEN + more
    (one, wide), (other, wider) = (_end(segments, normals, enough, on) for on in (True, False))
    walled = np.hypot(*(one - other).T) >= enough
    return np.where(walled, np.maximum(wide, wider), np.inf)


def _end(segments: Segments, normals: Normals, enough: Floats, on: bool) -> tuple[Floats, Floats]:
    """(n, 2) how far the gap is so even to one side, or far enough; (n,) how wide it is on the way.

    Copper lies on the left of every segment, so the two sides run against each other.
    """
    i, j, a, b = normals.i.copy(), normals.j.copy(), normals.a.copy(), normals.b.copy()
    begin, end, widest = normals.middle, normals.middle, normals.distance.copy()
    after, before = (segments.next, segments.prev) if on else (segments.prev, segments.next)
    active = np.arange(len(normals))
    for _ in range(_MOST):
        row_a, row_b, at_a, at_b = i[active], j[active], a[active], b[active]
        corner_a = segments.a[after[row_a] if on else row_a]
        corner_b = segments.a[row_b if on else before[row_b]]
        facing_a, facing_b = _foot(corner_b, at_a, corner_a), _foot(corner_a, at_b, corner_b)
        from_a = np.hypot(*(corner_a - facing_b).T)
        from_b = np.hypot(*(corner_b - facing_a).T)
        first = from_a <= from_b  # whose corner comes first
        i[active], j[active] = (
            np.where(first, after[row_a], row_a),
            np.where(first, row_b, before[row_b]),
        )
        a[active] = np.where(first[:, None], corner_a, facing_a)
        b[active] = np.where(first[:, None], facing_b, corner_b)
        width = np.minimum(from_a, from_b)
        even = width <= normals.distance[active] + EVEN
        active, width = active[even], width[even]
        widest[active] = np.maximum(widest[active], width)
        end[active] = (a[active] + b[active]) / 2
        active = active[np.hypot(*(end[active] - begin[active]).T) < enough[active]]
        if not len(active):
            break
    return end, widest


def _foot(point: Floats, start: Floats, end: Floats) -> Floats:
    """(n, 2) the point of a line between two ends that is nearest to another point."""
    along = end - start
    share = dot(point - start, along) / np.maximum(dot(along, along), np.finfo(float).tiny)
    foot: Floats = start + np.clip(share, 0.0, 1.0)[:, None] * along
    return foot
