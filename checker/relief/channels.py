"""The way of a pen that opens a gap: as near to one side as that side keeps its copper.

A pen whose middle keeps half its width from what stays clears a slot in which a cutter as wide as
the pen fits. Its way is the edge of what the keeper of the gap occupies once grown by half the pen:
it takes nothing from the keeper, and from the other side what is missing. Where the other side must
stay, the way gives way towards the keeper. It is as long as the slot would be too narrow.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.gaps.window import subdivide

if TYPE_CHECKING:
    from checker.board import Floats, Ints, Shapes
    from checker.relief.limits import Kept, Tier

QUARTER = 16  # chords a quarter circle
_FREE = 0.002  # mm: so much beyond free standing the way begins and ends
_EXACT = 0.0015  # mm by which chords may bring the pen nearer to what stays
_SPECK = 1e-5  # mm2
_STRAIGHT = 3e-4  # mm that a way may be simplified by


class Sheet:
    """The copper of one layer, and ways through it for one pen."""

    def __init__(
        self, islands: Shapes, kept: dict[Tier, Kept], pen: float, like: Sheet | None = None
    ) -> None:
        """``like`` is a sheet of the same copper for another pen, to share what both need."""
        self.islands, self.kept, self.pen = islands, kept, pen
        if like is not None:
            self._pieces = like._pieces
        self._rims: dict[tuple[int, float, Tier], Shapes] = {}
        self._ways: dict[tuple[int, int, float, Tier], Shapes] = {}
        self._grown: dict[tuple[Tier, int], shapely.Geometry] = {}

    @cached_property
    def _pieces(self) -> tuple[Shapes, Ints, shapely.STRtree]:
        cut = [subdivide(island) for island in self.islands]
        owner = np.repeat(np.arange(len(cut)), [len(pieces) for pieces in cut])
        pieces = np.concatenate(cut) if cut else np.zeros(0, dtype=object)
        return pieces, owner, shapely.STRtree(pieces)

    def near(self, shape: shapely.Geometry, reach: float, island: int) -> Shapes:
        """Pieces of an island within reach of a shape."""
        pieces, owner, tree = self._pieces
        rows = tree.query(shape, "dwithin", distance=reach)
        found: Shapes = pieces[rows[owner[rows] == island]]
        return found

    def touched(self, strokes: Shapes) -> tuple[Ints, Ints]:
        """Pairs of stroke and island that it takes of."""
        pieces, owner, tree = self._pieces
        stroke, piece = tree.query(strokes, "intersects")
        takes = shapely.area(shapely.intersection(strokes[stroke], pieces[piece])) > _SPECK
        return stroke[takes], owner[piece[takes]]

    def way(
        self, keeper: int, giver: int, share: float, tier: Tier, a: Floats, b: Floats
    ) -> shapely.LineString | None:
        """The way through the gap between b on the keeper and a on the giver.

        ``share`` is what the keeper gives (mm). None where what stays leaves no room for the pen.
        """
        ways = self._between(keeper, giver, share, tier)
        if not len(ways):
            return None
        across = (a - b) / max(float(np.hypot(*(a - b))), 1e-9)
        probe = shapely.LineString([b - share * across, b + (self.pen / 2 + _FREE) * across])
        distance = shapely.distance(ways, probe)
        best = int(np.argmin(distance))
        if distance[best] > _FREE:
            return None
        way = ways[best]
        stays = self.kept[tier]
        if len(stays.tree.query(way, "dwithin", distance=self.pen / 2 - _EXACT)):
            return None
        return way

    def _between(self, keeper: int, giver: int, share: float, tier: Tier) -> Shapes:
        key = (keeper, giver, round(share, 6), tier)
        if key not in self._ways:
            self._ways[key] = self._narrow(keeper, giver, share, tier)
        return self._ways[key]

    def _narrow(self, keeper: int, giver: int, share: float, tier: Tier) -> Shapes:
        """Where a pen that follows the keeper's edge meets the giver, and a trifle beyond."""
        reach = self.pen / 2 + share + _FREE
        rim = self._rim(keeper, share, tier)
        x0, y0, x1, y1 = shapely.bounds(self.islands[giver])
        rim = shapely.clip_by_rect(rim, x0 - reach, y0 - reach, x1 + reach, y1 + reach)
        if shapely.is_empty(rim):
            return np.zeros(0, dtype=object)
        zone = shapely.union_all(
            shapely.buffer(self.near(rim, reach, giver), reach, quad_segs=QUARTER)
        )
        lines = shapely.line_merge(shapely.intersection(rim, zone))
        parts = shapely.get_parts(shapely.simplify(lines, _STRAIGHT))
        found: Shapes = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
        return found

    def _rim(self, keeper: int, share: float, tier: Tier) -> shapely.Geometry:
        """The edge of what the keeper and all that stays leave no room in for the pen's middle."""
        key = (keeper, round(share, 6), tier)
        if key in self._rims:
            return self._rims[key]
        half, stays = self.pen / 2, self.kept[tier]
        grown = shapely.buffer(self.islands[keeper], half - share, quad_segs=QUARTER)
        near = stays.tree.query(grown, "dwithin", distance=half)
        own = stays.island[near] == keeper
        if share:
            grown = shapely.union_all([grown, *self._wide(tier, near[own])])
        others = self._wide(tier, near[~own])
        if others:
            grown = shapely.difference(grown, shapely.union_all(others))
        self._rims[key] = rim = shapely.boundary(grown)
        return rim

    def _wide(self, tier: Tier, rows: Ints) -> list[shapely.Geometry]:
        """What stays, grown by half the pen."""
        for row in rows.tolist():
            if (tier, row) not in self._grown:
                self._grown[tier, row] = shapely.buffer(
                    self.kept[tier].shape[row], self.pen / 2, quad_segs=QUARTER
                )
        return [self._grown[tier, row] for row in rows.tolist()]
