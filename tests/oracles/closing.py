"""Which islands a cutter joins, and from which width on, by full morphological closing.

A cutter of width w whose path may bite b into the copper leaves

    R(w, b) = erode(dilate(C, w/2 - b), w/2)

of the copper C (for b = 0 the closing of C by a disc of diameter w: J. Serra, Image Analysis and
Mathematical Morphology, 1982). Islands that lie in one component of R are joined. R is the closing
by a disc of diameter w - 2b, eroded by b; it grows with w, so each pair of islands has one merge
width.

Arcs are flattened with `QUAD_SEGS` chords per quarter. The chords lie inside the arc, so each
offset by r falls short by at most r (1 - cos(pi / (4 QUAD_SEGS))), 0.09 um at r = 0.3 mm. `Arcs`
turns that into a bracket: GENEROUS never leaves less copper than the truth, SPARING never more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from enum import Enum
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]

QUAD_SEGS = 32
_STRETCH = 1 / math.cos(math.pi / (4 * QUAD_SEGS))


class Arcs(Enum):
    """What flattened arcs do to the residual copper: factors on the dilation and the erosion."""

    NEAREST = (1.0, 1.0)
    GENEROUS = (_STRETCH, 1.0)
    SPARING = (1.0, _STRETCH)


class Merges(Struct, frozen=True, eq=False):
    """From which width on each pair of islands is joined: ``low < width <= high``.

    Attributes:
        low: (n, n) widest width tried at which the pair was still apart.
        high: (n, n) narrowest width tried at which it was joined; inf where it never was.
    """

    low: Floats
    high: Floats

    @property
    def width(self) -> Floats:
        """Middle of the bracket, inf where the pair stays apart."""
        return (self.low + self.high) / 2

    def joined(self, width: float) -> Bools:
        """(n, n) pairs joined at one of the widths that were tried."""
        joined: Bools = self.high <= width
        return joined


def residual(
    islands: Sequence[Any], width: float, bite: float = 0.0, arcs: Arcs = Arcs.NEAREST
) -> list[Any]:
    """Components of R(width, bite), polygons in no order."""
    outward, inward = arcs.value
    reach = width / 2 - bite
    # A negative reach is an erosion: there the stretch, if any, has to go the other way.
    reach = reach * outward if reach >= 0 else reach * inward
    grown = shapely.buffer(np.array(islands, dtype=object), reach, quad_segs=QUAD_SEGS)
    rest: list[Any] = []
    for part in shapely.get_parts(shapely.union_all(grown)):
        left = shapely.buffer(part, -width / 2 * inward, quad_segs=QUAD_SEGS)
        rest += [piece for piece in shapely.get_parts(left) if not piece.is_empty]
    return rest


def joined(
    islands: Sequence[Any], width: float, bite: float = 0.0, arcs: Arcs = Arcs.NEAREST
) -> Bools:
    """(n, n) which islands are one after cutting: an equivalence.

    Without bite an island lies whole in one component, and a point well inside tells in which: the
    closing of flattened arcs may stand back from the island's own corners by the arc error. With
    bite it may be cut up. What lies deeper in it than the bite always stays, so a component holds
    the islands of which it holds such a core; a tip cut off and left on a neighbour joins nothing,
    nor does an island too thin to have a core.
    """
    n = len(islands)
    rest = residual(islands, width, bite, arcs)
    if bite == 0:
        inside = [shapely.point_on_surface(island) for island in islands]
        component, island = shapely.STRtree(inside).query(rest, predicate="intersects")
    else:
        cores = shapely.buffer(np.array(islands, dtype=object), -bite, quad_segs=QUAD_SEGS)
        component, island = shapely.STRtree(cores).query(rest, predicate="intersects")
    return equivalence(n, island, component + n)


def equivalence(n: int, first: Any, second: Any) -> Bools:
    """(n, n) which of the first n numbers the given pairs link, through any others."""
    first, second = np.asarray(first, dtype=np.int64), np.asarray(second, dtype=np.int64)
    size = max(n, int(first.max(initial=-1)) + 1, int(second.max(initial=-1)) + 1)
    links = coo_array((np.ones(len(first)), (first, second)), shape=(size, size))
    label = connected_components(links, directed=False)[1][:n]
    same: Bools = label[:, None] == label[None, :]
    return same


def merges(
    islands: Sequence[Any],
    top: float,
    bite: float = 0.0,
    tolerance: float = 1e-4,
    tries: Iterable[float] = (),
    arcs: Arcs = Arcs.NEAREST,
) -> Merges:
    """Bracket of every pair's merge width up to ``top``, each no wider than ``tolerance``.

    ``tries`` are widths tried first, in whatever number; between two neighbours of them bisection
    goes on only where something merges. They cost or save time and change nothing else.
    """
    n = len(islands)
    low, high = np.zeros((n, n)), np.full((n, n), np.inf)
    np.fill_diagonal(high, 0.0)

    def note(width: float, within: Bools) -> Bools:
        """Try a width on the pairs whose bracket spans it; which of them are joined."""
        now = joined(islands, width, bite, arcs) & within
        high[now] = np.minimum(high[now], width)
        apart = within & ~now
        low[apart] = np.maximum(low[apart], width)
        return now

    def bisect(bottom: float, top: float, within: Bools) -> None:
        """Narrow the brackets of pairs known to merge between two widths."""
        if not within.any() or top - bottom <= tolerance:
            return
        middle = (bottom + top) / 2
        now = note(middle, within)
        bisect(bottom, middle, now)
        bisect(middle, top, within & ~now)

    start = 2 * bite
    steps = sorted({width for width in tries if start < width < top} | {top})
    bottom, apart = start, high > 0
    for width in steps:
        now = note(width, apart)
        bisect(bottom, width, now)
        bottom, apart = width, apart & ~now
    return Merges(low, high)


def minimax(n: int, pairs: Any, widths: Any) -> Floats:
    """(n, n) smallest width at which links no wider than it connect two of n islands.

    The links are (m, 2) pairs with a width each; inf where nothing finite connects.
    """
    pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    widths = np.asarray(widths, dtype=float)
    result = np.full((n, n), np.inf)
    np.fill_diagonal(result, 0.0)
    group = np.arange(n)
    for k in np.argsort(widths, kind="stable"):
        one, other = group[pairs[k, 0]], group[pairs[k, 1]]
        if one == other or not np.isfinite(widths[k]):
            continue
        across = np.ix_(group == one, group == other)
        result[across] = widths[k]
        result.T[across] = widths[k]
        group[group == other] = one
    return result
