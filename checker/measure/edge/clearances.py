"""Copper and holes at the board's edge, and where the edge is free of them.

The edge is the outer contour of each board and its cut-outs. Distances are negative where copper or
a hole reaches over the edge: by how much.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.minima import components
from checker.measure.boundary.segments import Segments
from checker.measure.boundary.standing import Standing
from checker.measure.edge.contour import STEP, Contour, contour_of
from checker.measure.holes.paths import paths_of
from checker.measure.plane import dot
from checker.measure.whole.cover import WHOLE, trails_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Shapes

REACH = 2.0
"""Copper farther from the edge than this (mm) is not listed, unless more is asked for."""

ERROR = 0.002
"""Bound in mm on the error of a distance: chords of the edge and of the copper.

How far copper reaches over an edge that is hollow there is found at points 0.05 mm apart.
"""

_PLATEAU = 0.003  # mm: places of one object as near as this to the nearest are one
_TWICE = 0.05  # mm; a hole that lies outside but for this is the cut-out drawn there
_NONE = -1
_QUARTER = 16  # segments of a quarter circle: within 0.2 % of a clearance
_BESIDE = 0.02  # mm; what a line along the edge may lie beside it for all that is rounded
_SAMPLE = 0.05  # mm between the points at which copper beyond the edge is looked at
_MOST_SAMPLES = 100  # in a row of them
_SPECK = 1e-9  # mm2: less is arithmetic
_SLIVER = 1e-3  # mm: copper that reaches less far over the edge lies on it
_MEETS = 0.1  # mm; copper as near as this to where it crosses the edge is told there
_SAME = 1e-4  # mm between places that are one
_ALONG = 5e-4  # mm; copper that runs along a side for less is near a corner of it
_CORNER = 1e-6  # mm: a stretch ends so far from a corner


class EdgeCopper(Struct, frozen=True, eq=False):
    """Where copper of an outer side comes near to the edge; columns of length n.

    One row for each pad, for each track or pour and each side of the edge it comes near to (sides
    are one where it is nearest to the corners they meet in), and for each part that reaches over
    the edge.

    Attributes:
        layer: (n,) index into the board's layers; ``island`` (n,) into the layer's islands.
        object: (n,) index into the layer's objects of what stands there, -1 unknown.
        at: (n, 2) the point of the copper nearest to the edge, or the farthest beyond it.
        distance: (n,) from there to the edge in mm, negative beyond it.
        lost: (n,) True where the island lies beyond the edge as a whole.
        parted: (n,) True where the edge cuts the island in two, goes along a track beyond its
            middle, or leaves less than half of a pad.
        reach: mm, how near copper must come to be listed.
    """

    layer: Ints
    island: Ints
    object: Ints
    at: Floats
    distance: Floats
    lost: NDArray[np.bool_]
    parted: NDArray[np.bool_]
    reach: float

    def __len__(self) -> int:
        return len(self.distance)


class EdgeHoles(Struct, frozen=True, eq=False):
    """The distance of every hole to the edge; columns as long as the board's holes.

    Attributes:
        distance: (n,) edge to edge in mm: laminate where positive; from 0 to minus the diameter
            the hole crosses the edge, and below that it lies outside as a whole.
        at: (n, 2) the point of the hole's path nearest to the edge.
        corner: (n,) True where a sharp inside corner of the edge lies in the hole.
        radius: (n,) of the hole, half the width of a slot.
    """

    distance: Floats
    at: Floats
    corner: NDArray[np.bool_]

    radius: Floats

    def crosses(self, band: float) -> NDArray[np.bool_]:
        """(n,) True where the edge cuts the hole: more than a band (mm) lies on either side."""
        over = np.maximum(band, _TWICE)
        crossing: NDArray[np.bool_] = (self.distance < -band) & (
            self.distance > over - 2 * self.radius
        )
        return crossing


class Stretches(Struct, frozen=True, eq=False):
    """Stretches of one board's outer edge that are free of copper and holes.

    Attributes:
        length: (n,) mm each, in no order; a stretch ends at a corner.
        girth: length of the whole outer edge in mm.
        at: middle of the board's box.
    """

    length: Floats
    girth: float
    at: tuple[float, float]


@lru_cache(maxsize=4)  # profiles may ask for different reaches
def copper_of(board: Board, reach: float = REACH) -> EdgeCopper | None:
    """Copper of the outer sides within a reach (mm) of the edge or beyond it; None without edge."""
    contour = contour_of(board)
    if contour is None:
        return None
    found = [_none(reach)]
    for index, layer in enumerate(board.copper):
        if layer.side in ("top", "bottom") and len(layer.islands):
            found.append(_layer(contour, layer, index, board.tolerance, reach))
    columns = ("layer", "island", "object", "at", "distance", "lost", "parted")
    joined = {name: np.concatenate([getattr(one, name) for one in found]) for name in columns}
    return EdgeCopper(**joined, reach=reach)


def _none(reach: float) -> EdgeCopper:
    whole, flags = np.zeros(0, np.int64), np.zeros(0, bool)
    return EdgeCopper(whole, whole, whole, np.zeros((0, 2)), np.zeros(0), flags, flags, reach)


def _layer(
    contour: Contour, layer: CopperLayer, index: int, tolerance: float, reach: float
) -> EdgeCopper:
    shapely.prepare(contour.area)
    inside = shapely.covers(contour.area, layer.islands)
    beyond = _beyond(contour, layer.islands, np.flatnonzero(~inside))
    near = _near(contour, layer.islands, reach, beyond[0])
    island, contact, at, distance, edge, weight = (
        np.concatenate(both) for both in zip(near, beyond, strict=True)
    )
    asked, of = np.unique(np.column_stack([island, contact]), axis=0, return_inverse=True)
    standing = Standing(layer, tolerance).at(asked[:, 1:], asked[:, 0].astype(np.int64))
    standing = standing[of.reshape(-1)]
    kind = np.append(layer.objects.kind, _NONE).astype(np.int64)[standing]
    # A pour may be drawn with many strokes, and a pad lies at one place of the edge.
    thing = np.where(kind == Kind.POUR, -2, standing)
    side = np.where(kind == Kind.PAD, _NONE, contour.side[edge])
    row, least, tied, group = _nearest(np.column_stack([island, thing, side]), at, distance, weight)
    at_corner = weight[row] < _ALONG
    tied, group = tied[at_corner[group]], group[at_corner[group]]
    places = np.append(row, tied), np.append(np.arange(len(row)), group)
    kept = _once(np.column_stack([island, thing]), at, least, *places)
    over = np.isin(island[row], beyond[0])
    kept &= (row >= len(near[0])) | ~over | ~_meets(contour, layer.islands, island[row], at[row])
    row, least = row[kept], least[kept]
    lost = ~inside & ~shapely.intersects(contour.area, layer.islands)
    return EdgeCopper(
        layer=np.full(len(row), index),
        island=island[row],
        object=standing[row],
        at=at[row],
        distance=least,
        lost=lost[island[row]],
        parted=_parted(contour, layer, island[row], standing[row], least),
        reach=reach,
    )


def _parted(
    contour: Contour, layer: CopperLayer, island: Ints, row: Ints, distance: Floats
) -> NDArray[np.bool_]:
    """Whether copper that reaches over the edge loses more than a rim of itself."""
    parted = np.zeros(len(row), bool)
    over = np.flatnonzero(distance < -_SLIVER)
    once, of = np.unique(island[over], return_inverse=True)
    kept = shapely.get_num_geometries(shapely.intersection(layer.islands[once], contour.area))
    parted[over] = (kept > 1)[of]
    over = over[row[over] >= 0]
    objects, rows = layer.objects, row[over]
    kind, pen = objects.kind[rows], objects.pen[rows]
    parted[over] |= (kind == Kind.TRACE) & (pen > 0) & (-distance[over] > pen / 2)
    pads = over[kind == Kind.PAD]
    shapes = objects.shape[row[pads]]
    parted[pads] |= shapely.area(shapely.difference(shapes, contour.area)) > (
        shapely.area(shapes) / 2 + _SLIVER
    )
    return parted


Found = tuple[Any, ...]
"""Columns: island, where to ask what stands there, point of the copper, distance, row of the edge,
length alongside."""


def _near(contour: Contour, islands: Shapes, reach: float, crossing: Ints) -> Found:
    """Every segment of the copper's boundary within reach of a segment of the edge, inside it.

    Segments that meet the edge count only where their island is none of those that cross it.
    """
    edge = contour.segments
    close = np.unique(edge.tree.query(islands, "dwithin", distance=reach)[0])
    copper = Segments.of(islands[close])
    one, other = edge.tree.query(copper.lines, "dwithin", distance=reach)
    distance = shapely.distance(copper.lines[one], edge.lines[other])
    lies_on = distance == 0
    lies_on &= ~np.isin(close[copper.island[one]], crossing)
    apart = (distance > 0) | lies_on
    one, other, distance, lies_on = one[apart], other[apart], distance[apart], lies_on[apart]
    start, end = copper.a[one], copper.b[one]
    # Segments that run alongside the edge are nearest to it in the middle of what they share.
    along = edge.direction[other]
    t0 = dot(start - edge.a[other], along)
    t1 = dot(end - edge.a[other], along)
    low = np.clip(np.minimum(t0, t1), 0, edge.length[other])
    high = np.clip(np.maximum(t0, t1), 0, edge.length[other])
    middle = edge.a[other] + ((low + high) / 2)[:, None] * along
    lines = copper.lines[one]
    facing = shapely.get_coordinates(shapely.shortest_line(lines, shapely.points(middle)))
    nearest = shapely.get_coordinates(shapely.shortest_line(lines, edge.lines[other]))
    facing, nearest = facing[::2], nearest[::2]
    beside = np.hypot(*(facing - middle).T) <= distance + _PLATEAU / 3
    at = np.where(beside[:, None], facing, nearest)
    inside = shapely.contains_xy(contour.area, at) | lies_on
    contact = (copper.a[one] + copper.b[one]) / 2
    weight = np.where(beside, high - low, 0.0)
    columns = close[copper.island[one]], contact, at, distance, other, weight
    return tuple(column[inside] for column in columns)


def _beyond(contour: Contour, islands: Shapes, rows: Ints) -> Found:
    """The parts of islands beyond the edge, each at its point farthest from the edge."""
    parts, owner = shapely.get_parts(
        shapely.difference(islands[rows], contour.area), return_index=True
    )
    solid = (shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > _SPECK)
    parts, owner = parts[solid], rows[owner[solid]]
    points, part = _samples(parts)
    place, edge, depth = _to_edge(contour, shapely.points(points))
    points, part = points[place], part[place]
    order = np.lexsort((-depth, part))
    _, first = np.unique(part[order], return_index=True)
    deepest = order[first][depth[order[first]] > _SLIVER]
    points, island = points[deepest], owner[part[deepest]]
    rims = shapely.boundary(islands[island])
    contact = shapely.get_coordinates(shapely.shortest_line(rims, shapely.points(points)))[::2]
    return island, contact, points, -depth[deepest], edge[deepest], np.zeros(len(deepest))


def _samples(parts: Shapes) -> tuple[Floats, Ints]:
    """Points of the boundaries and within, and the index of the part of each."""
    size = np.ptp(shapely.bounds(parts).reshape(-1, 2, 2), axis=1).max(1)
    step = np.maximum(_SAMPLE, size / _MOST_SAMPLES)
    points, part = shapely.get_coordinates(shapely.segmentize(parts, step), return_index=True)
    disk = shapely.maximum_inscribed_circle(parts, tolerance=_SLIVER)
    found = [points, shapely.get_coordinates(disk)[::2]]
    of = [part, np.arange(len(parts))]
    for index, (x0, y0, x1, y1) in enumerate(shapely.bounds(parts).tolist()):
        grid = np.meshgrid(np.arange(x0, x1, step[index]), np.arange(y0, y1, step[index]))
        x, y = (axis.ravel() for axis in grid)
        within = shapely.contains_xy(parts[index], x, y)
        found.append(np.column_stack([x, y])[within])
        of.append(np.full(int(within.sum()), index))
    return np.concatenate(found), np.concatenate(of)


def _to_edge(contour: Contour, shapes: Shapes) -> tuple[Ints, Ints, Floats]:
    """Index of each shape, the nearest row of the edge, the distance."""
    (shape, edge), distance = contour.segments.tree.query_nearest(
        shapes, return_distance=True, all_matches=False
    )
    return shape, edge, distance


def _nearest(
    keys: Ints, at: Floats, distance: Floats, weight: Floats
) -> tuple[Ints, Floats, Ints, Ints]:
    """One row for each key and the least distance: of equal ones the longest alongside.

    Of those the one in the middle of them, which does not depend on how the board lies. Then all
    rows that are equally near, and the key of each as an index into the first.
    """
    _, group = np.unique(keys, axis=0, return_inverse=True)
    group = group.reshape(-1)
    count = int(group.max()) + 1 if len(group) else 0
    least = np.full(count, np.inf)
    np.minimum.at(least, group, distance)
    tied = np.flatnonzero(distance <= least[group] + _PLATEAU)
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, group[tied], at[tied])
    np.maximum.at(high, group[tied], at[tied])
    off = np.hypot(*(at[tied] - ((low + high) / 2)[group[tied]]).T)
    order = tied[np.lexsort((off, -np.round(weight[tied], 3), group[tied]))]
    _, first = np.unique(group[order], return_index=True)
    return order[first], least, tied, group[tied]


def _once(keys: Ints, at: Floats, least: Floats, row: Ints, group: Ints) -> NDArray[np.bool_]:
    """(n,) False for a side of the edge, if a place of it is one of another side that is told.

    ``row`` are the places of all sides, in ``group`` the side of each: at a corner of the edge
    every place that is as near, for which of them would be told hangs on how the board lies.
    """
    points = shapely.points(at[row])
    one, other = shapely.STRtree(points).query(points, "dwithin", distance=_SAME)
    alike = (keys[row[one]] == keys[row[other]]).all(axis=1)
    place = components(len(least), group[one[alike]], group[other[alike]])
    order = np.lexsort((least, place))
    once = np.zeros(len(least), bool)
    once[order[np.unique(place[order], return_index=True)[1]]] = True
    return once


def _meets(contour: Contour, islands: Shapes, island: Ints, at: Floats) -> NDArray[np.bool_]:
    """(n,) whether an island that is over the edge crosses it at a place: it isn't near there."""
    used, of = np.unique(island, return_inverse=True)
    cut = shapely.intersection(shapely.boundary(islands[used]), contour.lines)
    away = shapely.distance(cut[of.reshape(-1)], shapely.points(at))
    meets: NDArray[np.bool_] = away <= _MEETS  # nan where nothing crosses
    return meets


