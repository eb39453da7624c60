"""Long slots within one island that a cut of a width does not fit, and the way round them.

Copper grown by half the cut and shrunk again fills what the cut cannot reach. Where that fills a
slot between two parts of one island the current no longer has to go round it.

What a cut fills, a wider cut fills too. So the walls that face each other are looked for once for
many cuts, and each cut is judged by the copper about the few that lie far apart along the island's
boundary.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import facing
from checker.measure.boundary.segments import Segments
from checker.measure.holes.pads import outer
from checker.measure.leftover.pieces import middles_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Shapes
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.runs import Runs

ERROR = 0.003
"""Bound in mm on the error of a width; a slot as wide as the cut within it may stay or close."""

_FIRST, _STEP = 0.3, 1.6  # mm; cuts up to the first width share their walls, then up to the next
_QUARTER = 8  # segments of a quarter circle: within 0.3 % of half a cut
_SHORTEST = 1.0  # mm; slots of this length and more are looked for once for all cuts
_PIECE = 0.5  # mm; walls are looked at in pieces, and the way is known as exactly
_MOST_PIECES = 1_000_000  # of a side
_BETWEEN = (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8)  # where walls are looked for that come between two
_TOUCH = 1e-18  # mm4; walls are cut into pieces, and a line that meets an end crosses the next one
_INWARD = 0.1  # of the distance between two walls: the line between them keeps off both by that
_GENTLE = np.pi / 3  # walls that turn by less go on: no stretch of them runs beside another
_SMALL = 500  # corners; the copper of larger islands is cut out about a slot


class Slots(Struct, frozen=True, eq=False):
    """Slots narrower than the cut, one a row.

    Attributes:
        layer: (n,) index into the board's layers; ``island`` (n,) into the layer's islands.
        at: (n, 2) a point in the slot, near its middle.
        width: (n,) mean width, mm.
        length: (n,) mm.
        way: (n,) along the island's boundary from one wall to the other, where it is longest, mm.
        copper: (n,) mean width of the island's copper, mm.
    """

    layer: Ints
    island: Ints
    at: Floats
    width: Floats
    length: Floats
    way: Floats
    copper: Floats

    def __len__(self) -> int:
        return len(self.width)


class _Walls(Struct, frozen=True, eq=False):
    """Where the boundary of an island comes near to itself across free space; of one layer.

    Attributes:
        island: (m,) islands that do so, ascending.
        copper: (m,) Polygons or MultiPolygons, what of them decides what a cut fills there.
        owner: (n,) index into these, one row for each pair of contacts.
        middle: (n,) Points between them.
        apart: (n,) their distance, mm; ``way`` (n,) the way between them along the boundary.
    """

    island: Ints
    copper: Shapes
    owner: Ints
    middle: Shapes
    apart: Floats
    way: Floats


def slots_of(
    board: Board, cut: float, least: float, squares: float = 0.0, reach: float = _FIRST
) -> Slots:
    """Slots of the outer sides that a cut does not fit.

    Args:
        board: as read.
        cut: its width, mm.
        least: how long a slot has to be, mm.
        squares: how long the way round it, in mean widths of the island's copper.
        reach: the walls are looked for at least so far apart, mm.
    """
    while reach < cut:
        reach *= _STEP
    known = _walls(board, reach, min(round(least, 6), _SHORTEST), squares)
    rows = [row for index, walls in known for row in _closed(board, index, walls, cut, least)]
    columns = np.array(rows, float).reshape(-1, 8).T
    layer_of, island_of = columns[:2].astype(np.int64)
    enough = columns[6] >= squares * columns[7]
    slots = Slots(layer_of, island_of, columns[2:4].T, *columns[4:])
    return Slots(*(getattr(slots, name)[enough] for name in Slots.__struct_fields__))


def reach_beside(widest: float) -> float:
    """How far apart walls are best looked for at once, if cuts may be that wide (mm)."""
    return _FIRST if widest <= _FIRST else _FIRST * _STEP


def _closed(
    board: Board, index: int, walls: _Walls, cut: float, least: float
) -> Iterator[tuple[float, ...]]:
    """A row for each slot of a layer."""
    met = np.flatnonzero(walls.apart < cut)
    if not len(met):
        return
    islands, asked = board.copper[index].islands, np.unique(walls.owner[met])
    shape, of = _filled(walls.copper[asked], cut, least)
    of = asked[of]
    slot, other = shapely.STRtree(islands).query(shape, predicate="intersects")
    foreign = slot[other != walls.island[of[slot]]]
    # At its mouth a cut reaches into a slot, by less than half its width.
    wall, slot = _within(walls.middle[met], shape, cut / 2)
    own = walls.owner[met[wall]] == of[slot]
    way = np.full(len(shape), -np.inf)
    np.maximum.at(way, slot[own], walls.way[met[wall[own]]])
    way[foreign] = -np.inf
    for one in np.flatnonzero(way >= 0).tolist():
        number = int(walls.island[of[one]])
        island, at = islands[number], middles_of(shape[[one]])[0]
        length = shape[one].length / 2
        width, mean = shape[one].area / length, float(_mean(island))
        yield (index, number, *at, width, length, float(way[one]), mean)


def _filled(copper: Shapes, cut: float, least: float) -> tuple[Shapes, Ints]:
    """What growing and shrinking fills, as long as asked for, and of which copper."""
    grown = shapely.buffer(copper, cut / 2, quad_segs=_QUARTER)
    closed = shapely.buffer(grown, -cut / 2 - ERROR / 2, quad_segs=_QUARTER)
    parts, of = shapely.get_parts(shapely.difference(closed, copper), return_index=True)
    kept = (shapely.length(parts) > 2 * least) & (
        shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    )
    return parts[kept], of[kept]


def _within(points: Shapes, slots: Shapes, distance: float) -> tuple[Ints, Ints]:
    """Pairs (i, k) of points that are in a slot, or no farther from it than that; some repeated.

    A disc of that radius finds no room in a slot: what is in it is as near to its boundary. So the
    pieces of that are asked, for the boxes of long slots that lie askew overlap each other.
    """
    rings, of = shapely.get_rings(slots, return_index=True)
    corners, ring = shapely.get_coordinates(shapely.segmentize(rings, _PIECE), return_index=True)
    first = np.flatnonzero(ring[1:] == ring[:-1])
    pieces = shapely.linestrings(np.stack([corners[first], corners[first + 1]], 1))
    point, piece = shapely.STRtree(pieces).query(points, "dwithin", distance=distance)
    return point, of[ring[first[piece]]]


def _numbers(rows: Ints, count: int) -> Ints:
    """The rows that are there, ascending, each once; of ``count``."""
    there = np.zeros(count, bool)
    there[rows] = True
    return np.flatnonzero(there)


def _mean(islands: Shapes) -> Floats:
    """Mean width of copper."""
    mean: Floats = 2 * shapely.area(islands) / shapely.length(islands)
    return mean


@lru_cache(maxsize=4)  # processes that are judged together may ask as far as two or three reaches
def _walls(
    board: Board, reach: float, least: float, squares: float
) -> tuple[tuple[int, _Walls], ...]:
    """The walls of each outer layer, by its index in the board."""
    return tuple(
        (board.copper.index(layer), _walls_of(layer, reach, least, squares))
        for _, layer in outer(board)
    )


def _walls_of(layer: CopperLayer, reach: float, least: float, squares: float) -> _Walls:
    # From one wall of a slot to the other it is at least as far as the slot is long.
    needed = np.maximum(squares * _mean(layer.islands), least)
    rings, of = shapely.get_rings(layer.islands, return_index=True)
    long = shapely.length(rings) >= 2 * needed[of]
    islands = np.unique(of[long])
    outlines = _outlines(rings, of, long, islands)
    piece = max(_PIECE, float(shapely.length(outlines).sum()) / _MOST_PIECES)
    segments = Segments.of(shapely.segmentize(outlines, piece))
    girth = segments.girth
    enough = needed[islands][segments.island]

    def way(i: Ints, j: Ints, at_i: Floats | float = 0.0, at_j: Floats | float = 0.0) -> Floats:
        along = np.abs(segments.along[i] + at_i - segments.along[j] - at_j)
        return np.minimum(along, girth[i] - along)

    def wanted(i: Ints, j: Ints) -> NDArray[np.bool_]:
        one: NDArray[np.bool_] = (i < j) & (segments.ring[i] == segments.ring[j])
        one[one] = way(i[one], j[one]) >= enough[i[one]] - 2 * piece
        return one

    def may(runs: Runs, i: Ints, j: Ints) -> NDArray[np.bool_]:
        some: NDArray[np.bool_] = (i <= j) & (runs.ring[i] == runs.ring[j])
        i, j = i[some], j[some]
        least = needed[islands][runs.island[i]]
        most = way(runs.first[i], runs.first[j]) + runs.length[i] + runs.length[j]
        round_ = runs.follow(i, j, _GENTLE) & (reach < least * np.cos(_GENTLE / 2))
        some[some] = (most >= least - 2 * piece) & ~round_
        return some

    nowhere, none = np.zeros((0, 2)), np.zeros(0)
    found = [(none.astype(int), nowhere, nowhere, none, none)]
    for near in facing(segments, reach, wanted, may):
        at_i = np.hypot(*(near.a - segments.a[near.i]).T)
        at_j = np.hypot(*(near.b - segments.a[near.j]).T)
        # Where two pieces run side by side it is longest at an end of what they share.
        longest = np.minimum(way(near.i, near.j, at_i, at_j) + near.overlap, girth[near.i] / 2)
        far = longest >= enough[near.i]
        far[far] = ~_walled_off(segments, near.take(far))
        found.append(
            (
                segments.island[near.i[far]],
                near.a[far],
                near.b[far],
                near.distance[far],
                longest[far],
            )
        )
    island, a, b, apart, longest = (np.concatenate(column) for column in zip(*found, strict=True))
    number = islands[island]
    clear = _clear(layer.islands, a, b)
    number, apart, longest = number[clear], apart[clear], longest[clear]
    middle = shapely.points((a[clear] + b[clear]) / 2)
    # Where the way is shorter a slot goes on no deeper than half of that.
    seen, owner = np.unique(number, return_inverse=True)
    copper = _about(layer.islands[seen], middle, owner, needed[seen] / 2 + 2 * reach)
    shape, of = _filled(copper, reach, least)
    wall, slot = _within(middle, shape, reach / 2)
    own = owner[wall] == of[slot]
    wall, held = _numbers(wall[own], len(middle)), _numbers(slot[own], len(shape))
    left, of = np.unique(of[held], return_inverse=True)
    copper = _about(copper[left], shape[held], of, np.full(len(left), 1.5 * reach))
    owner = np.searchsorted(left, owner[wall])
    return _Walls(seen[left], copper, owner, middle[wall], apart[wall], longest[wall])


def _walled_off(segments: Segments, near: Normals) -> NDArray[np.bool_]:
    """(n,) True where a wall that is nearer to one of the two comes between them.

    Where walls stand close together, as teeth do, most pairs are such. They are dropped here,
    before there are more of them than anything else.
    """
    walled = np.zeros(len(near), bool)
    if not len(near):
        return walled
    scale = 0.5 / near.distance.max(initial=_PIECE)
    one, other = np.concatenate([near.i, near.j]), np.concatenate([near.j, near.i])
    rank = one + scale * np.tile(near.distance, 2)
    order = np.argsort(rank)
    rank, other = rank[order], other[order]
    short = _INWARD * (near.b - near.a)
    a, b = near.a + short, near.b - short
    for part in _BETWEEN:
        for end in (near.i, near.j):
            rows = np.flatnonzero(~walled)
            nearer = np.searchsorted(rank, end[rows] + scale * part * near.distance[rows])
            wall = other[nearer]
            p, q, start, stop = segments.a[wall], segments.b[wall], a[rows], b[rows]
            walled[rows] = (_left(p, q, start) * _left(p, q, stop) < -_TOUCH) & (
                _left(start, stop, p) * _left(start, stop, q) < _TOUCH
            )
    return walled


def _left(start: Floats, end: Floats, point: Floats) -> Floats:
    """(n,) how far a point lies to the left of the line from start to end, times its length."""
    (x, y), (u, v) = (end - start).T, (point - start).T
    left: Floats = x * v - y * u
    return left


def _clear(islands: Shapes, a: Floats, b: Floats) -> NDArray[np.bool_]:
    """(n,) which points a and b of boundaries face each other with no copper in between."""
    short = _INWARD * (b - a)
    lines = shapely.linestrings(np.stack([a + short, b - short], 1))
    line, island = shapely.STRtree(islands).query(lines)
    shapely.prepare(islands[np.unique(island)])
    clear = np.ones(len(a), bool)
    clear[line[shapely.intersects(islands[island], lines[line])]] = False
    return clear


def _outlines(rings: Shapes, of: Ints, long: NDArray[np.bool_], islands: Ints) -> Shapes:
    """The asked islands without the holes that are not long; ``of`` is the island of each ring."""
    outlines = np.empty(len(islands), object)
    for row, island in enumerate(islands.tolist()):
        first, last = np.searchsorted(of, (island, island + 1))
        holes = slice(first + 1, last)
        outlines[row] = shapely.Polygon(rings[first], rings[holes][long[holes]])
    return outlines


def _about(islands: Shapes, shapes: Shapes, owner: Ints, room: Floats) -> Shapes:
    """The copper of islands no farther than ``room`` from their shapes; all of it where little."""
    copper = islands.copy()
    for one in np.flatnonzero(shapely.get_num_coordinates(islands) > _SMALL).tolist():
        squares = shapely.buffer(shapes[owner == one], room[one], cap_style="square")
        copper[one] = shapely.intersection(islands[one], shapely.union_all(squares))
    return copper
