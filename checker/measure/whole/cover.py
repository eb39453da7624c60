"""Copper layers as a whole: how much of the board they cover, whose holes, its edge, and sizes."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.holes.paths import paths_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Board, CopperLayer, Floats, Ints

    Bools = np.ndarray[tuple[int], np.dtype[np.bool_]]

ERROR = 0.003  # bound in mm on the error of ``Trail.apart``: twice the drawing of arcs, and slack

LEG = 0.6  # mm; narrower holes are vias: leads of common parts want 0.7 mm and more
RIM = 0.02  # mm; copper this near to a hole's edge reaches it: drill files round by 0.013
_MOUSE_BITE = 1.0  # mm; holes this near to the edge may be there to break the board off
_STEP = 0.5  # mm between the points at which a line is compared with the edge
_STROKES = 1.5  # pens of a trail differ by at most this factor


class Cover(Struct, frozen=True):
    """How one outer layer covers the board.

    Attributes:
        share: part of the board, or of the copper's box where no edge is known, that is copper.
        legs: how many holes are wide enough for leads.
        together: how many of them one island reaches, the most that any does.
        nets: names of the nets drawn in that island.
        others: how many islands of the other outer side, or holes where there is none, it joins.
    """

    side: str
    share: float
    legs: int
    together: int
    nets: tuple[str, ...]
    others: int


class Landing(Struct, frozen=True):
    """Holes that are not said to be unplated, and those of them that reach copper on a side."""

    holes: int
    reaching: int


class Rims(Struct, frozen=True, eq=False):
    """Holes of which no file says whether they are plated, with copper but no pad of their own.

    Attributes:
        hole: (n,) index into the board's holes; copper of both outer sides reaches its edge.
        islands: (n, 2) index of an island of the upper and of the lower side that does.
    """

    hole: Ints
    islands: Ints

    def __len__(self) -> int:
        return len(self.hole)


WHOLE = 0.9
"""Part of the edge that a line of copper follows which shows the edge: corners may be cut out."""


class Trail(Struct, frozen=True):
    """Thin lines of copper along the edge of the board.

    Attributes:
        side: of the copper.
        share: part of the edge that they follow.
        pen: width of the widest of them in mm.
        apart: how far at most the middles of these lines lie from the edge, mm.
        x, y: a place on one of them.
    """

    side: str
    share: float
    pen: float
    apart: float
    x: float
    y: float


def outer(board: Board) -> list[CopperLayer]:
    """The layers of the two outer sides, from top to bottom."""
    return [layer for layer in board.copper if layer.side in ("top", "bottom")]


@lru_cache(maxsize=1)
def covers_of(board: Board) -> tuple[Cover, ...]:
    """How each outer layer covers the board."""
    layers = outer(board)
    width, height = board.size
    whole = width * height if board.outline is None else float(board.outline.area.area)
    rows = [i for i, hole in enumerate(board.holes) if hole.diameter >= LEG]
    reach = [_reach(board, layer, rows) for layer in layers]
    found = []
    for layer, mine in zip(layers, reach, strict=True):
        area = float(shapely.area(layer.islands).sum())
        held = np.bincount(mine[1], minlength=1)
        most = int(held.argmax())
        inside = np.unique(mine[0][mine[1] == most])
        nets = _names(layer, most) if held.any() else ()
        other = [pairs for pairs in reach if pairs is not mine]
        joined = len(np.unique(other[0][1][np.isin(other[0][0], inside)])) if other else len(inside)
        share = area / whole if whole else 0.0
        found.append(Cover(layer.side, share, len(rows), len(inside), nets, joined))
    return tuple(found)


def _reach(board: Board, layer: CopperLayer, rows: Sequence[int]) -> tuple[Ints, Ints]:
    """Pairs of a place in ``rows`` and an island that comes to that hole's edge."""
    if not len(rows) or not len(layer.islands):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    paths = paths_of([board.holes[row] for row in rows])
    radius = np.array([board.holes[row].diameter / 2 for row in rows]) + RIM
    x0, y0, x1, y1 = shapely.bounds(paths).T
    boxes = shapely.box(x0 - radius, y0 - radius, x1 + radius, y1 + radius)
    hole, island = shapely.STRtree(layer.islands).query(boxes)
    shapely.prepare(layer.islands)
    near = shapely.dwithin(layer.islands[island], paths[hole], radius[hole])
    return hole[near], island[near]


def _names(layer: CopperLayer, island: int) -> tuple[str, ...]:
    objects = layer.objects
    named = np.unique(objects.net[(layer.island_of == island) & (objects.net >= 0)])
    return tuple(sorted(objects.names[net] for net in named.tolist()))


@lru_cache(maxsize=1)
def landing_of(board: Board) -> Landing:
    """Whether the holes of parts and vias reach copper anywhere; those along the edge left out."""
    rows = [i for i, hole in enumerate(board.holes) if hole.plated is not False]
    if rows and board.outline is not None:
        edge = shapely.boundary(board.outline.area)
        shapely.prepare(edge)
        far = ~shapely.dwithin(edge, paths_of([board.holes[row] for row in rows]), _MOUSE_BITE)
        rows = np.array(rows)[far].tolist()
    reaching = [_reach(board, layer, rows)[0] for layer in board.copper]
    return Landing(len(rows), len(np.unique(np.concatenate(reaching))))


