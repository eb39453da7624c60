"""Slivers: stretches of leftover copper too narrow for a disc.

What no disc of that width reaches is found by opening, which takes longer than all else and finds
mostly corners. So where there is much of it, it is done only where the boundary of leftover copper,
asked at points a step apart, has no room for such a disc over some length.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import astuple

from checker.measure.boundary.boxes import Boxes, Grouped, first_rows
from checker.measure.boundary.minima import components, double_normals, screen
from checker.measure.boundary.segments import Segments
from checker.measure.leftover.pieces import (
    ERROR,
    blank_of,
    holes_of,
    leftover,
    middles_of,
    quarter,
)
from checker.measure.leftover.tiles import on_seam
from checker.measure.plane import dot, either

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints, Shapes
    from checker.measure.leftover.pieces import Tile, Wider

    Bools = NDArray[np.bool_]

LENGTH_ERROR = 0.05
"""Bound in mm on the error of a strip's length."""

_OVER = 5e-4  # mm by which wide copper is grown beyond itself, so that no rounding looks thin
_FILM = 0.005  # of the width looked for, as thick on the average: GEOS leaves out vertices so near
_ON_WALL = 1e-5  # mm: boundary this near to that of the leftover copper is part of it
_HELD = 0.25  # of the width looked for: a shorter boundary to wide copper holds nothing
_TIP = 0.1  # of it: what is narrower than this near the end of a strip is no width of the strip
_DIGITS = 9  # after the point, in mm, of a place: so that rounding does not tell
_FEW = 15_000  # corners of leftover copper: so much is opened as soon as it is asked where
_STEPS = 12  # points asked along the walls of a strip as long as is looked for
_FEWEST = 6  # of them are narrow even where the strip has so many ends
_NONE = 1e-300  # mm2: stretches may have no length
_ROW = 2**32  # cells


class Slivers(Struct, frozen=True, eq=False):
    """Stretches of leftover copper narrower than a width; columns of length n.

    Attributes:
        piece: (n,) index into the pieces of `Leftover`.
        shape: (n,) Polygon each.
        at: (n, 2) a point in it, near its middle.
        width: (n,) where it is narrowest, mm; 0 where it runs out to a point.
        length: (n,) over which it is that narrow, mm.
        held: (n,) how many of its ends are wide copper.
        rim: (n,) True where the board's edge or a hole runs along it.
    """

    piece: Ints
    shape: Shapes
    at: Floats
    width: Floats
    length: Floats
    held: Ints
    rim: Bools

    def __len__(self) -> int:
        return len(self.width)


def slivers(
    board: Board, clears: float, narrow: float, wider: Wider = (), longer: float = 0.0
) -> Slivers:
    """The stretches of leftover copper narrower than ``narrow`` mm that are longer than that.

    And than ``longer`` mm, which spares the work on those that nobody asks for. One that is hardly
    as long and has more than six ends may be passed over.
    """
    return _slivers(board, round(clears, 4), round(narrow, 4), wider, max(narrow, longer))


@lru_cache(maxsize=4)
def _slivers(board: Board, clears: float, narrow: float, wider: Wider, longer: float) -> Slivers:
    whole = leftover(board, clears, wider)
    found = [_no_slivers()]
    for layer in np.unique(whole.layer).tolist():
        tiles = [tile for tile in whole.tiles if tile.layer == layer and len(tile.part)]
        found.append(_in_layer(board, tiles, narrow, longer))
    columns = zip(*map(astuple, found), strict=True)
    return Slivers(*(np.concatenate(column) for column in columns))


def _no_slivers() -> Slivers:
    none = np.empty(0, np.int64)
    shapes, lengths = np.empty(0, object), np.empty(0)
    return Slivers(none, shapes, np.empty((0, 2)), lengths, lengths, none, none.astype(bool))


def _narrow_places(tiles: list[Tile], narrow: float, step: float) -> Floats:
    """(n, 2) points of the boundary, a step apart, where no disc of the width fits.

    A disc that touches the boundary there from inside comes upon another stretch of it. It is a
    little larger than the width, and what it only touches does not count.
    """
    radius = narrow / 2
    ahead = radius + _ON_WALL
    found, unsure, centres, edges = [], [], [], []
    for tile in tiles:
        a, b, ring = _edges(tile)
        along = b - a
        length = np.hypot(*along.T)
        rows, share = _spread(length, step)
        at = a[rows] + share[:, None] * along[rows]
        inward = np.column_stack([-along[rows, 1], along[rows, 0]]) / length[rows, None]
        centre = at + ahead * inward
        hit = np.zeros(len(centre), bool)
        hit[_near_walls(centre, ring[rows], a, b, ring, radius)] = True
        found.append(at[hit])
        # What lies beyond a seam is asked for once all tiles are known.
        low, high = np.reshape(tile.box.grown(-ahead), (2, 2))
        open_ = ~hit & either((centre < low) | (centre > high))
        unsure.append(at[open_])
        centres.append(centre[open_])
        rim = either((np.minimum(a, b) < low) | (np.maximum(a, b) > high))
        edges.append(np.stack([a[rim], b[rim]], 1))
    tree = shapely.STRtree(shapely.linestrings(np.concatenate(edges)))
    points = shapely.points(np.concatenate(centres))
    late = np.unique(tree.query(points, "dwithin", distance=radius)[0])
    return np.concatenate([*found, np.concatenate(unsure)[late]])


