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

from checker.measure.holes.pads import outer
from checker.measure.holes.paths import drilled_of
from checker.measure.leftover.tiles import Seams, joined, no_seams, seams_of, tiles_of

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints, Shapes
    from checker.measure.leftover.tiles import Box

    Wider = tuple[tuple[str, float], ...]

ERROR = 0.002
"""Bound in mm on the error of a width: arcs are followed to a quarter of it."""

_ARC = ERROR / 4
_ROOM = 3.0  # mm of blank round the copper of a board without an outline
_AT_ONCE = 40_000  # corners of islands: of more, one buffer of all takes longer than one of each
_NEIGHBOURS = 8  # whose boxes meet; islands with more are quicker grown one by one
_ASKED = 250  # islands whose neighbours are counted
_NONE = -1
_DIGITS = 6  # of distances in mm: islands as far as each other to that are equally near


class Tile(Struct, frozen=True, eq=False):
    """What is left in one tile of a layer; columns of length n.

    Attributes:
        layer: index into the board's layers.
        box: the tile.
        part: (n,) Polygon each, exteriors counter-clockwise.
        piece: (n,) index into the pieces of `Leftover`.
    """

    layer: int
    box: Box
    part: Shapes
    piece: Ints


class Leftover(Struct, frozen=True, eq=False):
    """Pieces of leftover copper of the outer sides that hold copper; columns of length n.

    Attributes:
        layer: (n,) index into the board's layers.
        shape: (n,) Polygon each, or a MultiPolygon of its parts where it lies in several tiles.
        area: (n,) mm2.
        girth: (n,) length of its boundary, mm.
        tiles: the same, tile by tile.
    """

    layer: Ints
    shape: Shapes
    area: Floats
    girth: Floats
    tiles: tuple[Tile, ...]

    def __len__(self) -> int:
        return len(self.area)


def leftover(board: Board, clears: float, wider: Wider = ()) -> Leftover:
    """What stays where ``clears`` mm are cleared round every island.

    ``wider`` holds nets, by name, round which more is cleared: (net, mm).
    """
    return _leftover(board, round(clears, 4), wider)


def beside(layer: CopperLayer, shapes: Shapes, reach: float) -> Ints:
    """(n, 2) the islands nearest to the middles of shapes and within reach (mm) of them; -1 none.

    Of equally near ones those of the first nets. The islands of a place are ascending.
    """
    found = np.full((len(shapes), 2), _NONE)
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    boxes = shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    row, island = shapely.STRtree(layer.islands).query(boxes)
    shapely.prepare(layer.islands[np.unique(island)])
    near = shapely.dwithin(layer.islands[island], shapes[row], reach)
    row, island = row[near], island[near]
    middles = shapely.points(middles_of(shapes))
    far = np.round(shapely.distance(layer.islands[island], middles[row]), _DIGITS)
    order = np.lexsort((island, layer.net[island], far, row))
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
    blank, more, holes = blank_of(board), dict(wider), holes_of(board)
    drills = shapely.STRtree(holes)
    found = [_no_pieces()]
    for _, layer in outer(board):
        if blank.is_empty or not len(layer.islands):
            continue
        widths = np.array([max(clears, more.get(name or "", 0.0)) for name in layer.net_name])
        rest: list[tuple[Box, Shapes]] = []
        for box, near in tiles_of(_bands(layer.islands, widths), blank.bounds):
            whole = shapely.intersection(blank, shapely.box(*box))
            left = shapely.difference(whole, _united(near))
            parts = _drilled(_polygons(left), holes, drills)
            # Where rings begin must not hang on how the copper was united.
            rest.append((box, shapely.orient_polygons(shapely.normalize(parts))))
        found.append(_pieces(board.copper.index(layer), rest, sum(map(len, found))))
    return Leftover(
        layer=np.concatenate([one.layer for one in found]),
        shape=np.concatenate([one.shape for one in found]),
        area=np.concatenate([one.area for one in found]),
        girth=np.concatenate([one.girth for one in found]),
        tiles=tuple(tile for one in found for tile in one.tiles),
    )


