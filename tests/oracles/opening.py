"""Where an island is narrow, by erosion and opening of its polygon alone.

Copper narrower than t parts the island's erosion by t/2 into several cores, and is what the
opening by a disc of diameter t takes away. Arcs are flattened as in `tests.oracles.closing`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString, Point

from tests.oracles.closing import QUAD_SEGS, equivalence
from tests.oracles.distance import edges

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]

_SAW = 1e-4  # mm: width of the cut along a chord
_PAST = 2e-3  # mm: how far that cut runs out of the copper
_STEP = 1e-5  # mm to which bottlenecks are bisected


def eroded(island: Any, width: float) -> list[Any]:
    """Cores: where the middle of a disc of this diameter may lie, in pieces."""
    inside = shapely.buffer(island, -width / 2, quad_segs=QUAD_SEGS)
    return [core for core in shapely.get_parts(inside) if not core.is_empty]


def lasting_cores(island: Any, width: float, margin: float) -> list[Any]:
    """Cores of erosion by ``width`` with a point that also stands an erosion ``margin`` wider."""
    lasting = shapely.union_all(eroded(island, width + margin))
    return [core for core in eroded(island, width) if core.intersects(lasting)]


def wide_places(island: Any, width: float) -> list[Any]:
    """A point of each core where a disc of this diameter fits.

    An erosion by GEOS may leave a crumb where none fits: 0.02 um across was seen.
    """
    places = [core.representative_point() for core in eroded(island, width)]
    return [place for place in places if island.boundary.distance(place) > 0.499 * width]


def wide(island: Any, width: float) -> Any:
    """The island's opening by a disc of this diameter."""
    return shapely.union_all(
        [shapely.buffer(core, width / 2, quad_segs=QUAD_SEGS) for core in eroded(island, width)]
    )


def contacts(island: Any, at: Sequence[float], width: float, slack: float = 1.5e-3) -> Floats:
    """(2, 2) the ends of the chord of this width about ``at``: the most opposed near points."""
    start, end = edges(island)
    along = end - start
    t = ((np.asarray(at) - start) * along).sum(1) / np.maximum((along * along).sum(1), 1e-300)
    foot = start + np.clip(t, 0, 1)[:, None] * along
    foot = foot[np.hypot(*(foot - at).T) <= width / 2 + slack]
    off = np.linalg.norm(foot[:, None] + foot[None] - 2 * np.asarray(at), axis=2)
    ends: Floats = foot[list(np.unravel_index(off.argmin(), off.shape))]
    return ends


def saw(island: Any, at: Sequence[float], width: float) -> Any:
    """A thin polygon that cuts the island along the chord about ``at``."""
    one, other = contacts(island, at, width)
    past = (other - one) / np.hypot(*(other - one)) * _PAST
    return LineString([one - past, other + past]).buffer(_SAW / 2, cap_style="flat")


def pieces(island: Any, saws: Sequence[Any]) -> list[Any]:
    """What is left in one piece each after cutting."""
    return list(shapely.get_parts(shapely.difference(island, shapely.union_all(list(saws)))))


def within(piece: Any, cores: Sequence[Any]) -> list[Any]:
    """The cores that lie in a piece."""
    return [core for core in cores if core.representative_point().within(piece)]


def bottleneck(piece: Any, cores: Sequence[Any], width: float) -> float:
    """Widest erosion below ``width``, to 0.1 um, that still leaves two of these cores as one."""
    low, high = 0.0, width
    marks = [core.representative_point() for core in cores]
    while high - low > 1e-4:
        middle = (low + high) / 2
        joined = any(
            sum(rest.intersects(mark) for mark in marks) > 1 for rest in eroded(piece, middle)
        )
        low, high = (middle, high) if joined else (low, middle)
    return (low + high) / 2


def together(rest: Sequence[Any], parts: Sequence[Any]) -> Bools:
    """(n, n) which of n points lie in one of the pieces that are left."""
    piece, part = shapely.STRtree(list(parts)).query(list(rest), predicate="intersects")
    return equivalence(len(parts), part, piece + len(parts))


def narrowest(
    passes: Callable[[float], Bools], number: int, top: float, step: float = _STEP
) -> Floats:
    """(n, n) widest disc that passes between two of n places, to half a step; ``top`` if that does.

    Args:
        passes: (n, n) between which of them a disc of a width passes; an equivalence.
        number: of places.
        top: mm; what passes then too is not looked into.
        step: mm to which widths are bisected.
    """
    found = np.full((number, number), top)

    def bisect(low: float, high: float, within: Bools) -> None:
        """Narrow the bracket of pairs that are together at the lower width, apart at the upper."""
        if not within.any():
            return
        middle = (low + high) / 2
        if high - low <= step:
            found[within] = middle
            return
        now = passes(middle)
        bisect(low, middle, within & ~now)
        bisect(middle, high, within & now)

    bisect(0.0, top, ~passes(top))
    return found


def bottlenecks(island: Any, parts: Sequence[Any], top: float) -> Floats:
    """(n, n) widest disc that passes between two of n points of an island; ``top`` if that does."""
    return narrowest(lambda width: together(eroded(island, width), parts), len(parts), top)


def sawn_apart(island: Any, parts: Sequence[Any], top: float, at: Floats, width: Floats) -> Floats:
    """(n, n) width of the neck that parts two of n points, all narrower ones cut too; else top.

    Args:
        island: the copper.
        parts: n points in it.
        top: no wider neck is cut.
        at: (m, 2) middles of the necks' chords.
        width: (m,) their lengths.
    """
    found = np.full((len(parts), len(parts)), top)
    rest, one = [island], np.ones_like(found, dtype=bool)
    for row in np.argsort(width, kind="stable"):
        if width[row] >= top:
            break
        cut = saw(island, at[row], width[row])
        rest = [piece for left in rest for piece in pieces(left, [cut])]
        now = together(rest, parts)
        found[one & ~now] = width[row]
        one &= now
    return found


def sides_of(island: Any, at: Sequence[float], width: float, wider: float) -> tuple[int, int]:
    """How many pieces the chord cuts its narrow surroundings into, and how many meet wide copper.

    The surroundings are the copper along the chord that the opening by ``wider`` takes away. What
    is smaller than the saw runs out of the copper is a crumb of it, no piece.
    """
    fat = wide(island, wider)
    chord = LineString(contacts(island, at, width))
    thin = [
        part
        for part in shapely.get_parts(shapely.difference(island, fat))
        if part.distance(chord) < _SAW
    ]
    parts = pieces(shapely.union_all(thin), [saw(island, at, width)])
    parts = [part for part in parts if part.distance(chord) < _PAST < _extent(part)]
    return len(parts), sum(part.distance(fat) < _SAW for part in parts)


def sides_with_core(
    island: Any, at: Sequence[float], width: float, wider: float, least: float
) -> bool:
    """Whether each side of the chord leads to a place for a disc of diameter ``wider``.

    Through copper at least ``least`` wide; where the chord opens a loop it has one side.
    """
    core = min(eroded(island, least), key=Point(at).distance)
    sides = pieces(core, [saw(island, at, width)])
    large = shapely.union_all(eroded(island, wider))
    return all(side.intersects(large) for side in sides if _extent(side) > _PAST)


def _extent(piece: Any) -> float:
    low_x, low_y, high_x, high_y = piece.bounds
    return float(max(high_x - low_x, high_y - low_y))