def _edges(tile: Tile) -> tuple[Floats, Floats, Ints]:
    """Ends (n, 2) of what bounds the parts of a tile, but for its sides, and the ring of each."""
    points, ring = shapely.get_coordinates(shapely.get_rings(tile.part), return_index=True)
    a, b = points[:-1], points[1:]
    rows = (ring[1:] == ring[:-1]) & ~on_seam(a, b, tile.box)
    return a[rows], b[rows], ring[1:][rows]


def _spread(length: Floats, step: float) -> tuple[Ints, Floats]:
    """Points a step apart along stretches in a row: which stretch, and what share of it."""
    total = np.cumsum(length)
    place = np.arange(step / 2, total[-1] if len(total) else 0.0, step)
    rows = np.searchsorted(total, place)
    return rows, 1 - (total[rows] - place) / length[rows]


def _near_walls(
    points: Floats, ring_of: Ints, a: Floats, b: Floats, ring: Ints, radius: float
) -> Ints:
    """Which points lie no farther than that from stretches, some repeated.

    Both stand in the order of the rings that they are of.
    """
    if not len(points):
        return np.empty(0, np.int64)
    walls = Grouped.of(Boxes.of(np.minimum(a, b), np.maximum(a, b)), first_rows(ring))
    discs = Grouped.of(Boxes.of(points - radius, points + radius), first_rows(ring_of))
    point, wall = discs.meeting(walls)
    to, along = points[point] - a[wall], b[wall] - a[wall]
    share = np.clip(dot(to, along) / np.maximum(dot(along, along), _NONE), 0, 1)
    rest = to - share[:, None] * along
    near: Ints = point[dot(rest, rest) <= radius * radius]
    return near


def _along(places: Floats, reach: float) -> Floats:
    """The places that hang together in so large a number that a long strip may be there."""
    points = shapely.points(places)
    i, j = shapely.STRtree(points).query(points, "dwithin", distance=reach)
    label = components(len(places), i, j)
    return places[np.bincount(label, minlength=len(places))[label] >= _FEWEST]


