"""Leftover copper: what stays of the blank between the widths cleared round the drawn copper.

A blank is copper all over, and only what the tool sweeps is gone. Round every island a width is
cleared; what is farther from all of them stays, as far as the board's edge.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import components, double_normals, screen
from checker.measure.boundary.segments import Segments
from checker.measure.holes.pads import outer
from checker.measure.holes.paths import drilled_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Shapes

    Bools = NDArray[np.bool_]
    Wider = tuple[tuple[str, float], ...]

ERROR = 0.002
"""Bound in mm on the error of a width: arcs are followed to a quarter of it."""

LENGTH_ERROR = 0.05
"""Bound in mm on the error of a strip's length."""

_ARC = ERROR / 4
_OVER = 5e-4  # mm by which wide copper is grown beyond itself, so that no rounding looks thin
_ON_WALL = 1e-5  # mm: boundary this near to that of the leftover copper is part of it
_HELD = 0.25  # of the width looked for: a shorter boundary to wide copper holds nothing
_ROOM = 3.0  # mm of blank round the copper of a board without an outline
_NONE = -1


class Leftover(Struct, frozen=True, eq=False):
    """Pieces of leftover copper of the outer sides that hold copper; columns of length n.

    Attributes:
        layer: (n,) index into the board's layers.
        shape: (n,) Polygon each.
        area: (n,) mm2.
    """

    layer: Ints
    shape: Shapes
    area: Floats

    def __len__(self) -> int:
        return len(self.area)


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


def leftover(board: Board, clears: float, wider: Wider = ()) -> Leftover:
    """What stays where ``clears`` mm are cleared round every island.

    ``wider`` holds nets, by name, round which more is cleared: (net, mm).
    """
    return _leftover(board, round(clears, 4), wider)


def slivers(
    board: Board, clears: float, narrow: float, wider: Wider = (), longer: float = 0.0
) -> Slivers:
    """The stretches of leftover copper narrower than ``narrow`` mm that are longer than that.

    And than ``longer`` mm, which spares the work on those that nobody asks for.
    """
    return _slivers(board, round(clears, 4), round(narrow, 4), wider, longer)


def beside(layer: CopperLayer, shapes: Shapes, reach: float) -> Ints:
    """(n, 2) the islands nearest to the middles of shapes and within reach (mm) of them; -1 none.

    The islands of a place are ascending.
    """
    found = np.full((len(shapes), 2), _NONE)
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    boxes = shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    row, island = shapely.STRtree(layer.islands).query(boxes)
    shapely.prepare(layer.islands[np.unique(island)])
    near = shapely.dwithin(layer.islands[island], shapes[row], reach)
    row, island = row[near], island[near]
    middles = shapely.points(middles_of(shapes))
    far = shapely.distance(layer.islands[island], middles[row])
    order = np.lexsort((island, far, row))
    row, island = row[order], island[order]
    rank = np.arange(len(row)) - np.searchsorted(row, row)
    near = rank < found.shape[1]
    found[row[near], rank[near]] = island[near]
    both = found.min(axis=1) >= 0
    found[both] = np.sort(found[both], axis=1)
    return found


def middles_of(shapes: Shapes) -> Floats:
    """(n, 2) the point of each shape nearest to its centroid, whichever way it is turned."""
    lines = shapely.shortest_line(shapes, shapely.centroid(shapes))
    middles: Floats = shapely.get_coordinates(shapely.get_point(lines, 0))
    return middles


def blank_of(board: Board) -> shapely.Geometry:
    """The board inside its edge; without one a rectangle with room round the copper."""
    if board.outline is not None:
        return board.outline.area
    boxes = np.array([shapely.total_bounds(la.islands) for la in board.copper if len(la.islands)])
    if not len(boxes):
        return shapely.Polygon()
    (x0, y0), (x1, y1) = boxes[:, :2].min(0) - _ROOM, boxes[:, 2:].max(0) + _ROOM
    return shapely.box(x0, y0, x1, y1)


@lru_cache(maxsize=4)
def _leftover(board: Board, clears: float, wider: Wider) -> Leftover:
    blank, more = blank_of(board), dict(wider)
    layers, shapes = [np.empty(0, np.int64)], [np.empty(0, object)]
    holes = _holes(board)
    for _, layer in outer(board):
        if not len(layer.islands):
            continue
        widths = np.array([max(clears, more.get(name or "", 0.0)) for name in layer.net_name])
        quarter = _quarter(float(widths.max()))
        bands = shapely.disjoint_subset_union_all(
            shapely.buffer(layer.islands, widths, quad_segs=quarter)
        )
        pieces = _drilled(_polygons(shapely.difference(blank, bands)), holes)
        layers.append(np.full(len(pieces), board.copper.index(layer)))
        shapes.append(pieces)
    shape = np.concatenate(shapes)
    return Leftover(np.concatenate(layers), shape, shapely.area(shape))


