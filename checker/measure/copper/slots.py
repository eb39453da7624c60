"""Long slots within one island that a cut of a width does not fit, and the way round them.

Copper grown by half the cut and shrunk again fills what the cut cannot reach. Where that fills a
slot between two parts of one island the current no longer has to go round it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.holes.pads import outer
from checker.measure.leftover.pieces import middles_of

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints, Shapes

ERROR = 0.003
"""Bound in mm on the error of a width; a slot as wide as the cut within it may stay or close."""

_QUARTER = 8  # segments of a quarter circle: within 0.3 % of half a cut
_MOST = 400  # points round a slot at which the way is looked at
_ACROSS = 1.2  # cuts: points of the two walls that face each other are nearer than this


@dataclass(frozen=True, slots=True, eq=False)
class Slots:
    """Slots narrower than the cut, one a row.

    Attributes:
        layer: (n,) index into the board's layers; ``island`` (n,) into the layer's islands.
        at: (n, 2) a point in the slot, near its middle.
        width: (n,) mean width, mm.
        length: (n,) mm.
        way: (n,) along the island's boundary from one wall to the other, where it is longest, mm.
        copper: (n,) mean width of the island's copper, mm.
    """

    layer: Ints
    island: Ints
    at: Floats
    width: Floats
    length: Floats
    way: Floats
    copper: Floats

    def __len__(self) -> int:
        return len(self.width)


def slots_of(board: Board, cut: float, least: float) -> Slots:
    """Slots of the outer sides that a cut of ``cut`` mm does not fit, from ``least`` mm long."""
    return _slots(board, round(cut, 6), round(least, 6))


@lru_cache(maxsize=2)
def _slots(board: Board, cut: float, least: float) -> Slots:
    rows: list[tuple[float, ...]] = []
    for _, layer in outer(board):
        islands, index = layer.islands, board.copper.index(layer)
        # A slot as long as that has walls on both sides.
        long = np.flatnonzero(shapely.length(islands) > 2 * least)
        shape, of = _filled(islands[long], cut, least)
        slot, other = shapely.STRtree(islands).query(shape, predicate="intersects")
        foreign = slot[other != long[of[slot]]]
        for one in np.setdiff1d(np.arange(len(shape)), foreign).tolist():
            island, at = islands[long[of[one]]], middles_of(shape[[one]])[0]
            length = shape[one].length / 2
            way = _way(island, shape[one], at, cut)
            mean = 2 * island.area / island.length
            rows.append((index, long[of[one]], *at, shape[one].area / length, length, way, mean))
    columns = np.array(rows, float).reshape(-1, 8).T
    layer_of, island_of = columns[:2].astype(np.int64)
    return Slots(layer_of, island_of, columns[2:4].T, *columns[4:])


def _filled(islands: Shapes, cut: float, least: float) -> tuple[Shapes, Ints]:
    """What growing and shrinking fills, as long as asked for, and in which island."""
    grown = shapely.buffer(islands, cut / 2, quad_segs=_QUARTER)
    closed = shapely.buffer(grown, -cut / 2 - ERROR / 2, quad_segs=_QUARTER)
    parts, of = shapely.get_parts(shapely.difference(closed, islands), return_index=True)
    kept = (shapely.length(parts) > 2 * least) & (
        shapely.get_type_id(parts) == shapely.GeometryType.POLYGON
    )
    return parts[kept], of[kept]


def _way(island: shapely.Polygon, slot: shapely.Polygon, at: Floats, cut: float) -> float:
    """The longest way along the boundary between points that face each other across a slot."""
    rings = shapely.get_rings(island)
    ring = rings[np.argmin(shapely.distance(rings, shapely.Point(at)))]
    count = min(_MOST, max(8, math.ceil(slot.length / (cut / 2))))
    rim = shapely.line_interpolate_point(
        slot.exterior, np.linspace(0, 1, count, endpoint=False), normalized=True
    )
    along = shapely.line_locate_point(ring, rim)
    x, y = shapely.get_coordinates(shapely.line_interpolate_point(ring, along)).T
    far = np.hypot(x[:, None] - x, y[:, None] - y)
    apart = np.abs(along[:, None] - along)
    way = np.minimum(apart, ring.length - apart)
    longest: float = np.where(far <= _ACROSS * cut, way, 0.0).max()
    return longest