@lru_cache(maxsize=1)
def holes_of(board: Board) -> EdgeHoles | None:
    """The distance of every hole and slot to the edge, None without an edge."""
    contour = contour_of(board)
    if contour is None:
        return None
    radius = np.array([hole.diameter / 2 for hole in board.holes])
    paths = paths_of(board.holes)
    _, edge, apart = _to_edge(contour, paths)
    nearest = shapely.shortest_line(paths, contour.segments.lines[edge])
    at = shapely.get_coordinates(nearest)[::2]
    within = shapely.intersects_xy(contour.area, at)
    corner = np.zeros(len(paths), bool)
    inside = contour.segments.a[contour.turn < -STEP]
    corner[shapely.STRtree(shapely.points(inside)).query(paths, "dwithin", distance=radius)[0]] = (
        True
    )
    return EdgeHoles(np.where(within, apart, -apart) - radius, at, corner, radius)


@lru_cache(maxsize=4)
def free_stretches(board: Board, clearance: float) -> tuple[Stretches, ...]:
    """Where the outer edge of each board keeps copper and holes farther than a clearance (mm).

    A line of copper that shows the edge is no copper to keep from: the outline cutter takes it.
    """
    contour = contour_of(board)
    if contour is None:
        return ()
    trails = {trail.side: trail for trail in trails_of(board) if trail.share >= WHOLE}
    islands = [np.empty(0, object)]
    for layer in board.copper:
        kept = np.full(len(layer.islands), layer.side in ("top", "bottom"))
        if (trail := trails.get(layer.side)) is not None:
            reach = trail.pen / 2 + trail.apart + _BESIDE
            line = shapely.buffer(contour.lines, reach, quad_segs=_QUARTER)
            kept &= ~shapely.covered_by(layer.islands, line)
        islands.append(layer.islands[kept])
    copper = np.concatenate(islands)
    paths = paths_of(board.holes)
    radius = np.array([hole.diameter / 2 for hole in board.holes])
    corners = shapely.buffer(shapely.points(contour.corners), _CORNER)
    found = []
    for outline in contour.boards:
        ring = shapely.get_exterior_ring(outline)
        shapely.prepare(ring)
        band = shapely.buffer(ring, clearance + ERROR)
        near = copper[shapely.dwithin(ring, copper, clearance)]
        holes = shapely.dwithin(ring, paths, radius + clearance)
        taken = [
            *shapely.buffer(shapely.intersection(near, band), clearance, quad_segs=_QUARTER),
            *shapely.buffer(paths[holes], (radius + clearance)[holes], quad_segs=_QUARTER),
            *corners[shapely.intersects(ring, corners)],
        ]
        free = shapely.line_merge(shapely.difference(ring, shapely.union_all(taken)))
        x0, y0, x1, y1 = outline.bounds
        length = shapely.length(shapely.get_parts(free))
        middle = (x0 + x1) / 2, (y0 + y1) / 2
        found.append(Stretches(length[length > 0], float(ring.length), middle))
    return tuple(found)
