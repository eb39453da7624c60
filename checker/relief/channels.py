"""The way of a pen that opens a gap: as near to one side as that side keeps its copper.

A pen whose middle keeps half its width from what stays clears a slot in which a cutter as wide as
the pen fits. Its way is the edge of what the keeper of the gap occupies once grown by half the pen:
it takes nothing from the keeper, and from the other side what is missing. Where the other side must
stay, the way gives way towards the keeper. It is as long as the slot would be too narrow.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.clipping import clipped
from checker.measure.gaps.window import subdivide
from checker.relief.ways import Box, Clips, between, grown

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes
    from checker.relief.limits import Kept, Tier

QUARTER = 16  # chords a quarter circle
_FREE = 0.002  # mm: so much beyond free standing the way begins and ends
EXACT = 0.0015  # mm by which chords may bring the pen nearer to what stays
_SPECK = 1e-5  # mm2
_CLEAR = 0.0005  # mm that the way keeps off beyond half the pen, lest chords nibble at what stays
_STRAIGHT = 3e-4  # mm that a way may be simplified by


class Sheet:
    """The copper of one layer, and ways through it for one pen.

    Attributes:
        added: copper that turned out to have to stay as well, with the island of each.
    """

    def __init__(
        self, islands: Shapes, kept: dict[Tier, Kept], pen: float, like: Sheet | None = None
    ) -> None:
        """``like`` is a sheet of the same copper for another pen, to share what both need."""
        self.islands, self.kept, self.pen = islands, kept, pen
        self.added: list[tuple[shapely.Geometry, int]] = []
        self._pieces: dict[int, Shapes] = {}
        if like is not None:
            self._pieces, self.added = like._pieces, like.added
        self._boxes = np.zeros((0, 4))  # of what was added
        self._ways: dict[tuple[int, int, float, Tier, int], Shapes] = {}
        # What was asked last, and how much had been added by then: most gaps ask the same again.
        self._asked: dict[tuple[int, int, float, Tier], tuple[int, Tier, Shapes]] = {}
        self._barred: dict[tuple[Tier, int], tuple[int, list[shapely.Geometry]]] = {}
        self._grown: dict[int, shapely.Geometry] = {}
        self._joined: dict[tuple[Tier, bytes], shapely.Geometry] = {}
        self._alike: dict[tuple[Tier, Box], Tier] = {}
        self._taboo: dict[tuple[Tier, int], Ints] = {}
        self._near: dict[tuple[Tier, int], NDArray[np.bool_]] = {}
        self._free: dict[tuple[int, tuple[int, ...]], Shapes] = {}

    @cached_property
    def _clips(self) -> list[Clips]:
        return [Clips(island) for island in self.islands]

    def touched(self, strokes: Shapes) -> tuple[Ints, Ints]:
        """Pairs of stroke and island that it takes of."""
        near = np.unique(self._tree.query(strokes)[1])
        cut = [self._pieces_of(island) for island in near.tolist()]
        if not cut:
            return np.zeros(0, np.int64), np.zeros(0, np.int64)
        owner, pieces = np.repeat(near, [len(some) for some in cut]), np.concatenate(cut)
        stroke, piece = shapely.STRtree(pieces).query(strokes, "intersects")
        takes = shapely.area(shapely.intersection(strokes[stroke], pieces[piece])) > _SPECK
        return stroke[takes], owner[piece[takes]]

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.islands)

    def _pieces_of(self, island: int) -> Shapes:
        if island not in self._pieces:
            self._pieces[island] = subdivide(self.islands[island])
        return self._pieces[island]

    def way(
        self,
        between: tuple[int, int],
        share: float,
        tier: Tier,
        ends: tuple[Floats, Floats],
        *,
        partly: bool = False,
    ) -> shapely.LineString | None:
        """The way through the gap between a point of the keeper and one of the giver.

        Args:
            between: keeper and giver.
            share: mm that the keeper gives.
            tier: who may be asked.
            ends: the points.
            partly: take what of the way is free where what stays leaves no room for all of it.

        None where there is no room for the pen at the gap, or somewhere on the way.
        """
        tier, ways = self._between(*between, share, tier)
        if not len(ways):
            return None
        if len(ways) == 1 and not partly and self._in_the_way(ways[0], tier):
            return None
        (x, y), (ahead_x, ahead_y) = (end.tolist() for end in ends)
        far = max(math.hypot(ahead_x - x, ahead_y - y), 1e-9)
        dx, dy = (ahead_x - x) / far, (ahead_y - y) / far
        back, on = -share, self.pen / 2 + _FREE + _CLEAR
        probe = shapely.linestrings([(x + back * dx, y + back * dy), (x + on * dx, y + on * dy)])
        way = _through(ways, probe)
        if way is None:
            return None
        taboo = self._in_the_way(way, tier)
        if not taboo or not partly:
            return None if taboo else way
        return _through(self._free_of(way, taboo), probe)

    def _free_of(self, way: shapely.LineString, taboo: list[shapely.Geometry]) -> Shapes:
        """The parts of a way that what stays leaves free."""
        key = id(way), tuple(map(id, taboo))  # all of them stay
        if key not in self._free:
            forbidden = shapely.union_all(
                shapely.buffer(taboo, self.pen / 2 - EXACT / 2, quad_segs=QUARTER)
            )
            self._free[key] = _lines(shapely.line_merge(shapely.difference(way, forbidden)))
        return self._free[key]

    def _in_the_way(self, way: shapely.LineString, tier: Tier) -> list[shapely.Geometry]:
        """What stays and is too near for the pen."""
        stays, reach = self.kept[tier], self.pen / 2 - EXACT
        key = tier, id(way)  # of those in `_ways`, which stay
        then, found = self._barred.get(key, (-1, []))
        if then == len(self.added):
            return found
        if key not in self._taboo:
            self._taboo[key] = stays.beside(way, reach)
        near = (self.added[k][0] for k in self._added_in(grown(way.bounds, reach)).tolist())
        more = [shape for shape in near if shapely.dwithin(shape, way, reach)]
        found = [*stays.shape[self._taboo[key]], *more]
        self._barred[key] = len(self.added), found
        return found

    def _between(self, keeper: int, giver: int, share: float, tier: Tier) -> tuple[Tier, Shapes]:
        """Ways between two islands, and the first tier in which as much stays about them."""
        asked = keeper, giver, share, tier
        then, alike, found = self._asked.get(asked, (-1, tier, None))
        if found is None or then < len(self.added):
            alike, found = self._worked_out(keeper, giver, share, tier)
            self._asked[asked] = len(self.added), alike, found
        return alike, found

    def _worked_out(self, keeper: int, giver: int, share: float, tier: Tier) -> tuple[Tier, Shapes]:
        around = self._bounds[keeper], self._bounds[giver]
        window = between(*around, self.pen / 2 + share + _FREE)
        near = self._added_in(grown(window, self.pen))
        tier = self._first_alike(tier, grown(window, self.pen))
        key = (keeper, giver, round(share, 6), tier, int(near[-1]) if len(near) else -1)
        if key not in self._ways:
            self._ways[key] = self._narrow(keeper, giver, share, tier, window, near)
        return tier, self._ways[key]

    def _first_alike(self, tier: Tier, box: Box) -> Tier:
        """The first tier in which what stays in a box is the same: its ways are the same too."""
        if (tier, box) not in self._alike:
            around = shapely.box(*box)
            stays: dict[Tier, set[int]] = {}
            for one, kept in self.kept.items():
                stays[one] = set(map(id, kept.shape[kept.tree.query(around)]))
                if one == tier:
                    break
            same = next(one for one, shapes in stays.items() if shapes == stays[tier])
            self._alike[tier, box] = same
        return self._alike[tier, box]

    def _narrow(
        self, keeper: int, giver: int, share: float, tier: Tier, window: Box, near: Ints
    ) -> Shapes:
        """Where a pen that follows the keeper's edge meets the giver, and a trifle beyond."""
        reach = self.pen / 2 + share + _FREE
        room = self._room(keeper, giver, share, tier, window)
        more = [
            shapely.buffer(shape, self.pen / 2 + _CLEAR, quad_segs=QUARTER)
            for shape, island in (self.added[k] for k in near.tolist())
            if island != keeper and shapely.dwithin(shape, room, self.pen / 2)
        ]
        rim = shapely.boundary(shapely.difference(room, shapely.union_all(more)) if more else room)
        rim = clipped(rim, window)
        if shapely.is_empty(rim):
            return np.zeros(0, dtype=object)
        copper = self._clips[giver].within(grown(window, reach))
        zone = shapely.buffer(shapely.make_valid(copper), reach, quad_segs=QUARTER)
        lines = shapely.line_merge(shapely.intersection(rim, zone))
        return _lines(shapely.simplify(lines, _STRAIGHT))

    @cached_property
    def _bounds(self) -> list[Box]:
        found: list[Box] = [tuple(box) for box in shapely.bounds(self.islands).tolist()]
        return found

    def _added_in(self, box: Box) -> Ints:
        """Which of what was added lies in a box."""
        if len(self._boxes) < len(self.added):
            self._boxes = shapely.bounds([shape for shape, _ in self.added])
        left, low, right, high = self._boxes.T
        inside = (left < box[2]) & (right > box[0]) & (low < box[3]) & (high > box[1])
        found: Ints = np.flatnonzero(inside)
        return found

    def _room(
        self, keeper: int, giver: int, share: float, tier: Tier, window: Box
    ) -> shapely.Geometry:
        """Where the pen's middle would be too near to the keeper, less what others forbid it.

        It is so in a window, near the giver; what lies beyond may be missing.
        """
        half, stays = self.pen / 2, self.kept[tier]
        copper = self._clips[keeper].within(grown(window, self.pen))
        room = shapely.buffer(shapely.make_valid(copper), half + _CLEAR - share, quad_segs=QUARTER)
        others = stays.tree.query(shapely.box(*grown(room.bounds, half + _CLEAR)))
        others = self._beside(others[stays.island[others] != keeper], giver, tier)
        if share:
            own = stays.tree.query(shapely.box(*grown(window, half)))
            own = self._beside(own[stays.island[own] == keeper], giver, tier)
            room = shapely.union_all([room, *self._wide(stays.shape[own])])
        shapely.prepare(room)
        others = others[shapely.dwithin(room, stays.shape[others], half + _CLEAR)]
        return shapely.difference(room, self._union(others, tier)) if len(others) else room

    def _union(self, rows: Ints, tier: Tier) -> shapely.Geometry:
        """What stays, grown by half the pen, as one: gaps of one pair ask for the same again."""
        key = tier, rows.tobytes()
        if key not in self._joined:
            wide = np.array(self._wide(self.kept[tier].shape[rows]), dtype=object)
            self._joined[key] = shapely.disjoint_subset_union_all(wide)
        return self._joined[key]

    def _beside(self, rows: Ints, giver: int, tier: Tier) -> Ints:
        """Those of the rows that stand so near to the giver that a way to it depends on them."""
        stays = self.kept[tier]
        if (tier, giver) not in self._near:
            reach = 2 * self.pen + _FREE  # of the way to the giver, and of the pen to what stays
            near = np.zeros(len(stays.shape), dtype=bool)
            near[stays.tree.query(self.islands[giver], "dwithin", distance=reach)] = True
            self._near[tier, giver] = near
        found: Ints = rows[self._near[tier, giver][rows]]
        return found

    def _wide(self, shapes: Shapes) -> list[shapely.Geometry]:
        """What stays, grown by half the pen."""
        for shape in shapes:
            if id(shape) not in self._grown:
                self._grown[id(shape)] = shapely.buffer(
                    shape, self.pen / 2 + _CLEAR, quad_segs=QUARTER
                )
        return [self._grown[id(shape)] for shape in shapes]


def _lines(shape: shapely.Geometry) -> Shapes:
    parts = shapely.get_parts(shape)
    found: Shapes = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
    return found


def _through(ways: Shapes, probe: shapely.LineString) -> shapely.LineString | None:
    """The way that crosses a gap, None where none does."""
    if not len(ways):
        return None
    distance = shapely.distance(ways, probe)
    best = int(np.argmin(distance))
    found: shapely.LineString | None = ways[best] if distance[best] <= _FREE else None
    return found