def _rooms(places: Floats, cell: float) -> Shapes:
    """The cells of a grid that places lie in and those round them, as polygons apart."""
    near = np.array([-1, 0, 1])
    # One number for a cell: its row, and its place in it.
    cells = np.unique(np.floor(places / cell).astype(np.int64) @ [1, _ROW])
    cells = np.unique(cells[:, None] + (near[:, None] * _ROW + near).ravel())
    # Cells in a row are one box: fewer are sooner united.
    first = np.flatnonzero(np.diff(cells, prepend=cells[0] - _ROW) != 1)
    last = np.append(first[1:], len(cells)) - 1
    y, x = np.divmod(cells[first] + _ROW // 2, _ROW)
    x0 = x - _ROW // 2
    x1 = x0 + last - first + 1
    boxes = shapely.box(x0 * cell, y * cell, x1 * cell, (y + 1) * cell)
    rooms: Shapes = shapely.get_parts(shapely.disjoint_subset_union_all(boxes))
    return rooms


def _within(tiles: list[Tile], rooms: Shapes) -> tuple[Shapes, Ints, Ints]:
    """What of each piece lies in each room: polygons, their piece and room."""
    parts = np.concatenate([tile.part for tile in tiles])
    piece = np.concatenate([tile.piece for tile in tiles])
    room, part = shapely.STRtree(parts).query(rooms, "intersects")
    order = np.lexsort((room, piece[part]))
    room, part = room[order], part[order]
    shapes = shapely.intersection(parts[part], rooms[room])
    first = np.flatnonzero(np.r_[True, (np.diff(room) != 0) | (np.diff(piece[part]) != 0)])
    last = np.r_[first[1:], len(room)]
    for one in np.flatnonzero(last - first > 1).tolist():  # over seams
        shapes[first[one]] = shapely.union_all(shapes[first[one] : last[one]])
    whole, row = shapely.get_parts(shapes[first], return_index=True)
    kept = shapely.get_type_id(whole) == shapely.GeometryType.POLYGON
    row = first[row[kept]]
    return whole[kept], piece[part[row]], room[row]


class _Found(NamedTuple):
    """What opening takes off: polygons, the boundary of what each is of, and the piece of that."""

    shape: Shapes
    walls: Shapes
    piece: Ints


def _opened(
    tiles: list[Tile], rooms: Shapes, places: Floats, cell: float, narrow: float, longer: float
) -> _Found:
    """What of leftover copper in rooms no disc of the width reaches."""
    corners = quarter(narrow / 2)
    while True:
        parts, piece, room = _within(tiles, rooms)
        core = shapely.buffer(parts, -narrow / 2, quad_segs=corners)
        wide = shapely.buffer(core, narrow / 2 + _OVER, quad_segs=corners)
        shape, row = shapely.get_parts(shapely.difference(parts, wide), return_index=True)
        # What is shorter all round than twice the length cannot be as long as that.
        kept = (shapely.get_type_id(shape) == shapely.GeometryType.POLYGON) & (
            shapely.length(shape) > 2 * longer
        )
        kept &= shapely.area(shape) > _FILM * narrow * shapely.length(shape) / 2
        shape, row = shape[kept], row[kept]
        # At the end of a room it is narrow because the room ends there.
        ends = shapely.boundary(rooms)
        shapely.prepare(ends)
        cut = shapely.dwithin(ends[room[row]], shape, _ON_WALL)
        tree = shapely.STRtree(shapely.points(places))
        on = np.unique(tree.query(shape[cut], "dwithin", distance=_ON_WALL)[0])
        if not len(on):
            rows, of = np.unique(row[~cut], return_inverse=True)
            walls = shapely.boundary(parts[rows])
            # Sums must not hang on where a ring begins.
            return _Found(shapely.normalize(shape[~cut]), walls[of], piece[rows[of]])
        # It goes on beyond the room.
        places = np.concatenate([places, shapely.get_coordinates(shape[cut][on])])
        rooms = _rooms(places, cell)


def _in_layer(board: Board, tiles: list[Tile], narrow: float, longer: float) -> Slivers:
    """The slivers of one layer."""
    step = 2 * longer / _STEPS
    cell = narrow + step  # across a strip, and on to the next place
    if sum(shapely.get_num_coordinates(tile.part).sum() for tile in tiles) <= _FEW:
        low, high = np.reshape([tile.box.grown(cell) for tile in tiles], (-1, 2, 2)).swapaxes(0, 1)
        rooms, places = np.array([shapely.box(*low.min(0), *high.max(0))]), np.empty((0, 2))
    else:
        places = _along(_narrow_places(tiles, narrow, step), cell)
        if not len(places):
            return _no_slivers()
        rooms = _rooms(places, cell)
    shape, walls, piece = _opened(tiles, rooms, places, cell, narrow, longer)
    segments = Segments.of(shape)
    on = _on_walls(segments, walls)
    count = len(shape)
    length = np.bincount(segments.island, segments.length * on, count) / 2
    held = _held(segments, ~on, narrow, count)
    long = length > longer
    rim = _at_rim(board, segments, long)
    shape, piece, length, held = shape[long], piece[long], length[long], held[long]
    width = _narrowest(shape, narrow)
    along = rim[long] > length / 2
    open_ = ~np.isfinite(width)
    width[open_] = np.where(held > 1, shapely.area(shape) / np.maximum(length, narrow), 0.0)[open_]
    at = np.round(middles_of(shape), _DIGITS)
    found = Slivers(piece, shape, at, width, length, held, along)
    order = np.lexsort((*at.T, piece))
    return Slivers(*(column[order] for column in astuple(found)))


def _at_rim(board: Board, segments: Segments, asked: Bools) -> Floats:
    """(shapes,) over which length the asked ones lie on the board's edge or a hole's rim, mm."""
    rows = np.flatnonzero(asked[segments.island])
    rims = shapely.boundary(np.append(holes_of(board), blank_of(board)))
    tree = shapely.STRtree(shapely.points((segments.a[rows] + segments.b[rows]) / 2))
    at = rows[np.unique(tree.query(rims, predicate="dwithin", distance=_ON_WALL)[1])]
    return np.bincount(segments.island[at], segments.length[at], len(asked)).astype(float)


def _on_walls(segments: Segments, walls: Shapes) -> Bools:
    """(n,) which segments lie on the boundary of the polygon that their shape is of."""
    shapely.prepare(walls)
    middles = shapely.points((segments.a + segments.b) / 2)
    on: Bools = shapely.dwithin(walls[segments.island], middles, _ON_WALL)
    return on


def _held(segments: Segments, cap: Bools, narrow: float, count: int) -> Ints:
    """(count,) how many stretches of each boundary lie against wide copper."""
    linked = np.flatnonzero(cap & cap[segments.next])
    run = components(len(cap), linked, segments.next[linked])
    rows = np.flatnonzero(cap)
    reach = np.bincount(run[rows], segments.length[rows], len(cap))
    held: Ints = np.bincount(
        segments.island[np.flatnonzero(reach > _HELD * narrow)], minlength=count
    )
    return held


def _narrowest(shapes: Shapes, narrow: float) -> Floats:
    """(n,) the shortest double normal within each shape of one layer, inf without.

    Not in its tips, where it tapers off in a corner or between a wall and wide copper.
    """
    segments = Segments.of(shapes)
    chords = double_normals(segments, narrow, inside=True)
    i, j = chords.i, chords.j
    way = np.abs(segments.along[i] - segments.along[j])
    tip = np.minimum(way, segments.girth[i] - way) < narrow
    tip &= (segments.ring[i] == segments.ring[j]) & (chords.distance < _TIP * narrow)
    chords = chords.take(np.flatnonzero(~tip))
    chords = chords.take(screen(segments, chords, ERROR / 2))
    least = np.full(len(shapes), np.inf)
    np.minimum.at(least, segments.island[chords.i], chords.distance)
    return least
