"""Holes against the copper of the outer sides: rings of their own copper, distance of other copper.

Own copper is the island of the hole's net that stands round the hole's middle. Where the middle is
clear, because the pad is drawn as a ring or cleared for the drill, that inner ring is no edge of
copper: the drill takes it away.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.segments import boundary_of
from checker.measure.boundary.standing import Standing
from checker.measure.holes.owners import About, HoleNets, Paths, filled, islands_at, meeting
from checker.measure.holes.pads import outer

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints

    Bools = NDArray[np.bool_]

ERROR = 1e-5
"""Bound in mm on the error of ``ring``, ``half`` and ``foreign`` of round holes and of
straight slots, against the copper as the board holds it."""

REACH = 1.0
"""How far from the edge of a hole copper of other nets is looked for, mm."""

_FIRST, _MORE = (
    0.5,
    4.0,
)  # how far an edge is looked for at first, mm, and how many times as far next
_RIM = 128  # points looked at round a hole


class Drilling(Struct, frozen=True, eq=False):
    """Every hole of a board against its copper; columns of two are top and bottom, lengths in mm.

    Attributes:
        at: (n, 2) middle of the hole or of the slot's path.
        net: (n,) number of the net of the pads about it on any side, -1 without one; the least
            where pads of several nets stand there.
        island: (n, 2) index into that side's islands of the hole's own copper, -1 without any.
        ring: (n, 2) from the hole's edge to the nearest edge of that copper: negative where the
            hole breaks out, less than -D/2 where its middle, or an end of a slot, is off the
            copper; nan without any.
        toward: (n, 2, 2) unit vector to where the ring is least, zeros where there is none.
        pad: (n, 2) index into that side's objects of the hole's own pad, -1 where there is none.
        half: (n, 2) from the hole's path to the nearest edge of that pad alone; nan without one.
        breakout: (n, 2) degrees of the hole's rim that are off its own copper.
        foreign: (n, 2) from the hole's edge to the nearest copper of another net, of any for a hole
            without a net; negative where the hole cuts it, -D/2 where the path meets it; inf
            beyond `REACH`.
        foreign_island, foreign_object: (n, 2) indices of that copper, -1 where there is none.
        foreign_at: (n, 2, 2) where that copper is nearest.
        sheet: (n, 2) for a hole with a net and no copper of its own on a side with copper: which
            piece of what nobody drew it stands in, 0 outside all islands, else a number per hole
            in an island; -1 for all others.
        uncovered: (n, 2) for the same, how far from any copper the hole's rim gets, within
            0.013 D; nan for all others.
        covered: (n,) the middle is under the body of a part, on either side.
    """

    at: Floats
    net: Ints
    island: Ints
    ring: Floats
    toward: Floats
    pad: Ints
    half: Floats
    breakout: Floats
    foreign: Floats
    foreign_island: Ints
    foreign_object: Ints
    foreign_at: Floats
    sheet: Ints
    uncovered: Floats
    covered: Bools

    def __len__(self) -> int:
        return len(self.net)


@lru_cache(maxsize=1)
def drilling_of(board: Board) -> Drilling:
    """What every hole of a board meets on the outer sides."""
    holes = Paths.of(board)
    n = len(holes.radius)
    abouts = [About.of(layer, holes) for layer in board.copper]
    nets = HoleNets.of(board, abouts)
    net = np.full(n, -1)
    net[nets.hole[::-1]] = nets.net[::-1]  # ascending by net: the least stays
    found = Drilling(
        shapely.get_coordinates(holes.middle),
        net,
        *(np.full((n, 2), -1), np.full((n, 2), np.nan), np.zeros((n, 2, 2))),
        *(np.full((n, 2), -1), np.full((n, 2), np.nan), np.zeros((n, 2))),
        *(np.full((n, 2), np.inf), np.full((n, 2), -1), np.full((n, 2), -1)),
        *(np.zeros((n, 2, 2)), np.full((n, 2), -1), np.full((n, 2), np.nan)),
        _under_parts(board, holes),
    )
    for column, layer in outer(board):
        if n and len(layer.islands):
            side = _Side(board, layer, column, holes, nets, abouts[board.copper.index(layer)])
            side.own(found)
            side.foreign(found)
            side.undrawn(found)
    return found


class _Side:
    """One layer with a tree over its edges; fills that side's columns."""

    def __init__(
        self,
        board: Board,
        layer: CopperLayer,
        column: int,
        holes: Paths,
        nets: HoleNets,
        about: About,
    ) -> None:
        self.layer, self.column, self.holes, self.nets = layer, column, holes, nets
        self.about = about
        self.standing = Standing(layer, board.tolerance)
        self.edges = boundary_of(layer)
        rings, owner = shapely.get_rings(self.edges.polygons, return_index=True)
        inner = np.r_[False, owner[1:] == owner[:-1]]  # the first ring of each is the outer one
        self.inner = np.flatnonzero(inner)  # numbers of rings as the edges know them
        self.inner_of = owner[self.inner]
        self.clear = shapely.polygons(rings[self.inner])
        (x0, y0), (x1, y1) = shapely.get_coordinates(
            shapely.envelope(shapely.geometrycollections([*layer.islands, *holes.path]))
        )[[0, 2]]
        self.extent = float(abs(x1 - x0) + abs(y1 - y0))  # nothing lies farther apart

    def nearest(
        self, hole: Ints, counts: Callable[[Ints, Ints], Bools], reach: Floats
    ) -> tuple[Floats, Ints]:
        """The nearest edge to the path of each hole of those that count, and how far it is.

        Args:
            hole: (k,) holes.
            counts: of pairs of place in ``hole`` and edge, those that do.
            reach: (k,) how far to look, mm; inf and -1 where nothing is so near.
        """
        far, edge = np.full(len(hole), np.inf), np.full(len(hole), -1)
        rest = np.arange(len(hole))
        within = np.minimum(self.holes.radius[hole] + _FIRST, reach)
        while len(rest):
            at, row = self._about(hole[rest], within[rest])
            mine = counts(rest[at], row)
            at, row = at[mine], row[mine]
            distance = shapely.distance(self.holes.path[hole[rest[at]]], self.edges.lines[row])
            least = within[rest]
            np.minimum.at(least, at, distance)
            near = distance == least[at]
            at, row = at[near], row[near]
            order = np.lexsort((row, at))
            found, first = np.unique(at[order], return_index=True)
            far[rest[found]], edge[rest[found]] = least[found], row[order[first]]
            rest = rest[(edge[rest] < 0) & (within[rest] < reach[rest])]
            within[rest] = np.minimum(within[rest] * _MORE, reach[rest])
        return far, edge

    def _about(self, hole: Ints, within: Floats) -> tuple[Ints, Ints]:
        """Pairs of a place in ``hole`` and an edge, all within so many mm of its path and more.

        Most edges about a hole are of its own pad, and which do not count is sooner known than how
        far they are.
        """
        x0, y0, x1, y1 = shapely.bounds(self.holes.path[hole]).T
        low, high = [x0 - within, y0 - within], [x1 + within, y1 + within]
        boxes = shapely.linestrings(np.stack([low, high]).transpose(2, 0, 1))  # of such a diagonal
        at, row = self.edges.tree.query(boxes)
        return at, row

    def own(self, to: Drilling) -> None:
        """Island, ring, direction, pad and break-out."""
        holes, column, net, about = self.holes, self.column, self.layer.net, self.about
        every, standing = np.arange(len(to)), about.standing
        mine = self.nets.has(about.hole, net[about.island])
        hole, first = np.unique(about.hole[mine], return_index=True)
        row, island = about.row[mine][first], about.island[mine][first]
        to.island[hole, column] = island
        at = (standing >= 0) & self.nets.has(every, net[standing])
        to.island[at, column] = standing[at]  # what stands there goes before what stands about it
        kept = to.island[hole, column] == island
        hole, row = hole[kept], row[kept]
        to.pad[hole, column] = row
        shapes = filled(self.layer.objects.shape[row])
        depth = shapely.distance(holes.path[hole], shapely.boundary(shapes))
        inside = shapely.intersects(shapes, holes.middle[hole])
        to.half[hole, column] = np.where(inside, depth, -depth)
        self._ring(to)

    def _ring(self, to: Drilling) -> None:
        holes, column = self.holes, self.column
        hole = np.flatnonzero(to.island[:, column] >= 0)
        island = to.island[hole, column]
        taken, inside = self._taken(hole, island)
        inside |= self.about.standing[hole] == island
        far, edge = self._edge_of_own(hole, island, taken, inside)
        inside &= far > 0
        ends = shapely.get_coordinates(
            shapely.shortest_line(holes.path[hole], self.edges.lines[edge])
        )
        way = (ends[1::2] - ends[::2]) * np.where(inside, 1.0, -1.0)[:, None]
        length = np.hypot(*way.T)[:, None]
        to.toward[hole, column] = np.divide(way, length, out=np.zeros_like(way), where=length > 0)
        to.ring[hole, column] = far - holes.radius[hole]
        for k in np.flatnonzero(~inside | (far < holes.radius[hole])).tolist():
            clear = [self.clear[ring] for ring in taken.get(k, ())]
            copper = shapely.union_all([self.edges.polygons[island[k]], *clear])
            if not inside[k]:
                ends = shapely.points(shapely.get_coordinates(holes.path[hole[k]]))
                depth = shapely.distance(copper, ends).max()
                to.ring[hole[k], column] = -depth - holes.radius[hole[k]]
            rim = shapely.boundary(holes.swept(hole[[k]])[0])
            off = shapely.length(shapely.difference(rim, copper)) / shapely.length(rim)
            to.breakout[hole[k], column] = 360 * off

    def _taken(self, hole: Ints, island: Ints) -> tuple[dict[int, list[int]], Bools]:
        """Clear parts of the own island that are the hole's: about its middle or within its rim.

        By place in ``hole``, as places in ``clear``; and whether the middle is in one.
        """
        taken: dict[int, list[int]] = {}
        around = np.zeros(len(hole), bool)
        if not len(self.clear):
            return taken, around
        path, radius = self.holes.path[hole], self.holes.radius[hole]
        place, ring = shapely.STRtree(self.clear).query(path, "dwithin", distance=radius)
        own = self.inner_of[ring] == island[place]
        place, ring = place[own], ring[own]
        within = shapely.covers(self.clear[ring], self.holes.middle[hole[place]])
        around[place[within]] = True
        rest = np.flatnonzero(~within)
        rim = self.holes.swept(hole[place[rest]], ERROR)
        within[rest] = shapely.covers(rim, self.clear[ring[rest]])
        for one, clear in zip(place[within].tolist(), ring[within].tolist(), strict=True):
            taken.setdefault(one, []).append(clear)
        return taken, around

    def _edge_of_own(
        self, hole: Ints, island: Ints, taken: dict[int, list[int]], inside: Bools
    ) -> tuple[Floats, Ints]:
        """The nearest edge of each hole's own copper that is none of those taken."""
        skip = {(k, int(self.inner[ring])) for k, rings in taken.items() for ring in rings}
        keys = np.array(sorted(k * len(self.edges) + ring for k, ring in skip), np.int64)
        rest = np.arange(len(hole))

        def counts(place: Ints, row: Ints) -> Bools:
            k = rest[place]
            mine: Bools = self.edges.island[row] == island[k]
            return mine & ~np.isin(k * len(self.edges) + self.edges.ring[row], keys)

        far, edge = self.nearest(hole, counts, self.holes.radius[hole] + _FIRST)
        # From within copper its own edge is nearer than any other, however far that is.
        plain = np.setdiff1d(np.flatnonzero(inside & (edge < 0)), np.array(list(taken), np.int64))
        if len(plain):
            (at, row), distance = self.edges.tree.query_nearest(
                self.holes.path[hole[plain]], return_distance=True, all_matches=False
            )
            far[plain[at]], edge[plain[at]] = distance, row
        rest = np.flatnonzero((edge < 0) | (self.edges.island[edge] != island))
        far[rest], edge[rest] = self.nearest(hole[rest], counts, np.full(len(rest), self.extent))
        return far, edge

    def foreign(self, to: Drilling) -> None:
        """The nearest copper of another net."""
        holes, column = self.holes, self.column
        every = np.arange(len(to))
        reach = holes.radius + REACH

        def counts(place: Ints, row: Ints) -> Bools:
            island = self.edges.island[row]
            return ~self.about.gone[island] & ~self.nets.has(place, self.layer.net[island])

        far, edge = self.nearest(every, counts, reach)
        near = np.flatnonzero(edge >= 0)
        ends = shapely.shortest_line(self.edges.lines[edge[near]], holes.path[near])
        to.foreign[near, column] = far[near] - holes.radius[near]
        to.foreign_at[near, column] = shapely.get_coordinates(ends)[::2]
        to.foreign_island[near, column] = self.edges.island[edge[near]]
        hole, island = meeting(self.layer, holes.path)
        other = ~self.about.gone[island] & ~self.nets.has(hole, self.layer.net[island])
        hole, island = hole[other], island[other]
        met = shapely.intersection(holes.path[hole], self.layer.islands[island])
        to.foreign[hole, column] = -holes.radius[hole]
        to.foreign_at[hole, column] = shapely.get_coordinates(shapely.point_on_surface(met))
        to.foreign_island[hole, column] = island
        near = np.flatnonzero(to.foreign_island[:, column] >= 0)
        to.foreign_object[near, column] = self.standing.at(
            to.foreign_at[near, column], to.foreign_island[near, column]
        )

    def undrawn(self, to: Drilling) -> None:
        """Holes that pass where nothing of their net is drawn."""
        column = self.column
        hole = np.flatnonzero((to.net >= 0) & (to.island[:, column] < 0))
        if not len(hole):
            return
        sheet = np.zeros(len(hole), np.int64)
        at, ring = shapely.STRtree(self.clear).query(self.holes.middle[hole], "intersects")
        order = np.lexsort((-shapely.area(self.clear[ring]), at))
        sheet[at[order]] = ring[order] + 1  # the least that is round it stays
        to.sheet[hole, column] = sheet
        rim = shapely.boundary(self.holes.swept(hole))
        share = np.arange(_RIM) / _RIM
        points = shapely.line_interpolate_point(rim[:, None], share, normalized=True).reshape(-1)
        (of, _), far = self.edges.tree.query_nearest(
            points, return_distance=True, all_matches=False
        )
        gap = np.zeros(len(points))
        gap[of] = far
        gap[islands_at(self.layer, points) >= 0] = 0.0
        to.uncovered[hole, column] = gap.reshape(-1, _RIM).max(1)


def _under_parts(board: Board, holes: Paths) -> Bools:
    covered = np.zeros(len(holes.radius), bool)
    bodies = np.array([part.cover for part in board.parts or () if part.cover], dtype=object)
    if len(bodies):
        covered[shapely.STRtree(bodies).query(holes.middle, "intersects")[0]] = True
    return covered