def _drilled(pieces: Shapes, holes: Shapes) -> Shapes:
    """Pieces less the holes that go through them."""
    # The pieces ask, because the asking geometries are prepared: some have many corners.
    piece, hole = shapely.STRtree(holes).query(pieces, predicate="intersects")
    hit = np.unique(piece)
    rest = []
    for one in hit.tolist():
        drilled = shapely.disjoint_subset_union_all(holes[np.sort(hole[piece == one])])
        rest.append(_polygons(shapely.difference(pieces[one], drilled)))
    return np.concatenate([np.delete(pieces, hit), *rest])


@lru_cache(maxsize=1)
def _holes(board: Board) -> Shapes:
    """The holes of a board as polygons."""
    return drilled_of(board.holes, _quarter)


@lru_cache(maxsize=4)
def _slivers(board: Board, clears: float, narrow: float, wider: Wider, longer: float) -> Slivers:
    pieces = _leftover(board, clears, wider).shape
    quarter = _quarter(narrow / 2)
    core = shapely.buffer(pieces, -narrow / 2, quad_segs=quarter)
    wide = shapely.buffer(core, narrow / 2 + _OVER, quad_segs=quarter)
    shape, piece = shapely.get_parts(shapely.difference(pieces, wide), return_index=True)
    # What is shorter all round than twice the width cannot be as long as that.
    kept = (shapely.get_type_id(shape) == shapely.GeometryType.POLYGON) & (
        shapely.length(shape) > 2 * narrow
    )
    shape, piece = shape[kept], piece[kept]
    segments = Segments.of(shape)
    walls = _on_walls(segments, pieces, piece)
    count = len(shape)
    length = np.bincount(segments.island, segments.length * walls, count) / 2
    held = _held(segments, ~walls, narrow, count)
    long = length > max(narrow, longer)
    rim = _at_rim(board, segments, long)
    width = _narrowest(shape[long], shape[length > narrow], narrow)
    shape, piece, length, held = shape[long], piece[long], length[long], held[long]
    along = rim[long] > length / 2
    open_ = ~np.isfinite(width)
    width[open_] = np.where(held > 1, shapely.area(shape) / np.maximum(length, narrow), 0.0)[open_]
    return Slivers(piece, shape, middles_of(shape), width, length, held, along)


def _at_rim(board: Board, segments: Segments, asked: Bools) -> Floats:
    """(shapes,) over which length the asked ones lie on the board's edge or a hole's rim, mm."""
    rows = np.flatnonzero(asked[segments.island])
    rims = shapely.boundary(np.append(_holes(board), blank_of(board)))
    tree = shapely.STRtree(shapely.points((segments.a[rows] + segments.b[rows]) / 2))
    at = rows[np.unique(tree.query(rims, predicate="dwithin", distance=_ON_WALL)[1])]
    return np.bincount(segments.island[at], segments.length[at], len(asked)).astype(float)


def _on_walls(segments: Segments, pieces: Shapes, piece: Ints) -> Bools:
    """(n,) which segments lie on the boundary of the piece that their shape is of."""
    walls = shapely.boundary(pieces)
    shapely.prepare(walls[np.unique(piece)])
    middles = shapely.points((segments.a + segments.b) / 2)
    on: Bools = shapely.dwithin(walls[piece[segments.island]], middles, _ON_WALL)
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


def _narrowest(shapes: Shapes, others: Shapes, narrow: float) -> Floats:
    """(n,) the shortest double normal within each shape that no other comes near, inf without."""
    segments = Segments.of(shapes)
    chords = double_normals(segments, narrow, inside=True)
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    boxes = shapely.box(x0 - narrow, y0 - narrow, x1 + narrow, y1 + narrow)
    near = np.unique(shapely.STRtree(others).query(boxes)[1])
    chords = chords.take(screen(Segments.of(others[near]), chords, ERROR / 2))
    least = np.full(len(shapes), np.inf)
    np.minimum.at(least, segments.island[chords.i], chords.distance)
    return least


def _polygons(shape: shapely.Geometry) -> Shapes:
    parts = shapely.get_parts(shape)
    polygons: Shapes = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    return polygons


def _quarter(radius: float) -> int:
    """Segments of a quarter circle that follow it to the arc error."""
    half = math.acos(max(0.0, 1 - _ARC / max(radius, _ARC)))
    return max(4, math.ceil(math.pi / (4 * half)))
