"""Whose a hole is: the nets of the pads and the copper that stand about its middle."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.holes.paths import paths_of
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Shapes

    Bools = NDArray[np.bool_]

_MIDDLE = 0.05  # mm; a pad whose middle is this near to a hole's is the hole's own
_GONE = 0.01  # mm; an island that comes out of a hole by less is drilled away


class Paths(Struct, frozen=True, eq=False):
    """Path (Point or LineString), middle (Point) and radius (mm) of every hole."""

    path: Shapes
    middle: Shapes
    radius: Floats

    @classmethod
    @lru_cache(maxsize=1)
    def of(cls, board: Board) -> Paths:
        """The paths of a board's holes."""
        path = paths_of(board.holes)
        middle, slot = path.copy(), shapely.get_type_id(path) == shapely.GeometryType.LINESTRING
        middle[slot] = shapely.line_interpolate_point(path[slot], 0.5, normalized=True)
        return cls(path, middle, np.array([hole.diameter / 2 for hole in board.holes]))

    def swept(self, rows: Ints, more: float = 0.0) -> Shapes:
        """What the holes of some rows take away, grown by ``more`` mm."""
        area: Shapes = shapely.buffer(self.path[rows], self.radius[rows] + more, quad_segs=32)
        return area


class About(Struct, frozen=True, eq=False):
    """What stands about the middles of holes on one layer.

    Attributes:
        hole, row: (k,) a hole and an object that is a pad about it, clear inner parts counted in;
            by hole, the hole's own pad first.
        island: (k,) the island of that pad.
        centred: (k,) the pad's middle is the hole's.
        standing: (holes,) the island in which each middle stands, -1 in none.
        gone: (islands,) nothing of the island is left once the holes are drilled.
    """

    hole: Ints
    row: Ints
    island: Ints
    centred: Bools
    standing: Ints
    gone: Bools

    @classmethod
    def of(cls, layer: CopperLayer, holes: Paths) -> About:
        """What stands about the holes; islands that are drilled away whole count for nothing."""
        gone = drilled_away(layer, holes)
        standing = islands_at(layer, holes.middle)
        standing[np.append(gone, False)[standing]] = -1

        objects, known = layer.objects, layer.island_of >= 0
        known &= ~np.append(gone, False)[layer.island_of]
        rows = np.flatnonzero(objects.dark & (objects.kind == Kind.PAD) & known)
        shapes = filled(objects.shape[rows])
        hole, found = shapely.STRtree(shapes).query(holes.middle, "dwithin", distance=holes.radius)
        x0, y0, x1, y1 = shapely.bounds(shapes[found]).T
        off = shapely.distance(shapely.points((x0 + x1) / 2, (y0 + y1) / 2), holes.middle[hole])
        about = shapely.intersects(shapes[found], holes.middle[hole]) | (off <= holes.radius[hole])
        hole, found, off = hole[about], found[about], off[about]
        order = np.lexsort((rows[found], shapely.area(shapes[found]), off > _MIDDLE, hole))
        row = rows[found[order]]
        island = layer.island_of[row]
        return cls(hole[order], row, island, off[order] <= _MIDDLE, standing, gone)


class HoleNets(Struct, frozen=True, eq=False):
    """The nets of holes, one pair of hole and net a row, ascending; ``count`` nets in all."""

    hole: Ints
    net: Ints
    count: int

    @classmethod
    def of(cls, board: Board, abouts: Sequence[About]) -> HoleNets:
        """The nets of each hole by the best that stands about it on any layer.

        Best are pads about its very middle, then other pads, then any copper in which the middle
        stands, unless nothing says that the hole has to do with copper.
        """
        plated = np.array([hole.plated is True for hole in board.holes], dtype=bool)
        joins = plated | (uses_of(board).use != Use.MECHANICAL)
        best = np.full(len(joins), len(_RANKS))
        found = []
        for layer, about in zip(board.copper, abouts, strict=True):
            inside = np.flatnonzero((about.standing >= 0) & joins)
            rank = np.where(about.centred, *_RANKS[:2])
            found.append(np.stack([about.hole, layer.net[about.island], rank]))
            there = layer.net[about.standing[inside]]
            found.append(np.stack([inside, there, np.full(len(inside), _RANKS[2])]))
        hole, net, rank = np.concatenate([np.empty((3, 0), np.int64), *found], axis=1)
        np.minimum.at(best, hole, rank)
        kept = rank == best[hole]
        pairs = np.unique(np.column_stack([hole[kept], net[kept]]), axis=0)
        count = 1 + max((int(layer.net.max(initial=0)) for layer in board.copper), default=0)
        return cls(pairs[:, 0], pairs[:, 1], count)

    def has(self, hole: Ints, net: Ints) -> Bools:
        """Whether each net is one of each hole's."""
        held: Bools = np.isin(hole * self.count + net, self.hole * self.count + self.net)
        return held


_RANKS = (0, 1, 2)  # own pad, other pad, copper


def drilled_away(layer: CopperLayer, holes: Paths) -> Bools:
    """(islands,) whether nothing of an island is left once the holes are drilled."""
    gone = np.zeros(len(layer.islands), bool)
    x0, y0, x1, y1 = shapely.bounds(layer.islands).T
    longest = 2 * holes.radius.max(initial=0.0) + shapely.length(holes.path).max(initial=0.0)
    small = np.flatnonzero(np.maximum(x1 - x0, y1 - y0) <= longest + 2 * _GONE)
    if len(small):
        tree = shapely.STRtree(layer.islands[small])
        hole, place = tree.query(holes.path, "dwithin", distance=holes.radius)
        # What comes out of the box round a hole comes out of the hole.
        room = np.array([[-1], [-1], [1], [1]]) * (holes.radius[hole] + 2 * _GONE)
        outer = shapely.bounds(holes.path[hole]).T + room
        low_x, low_y, high_x, high_y = shapely.bounds(layer.islands[small[place]]).T - outer
        fits = (low_x >= 0) & (low_y >= 0) & (high_x <= 0) & (high_y <= 0)
        hole, place = hole[fits], place[fits]
        within = shapely.covers(holes.swept(hole, _GONE), layer.islands[small[place]])
        gone[small[place[within]]] = True
    return gone


def filled(shapes: Shapes) -> Shapes:
    """Polygons without the holes in them; other shapes as they are."""
    whole = shapes.copy()
    ringed = shapely.get_num_interior_rings(shapes) > 0
    whole[ringed] = shapely.polygons(shapely.get_exterior_ring(shapes[ringed]))
    return whole


def islands_at(layer: CopperLayer, shapes: Shapes) -> Ints:
    """(n,) the island that each point meets, -1 where there is none."""
    at = np.full(len(shapes), -1)
    point, island = meeting(layer, shapes)
    at[point] = island
    return at


def meeting(layer: CopperLayer, shapes: Shapes) -> tuple[Ints, Ints]:
    """Pairs of a shape and an island that it meets."""
    if not len(shapes) or not len(layer.islands):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    shapely.prepare(layer.islands)
    shape, island = shapely.STRtree(layer.islands).query(shapes)
    met = shapely.intersects(layer.islands[island], shapes[shape])
    return shape[met], island[met]
