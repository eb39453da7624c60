"""Pads at holes: which is the hole's own, and which belong to parts that lie flat on the board."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.holes.uses import DRILLED_AWAY, Use, uses_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints

    Bools = NDArray[np.bool_]

SIDES = ("top", "bottom")

SCREW = 2.5
"""Holes from this diameter (mm) on take screws: leads of common parts are 1.6 mm at most."""

LEAD = 0.6
"""No lead of a part goes through a hole narrower than this (mm): thin ones are 0.4 mm wide."""

_MIDDLE = 0.05  # mm; a pad whose middle is this near to a hole's is the hole's own
_SURFACE = ("SMDPad", "BGAPad", "HeatsinkPad")  # .AperFunction of the Gerber layer format


class Pads(Struct, frozen=True, eq=False):
    """Pads of one layer that meet holes, one pair of hole and pad a row.

    Attributes:
        count: number of holes asked for; ``hole`` (n,) counts through them.
        row: (n,) index into the layer's objects.
        middle: (n,) the pad's middle is the hole's; ``inside`` the hole's is within the pad.
        surface: (n,) the pad is for a part that lies flat, by its function.
        area: (n,) of the pad as drawn, mm2.
    """

    layer: CopperLayer
    count: int
    hole: Ints
    row: Ints
    middle: Bools
    inside: Bools
    surface: Bools
    area: Floats

    def own(self) -> Ints:
        """(count,) the row of each hole's own pad: about its middle, the least one; -1 none."""
        order = np.lexsort((self.row, self.area, ~self.middle, self.surface, self.hole))
        holes, first = np.unique(self.hole[order], return_index=True)
        own = np.full(self.count, -1)
        own[holes] = self.row[order[first]]
        return own

    def flat(self, drains: Bools) -> list[tuple[int, int]]:
        """(hole, row) of pads for parts that lie flat with a hole in them, of those holes."""
        own = self.own()
        mine = own[self.hole] == self.row
        has_own = np.zeros(self.count, bool)
        has_own[self.hole[self.middle & mine]] = True
        beside = ~self.middle & has_own[self.hole] & ~np.isin(self.row, self.row[self.middle])
        functions = (self.layer.objects.function >= 0).any()
        found = self.inside & drains[self.hole] & (self.surface if functions else beside)
        return list(zip(self.hole[found].tolist(), self.row[found].tolist(), strict=True))


def pads_at(layer: CopperLayer, at: Floats, radius: Floats) -> Pads:
    """The pads of a layer that holes of some middles, (n, 2), and radii, (n,), meet."""
    objects = layer.objects
    rows = np.flatnonzero(objects.dark & (objects.kind == Kind.PAD) & (layer.island_of >= 0))
    shapes = objects.shape[rows]
    points = shapely.points(at)
    hole, found = shapely.STRtree(shapes).query(points, predicate="dwithin", distance=radius)
    x0, y0, x1, y1 = shapely.bounds(shapes[found]).T
    x, y = at[hole].T
    off = np.hypot((x0 + x1) / 2 - x, (y0 + y1) / 2 - y)
    surface = [i for i, name in enumerate(objects.names) if name in _SURFACE]
    return Pads(
        layer,
        len(at),
        hole,
        rows[found],
        off <= _MIDDLE,
        shapely.intersects_xy(shapes[found], x, y),
        np.isin(objects.function[rows[found]], surface),
        shapely.area(shapes[found]),
    )


@lru_cache(maxsize=4)
def drilled_away(board: Board, layer: CopperLayer, rest: float = DRILLED_AWAY) -> Ints:
    """Rows of pads wider than their hole by no more than a rest (mm): nothing of them is left."""
    size = np.array([hole.diameter for hole in board.holes])
    pads = pads_at(layer, uses_of(board).at, size / 2)
    x0, y0, x1, y1 = shapely.bounds(layer.objects.shape[pads.row]).T
    gone: Ints = pads.row[pads.middle & (np.maximum(x1 - x0, y1 - y0) <= size[pads.hole] + rest)]
    return gone


class HeldHoles(Struct, frozen=True, eq=False):
    """Holes inside pads to which a part is soldered flat, one a row.

    Attributes:
        hole: (n,) index into the board's holes.
        layer: (n,) index into the board's copper; ``pad`` (n,) into the layer's objects.
        inside: (n,) how far the hole's middle is from the pad's edge, mm.
    """

    hole: Ints
    layer: Ints
    pad: Ints
    inside: Floats


@lru_cache(maxsize=1)
def held_holes_of(board: Board) -> HeldHoles:
    """The holes inside pads of parts that lie flat.

    A pad is such a one by its function; in a layer that states none, where the hole is off its
    middle and has a pad of its own as well. Holes that take a lead are filled by it.
    """
    uses = uses_of(board)
    diameter = np.array([hole.diameter for hole in board.holes])
    drains = (uses.use != Use.MECHANICAL) & (diameter < SCREW)
    drains &= (uses.use != Use.COMPONENT) | (diameter < LEAD)
    rows: list[tuple[int, int, int, float]] = []
    for _, layer in outer(board):
        index = board.copper.index(layer)
        for hole, row in pads_at(layer, uses.at, diameter / 2).flat(drains):
            point = shapely.Point(uses.at[hole])
            inside = float(shapely.boundary(layer.objects.shape[row]).distance(point))
            rows.append((hole, index, row, inside))
    columns = list(zip(*rows, strict=True)) or [()] * 4
    held, layers, pads = (np.array(column, np.int64) for column in columns[:3])
    return HeldHoles(held, layers, pads, np.array(columns[3], float))


def outer(board: Board) -> Iterable[tuple[int, CopperLayer]]:
    """The outer layers of copper, each with its place in `SIDES`."""
    return [(SIDES.index(la.side), la) for la in board.copper if la.side in SIDES]