def _bands(islands: Shapes, widths: Floats) -> Shapes:
    """Islands (n,) and what is cleared round each, ``widths`` (n,) mm; several may be in one."""
    corners = quarter(float(widths.max()))
    if shapely.get_num_coordinates(islands).sum() > _AT_ONCE or _crowded(islands, widths):
        return np.asarray(shapely.buffer(islands, widths, quad_segs=corners))
    # Grown together they are united by it, for far less than a union takes.
    width, of = np.unique(widths, return_inverse=True)
    order = np.argsort(of, kind="stable")
    alike = shapely.multipolygons(islands[order], indices=of[order])
    return np.asarray(shapely.buffer(alike, width, quad_segs=corners))


def _crowded(islands: Shapes, widths: Floats) -> bool:
    """Whether bands lie over each other so often that growing them together takes too long."""
    low, high = shapely.bounds(islands).reshape(-1, 2, 2).transpose(1, 0, 2)
    boxes = shapely.box(*(low - widths[:, None]).T, *(high + widths[:, None]).T)
    some = boxes[:: max(1, len(boxes) // _ASKED)]
    met = len(shapely.STRtree(boxes).query(some)[0]) / len(some)
    return met > 1 + _NEIGHBOURS  # each meets itself


def _united(shapes: Shapes) -> shapely.Geometry:
    return shapes[0] if len(shapes) == 1 else shapely.disjoint_subset_union_all(shapes)


def _no_pieces() -> Leftover:
    return Leftover(np.empty(0, np.int64), np.empty(0, object), np.empty(0), np.empty(0), ())


def _pieces(layer: int, rest: list[tuple[Box, Shapes]], first: int) -> Leftover:
    """What is left in the tiles of a layer as pieces, which are numbered from ``first`` on."""
    parts = np.concatenate([part for _, part in rest])
    begins = np.cumsum([0, *(len(part) for _, part in rest)]).tolist()
    girth, seams = shapely.length(parts), [no_seams()]
    for begin, (box, part) in zip(begins, rest, strict=False):
        rows, a, b = seams_of(part, box)
        np.subtract.at(girth, begin + rows, np.hypot(*(b - a).T))
        seams.append(Seams(begin + rows, a, b))
    label = joined(Seams(*map(np.concatenate, zip(*seams, strict=True))), len(parts))
    lead, piece = np.unique(label, return_inverse=True)
    shape = parts[lead]
    several = np.bincount(piece) > 1
    if several.any():
        rows = np.flatnonzero(several[piece])
        rows = rows[np.argsort(piece[rows], kind="stable")]
        shape[several] = shapely.multipolygons(
            parts[rows], indices=np.unique(piece[rows], return_inverse=True)[1]
        )
    return Leftover(
        layer=np.full(len(lead), layer),
        shape=shape,
        area=shapely.area(shape),
        girth=np.bincount(piece, girth).astype(float),
        tiles=tuple(
            Tile(layer, box, part, first + piece[begin : begin + len(part)])
            for begin, (box, part) in zip(begins, rest, strict=False)
        ),
    )


def _drilled(pieces: Shapes, holes: Shapes, drills: shapely.STRtree) -> Shapes:
    """Pieces less the holes that go through them; ``drills`` is the tree of the holes."""
    # The pieces ask, because the asking geometries are prepared: some have many corners.
    piece, hole = drills.query(pieces, predicate="intersects")
    hit = np.unique(piece)
    rest = []
    for one in hit.tolist():
        drilled = shapely.disjoint_subset_union_all(holes[np.sort(hole[piece == one])])
        rest.append(_polygons(shapely.difference(pieces[one], drilled)))
    return np.concatenate([np.delete(pieces, hit), *rest])


@lru_cache(maxsize=1)
def holes_of(board: Board) -> Shapes:
    """The holes of a board as polygons."""
    return drilled_of(board.holes, quarter)


def _polygons(shape: shapely.Geometry) -> Shapes:
    parts = shapely.get_parts(shape)
    filled = ~shapely.is_empty(parts)
    polygons: Shapes = parts[filled & (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON)]
    return polygons


def quarter(radius: float) -> int:
    """Segments of a quarter circle that follow it to the arc error."""
    half = math.acos(max(0.0, 1 - _ARC / max(radius, _ARC)))
    return max(4, math.ceil(math.pi / (4 * half)))
