"""Gaps so even over so long a stretch that no cutter wider than they are separates their sides.

Such a cutter stops at both ends of the stretch, and what it sweeps from there does not meet: the
widest cut is as wide as the gap. Beside straight copper the minimum itself tells; round a bend both
sides are followed from corner to corner. Between two contacts that follow each other both sides are
straight, so nowhere there is the gap wider than the longer of the two.

Round a pad the corners of many chords make a gap narrow and wide by turns. A cutter as wide as the
wide places stands in each of them, and passes the narrow ones where they are no farther apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.plane import dot

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]

EVEN = 0.002
"""A gap is even where it is no wider than where it is narrowest by more than this, mm."""

WAVY = 0.01
"""And wavy where it is no wider by more than this, mm: chords of both sides, and some more."""

_MOST = 40  # corners that are followed to each side
_BESIDE = 12  # of them, so many to the next wide place
_ROUNDING = 1e-6  # mm
_CONTACTS = 3  # in a wide place, where a cutter may stand
_STEPS = (0.05, 0.25, 0.6)  # of the way to the first of them, where it may stand already


def straight(normals: Normals, more: float) -> Bools:
    """(n,) True beside a straight stretch at least as long as the cut that fits is wide.

    Args:
        normals: minima.
        more: mm by which the cut that fits is wider than the gap, for running into copper.
    """
    walled: Bools = normals.overlap >= normals.distance + more
    return walled


def round_bend(segments: Segments, normals: Normals, more: float, wider: float) -> Floats:
    """(n,) how wide the gap is at most along a stretch as long, mm; inf where it isn't so even.

    Args:
        segments: of all copper.
        normals: minima.
        more: as for `straight`.
        wider: than the minimum, mm, by which it may be.
    """
    limit = normals.distance + wider
    (one, wide), (other, wide_there) = (
        _even_end(segments, normals, limit, limit + more, on) for on in (True, False)
    )
    least = np.full(len(normals), np.inf)
    for start, end, most in (
        (normals.middle, one, wide),
        (normals.middle, other, wide_there),
        (one, other, np.maximum(wide, wide_there)),
    ):
        long = np.hypot(*(start - end).T) >= limit + more
        least[long] = np.minimum(least, most)[long]
    return least


def _even_end(
    segments: Segments, normals: Normals, limit: Floats, enough: Floats, on: bool
) -> tuple[Floats, Floats]:
    """(n, 2) how far a gap stays so even to one side, or far enough; (n,) how wide it is there."""
    begin, end, widest = normals.middle, normals.middle, normals.distance.copy()

    def goes_on(rows: Ints, middle: Floats, width: Floats) -> Bools:
        even = width <= limit[rows]
        kept = rows[even]
        widest[kept] = np.maximum(widest[kept], width[even])
        end[kept] = middle[even]
        even[even] = np.hypot(*(end[kept] - begin[kept]).T) < enough[kept]
        return even

    _follow(segments, normals, on, _MOST, goes_on)
    return end, widest


def let_pass(segments: Segments, normals: Normals, width: Floats, more: float) -> Bools:
    """(n,) True for minima on both sides of which a cutter stands so near that it passes them.

    Args:
        segments: of all copper.
        normals: minima.
        width: (n,) of the free space that the cutter needs, mm.
        more: mm by which it is wider than that at least.
    """
    sides = [_stands(segments, normals, width, on) for on in (True, False)]
    passed: Bools = np.hypot(*(sides[0] - sides[1]).T) <= width + more  # nan where none is known
    return passed


def _stands(segments: Segments, normals: Normals, width: Floats, on: bool) -> Floats:
    """(n, 2) where as wide a cutter stands next, to the one side or to the other; nan unknown."""
    before, begin, after = normals.distance.copy(), normals.middle, np.full(len(normals), np.nan)
    wide = np.full((_CONTACTS, len(normals), 2), np.nan)  # middles of contacts, the next first
    count = np.zeros(len(normals), dtype=np.int64)

    def goes_on(rows: Ints, middle: Floats, there: Floats) -> Bools:
        narrow, first = there < width[rows], count[rows] == 0
        begin[rows[narrow & first]] = middle[narrow & first]
        before[rows[narrow & first]] = there[narrow & first]
        after[rows[~narrow & first]] = there[~narrow & first]
        held = rows[~narrow]
        wide[count[held], held] = middle[~narrow]
        count[held] += 1
        ahead: Bools = np.where(narrow, first, count[rows] < _CONTACTS)
        return ahead

    _follow(segments, normals, on, _BESIDE, goes_on)
    share = ((width - before) / (after - before))[:, None]
    steps = [begin + (share + step * (1 - share)) * (wide[0] - begin) for step in _STEPS]
    found = np.full((len(normals), 2), np.nan)
    for at in (*steps, *wide):
        rows = np.flatnonzero(np.isnan(found[:, 0]) & np.isfinite(at[:, 0]))
        crowded = segments.tree.query(
            shapely.points(at[rows]), "dwithin", distance=width[rows] / 2 - _ROUNDING
        )[0]
        rows = np.delete(rows, np.unique(crowded))
        found[rows] = at[rows]
    return found


def _follow(
    segments: Segments,
    normals: Normals,
    on: bool,
    most: int,
    goes_on: Callable[[Ints, Floats, Floats], Bools],
) -> None:
    """Follow both sides of minima from corner to corner, to the one end or to the other.

    Copper lies on the left of every segment, so the two sides run against each other. ``goes_on``
    is told rows, the middles of the contacts and how wide the gap is there, and says which to
    follow on; none for more than ``most`` corners.
    """
    i, j, a, b = normals.i.copy(), normals.j.copy(), normals.a.copy(), normals.b.copy()
    after, before = (segments.next, segments.prev) if on else (segments.prev, segments.next)
    active = np.arange(len(normals))
    for _ in range(most if len(active) else 0):
        row_a, row_b, at_a, at_b = i[active], j[active], a[active], b[active]
        corner_a = segments.a[after[row_a] if on else row_a]
        corner_b = segments.a[row_b if on else before[row_b]]
        facing_a, facing_b = _foot(corner_b, at_a, corner_a), _foot(corner_a, at_b, corner_b)
        from_a = np.hypot(*(corner_a - facing_b).T)
        from_b = np.hypot(*(corner_b - facing_a).T)
        first = from_a <= from_b  # whose corner comes first
        i[active] = np.where(first, after[row_a], row_a)
        j[active] = np.where(first, row_b, before[row_b])
        a[active] = at_a = np.where(first[:, None], corner_a, facing_a)
        b[active] = at_b = np.where(first[:, None], facing_b, corner_b)
        active = active[goes_on(active, (at_a + at_b) / 2, np.minimum(from_a, from_b))]
        if not len(active):
            return


def _foot(point: Floats, start: Floats, end: Floats) -> Floats:
    """(n, 2) the point of a line between two ends that is nearest to another point."""
    along = end - start
    share = dot(point - start, along) / np.maximum(dot(along, along), np.finfo(float).tiny)
    foot: Floats = start + np.clip(share, 0.0, 1.0)[:, None] * along
    return foot