@lru_cache(maxsize=1)
def rims_of(board: Board) -> Rims:
    """Holes of unknown plating at which copper of both outer sides ends, without a pad."""
    layers = outer(board)
    unsaid = (i for i, hole in enumerate(board.holes) if hole.plated is None)
    rows = [i for i in unsaid if board.holes[i].function != "MechanicalDrill"]
    none = Rims(np.empty(0, np.int64), np.empty((0, 2), np.int64))
    if len(layers) < 2 or not rows:
        return none
    upper, lower = (dict(zip(*_reach(board, layer, rows), strict=True)) for layer in layers)
    padded = np.logical_or.reduce([_padded(board, layer, rows) for layer in layers])
    both = [row for row in upper if row in lower and not padded[row]]
    if not both:
        return none
    islands = np.array([(upper[row], lower[row]) for row in both], np.int64)
    return Rims(np.array([rows[row] for row in both], np.int64), islands)


def _padded(board: Board, layer: CopperLayer, rows: Sequence[int]) -> Bools:
    """Whether the middle of each hole lies in a pad, or in a stroke that serves as one."""
    padded = np.zeros(len(rows), bool)
    objects = layer.objects
    pads = objects.shape[(objects.kind != Kind.POUR) & objects.dark]
    paths = paths_of([board.holes[row] for row in rows])
    hit, _ = shapely.STRtree(pads).query(paths, predicate="intersects")
    padded[hit] = True
    return padded


@lru_cache(maxsize=1)
def trails_of(board: Board) -> tuple[Trail, ...]:
    """Of each outer layer the thin lines that follow the board's edge, where there are any.

    A line follows the edge where its middle stays within half its pen of it all the way, so that
    it is drawn across the edge; the border of a pour that fills the board stays just inside.
    """
    if board.outline is None:
        return ()
    edge = shapely.boundary(board.outline.area)
    shapely.prepare(edge)
    found = []
    for layer in outer(board):
        objects = layer.objects
        drawn = objects.dark & (objects.pen > 0) & (objects.kind == Kind.TRACE)
        rows = np.flatnonzero(drawn & (shapely.get_type_id(objects.spine) == 1))
        rows = rows[shapely.dwithin(edge, objects.spine[rows], objects.pen[rows] / 2)]
        apart = np.array([_apart(edge, spine) for spine in objects.spine[rows]])
        rows, apart = _follow(rows, apart, objects.pen)
        if not len(rows):
            continue
        pen = float(objects.pen[rows].max())
        near = shapely.intersection(
            edge, shapely.union_all(shapely.buffer(objects.spine[rows], pen / 2))
        )
        longest = rows[np.argmax(shapely.length(objects.spine[rows]))]
        x, y = shapely.get_coordinates(
            shapely.line_interpolate_point(objects.spine[longest], 0.5, normalized=True)
        )[0]
        share = float(near.length / edge.length)
        found.append(Trail(layer.side, share, pen, float(apart.max()), float(x), float(y)))
    return tuple(found)


def _follow(rows: Ints, apart: Floats, pen: Floats) -> tuple[Ints, Floats]:
    """The lines that stay within half their pen, of the pen most of their length is drawn with."""
    if not len(rows):
        return rows, apart
    keep = apart < pen[rows] / 2 - ERROR
    rows, apart = rows[keep], apart[keep]
    if len(rows):
        alike = pen[rows] <= _STROKES * pen[rows].min()
        rows, apart = rows[alike], apart[alike]
    return rows, apart


def _apart(edge: shapely.Geometry, spine: shapely.LineString) -> float:
    """How far a line gets from the edge, by points along it."""
    along = np.arange(0, spine.length + _STEP, _STEP)
    points = shapely.line_interpolate_point(spine, along)
    corners = shapely.points(shapely.get_coordinates(spine))
    return float(shapely.distance(edge, np.concatenate([points, corners])).max())


class Sizes(Struct, frozen=True):
    """How large things are, mm; None where there are none.

    Attributes:
        board: width and height of the edge, or of the copper where there is none.
        line: half of the copper drawn in lines is in wider ones; of pads where there are no lines.
        hole: half of the holes are wider.
    """

    board: tuple[float, float]
    line: float | None
    hole: float | None


def sizes_of(board: Board) -> Sizes:
    """How large the board, its lines and its holes are."""
    widths, weights = [], []
    for layer in board.copper:
        objects = layer.objects
        rows = objects.dark & (objects.pen > 0) & (objects.kind == Kind.TRACE)
        widths.append(objects.pen[rows])
        weights.append(objects.pen[rows] * shapely.length(objects.spine[rows]))
    line = _middle(np.concatenate(widths), np.concatenate(weights))
    if line is None:
        shapes = [
            o.shape[o.dark & (o.kind == Kind.PAD)] for o in (la.objects for la in board.copper)
        ]
        x0, y0, x1, y1 = shapely.bounds(np.concatenate(shapes)).T
        least = np.minimum(x1 - x0, y1 - y0)
        line = _middle(least, np.ones(len(least)))
    holes = np.array([hole.diameter for hole in board.holes])
    return Sizes(board.size, line, _middle(holes, np.ones(len(holes))))


def _middle(values: Floats, weights: Floats) -> float | None:
    """The weighted median."""
    if not len(values) or not weights.sum():
        return None
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(reached, reached[-1] / 2)])
