"""Room round the heads of rivets: how near the next net and the next rivet are."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import outer
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints

ERROR = 0.002
"""Bound in mm on the error of both distances: arcs are drawn to 0.001 mm, on either side."""


class RivetRoom(Struct, frozen=True, eq=False):
    """Vias that copper leaves on both sides, one a row; columns of two are top and bottom.

    Attributes:
        joint: (n,) row of `joints_of`.
        copper: (n, 2) distance of the via's middle from the nearest copper of another net on that
            side, mm; inf where that is beyond the reach.
        island: (n, 2) index of that island, -1 none.
        next: (n,) distance of the middle from that of the nearest via of another net, inf beyond.
        other: (n,) that via's row here, -1 none.
    """

    joint: Ints
    copper: Floats
    island: Ints
    next: Floats
    other: Ints


@lru_cache(maxsize=1)
def rivet_room_of(board: Board, reach: float) -> RivetRoom:
    """The room round every via that takes a rivet, as far as ``reach`` mm from its middle."""
    joints, uses = joints_of(board), uses_of(board)
    rows = np.flatnonzero(joints.both & (joints.use == Use.VIA))
    at = joints.at[rows]
    layers = outer(board) if len(rows) else ()
    copper, island = np.full((len(rows), 2), np.inf), np.full((len(rows), 2), -1)
    net = np.full((len(rows), 2), -1)
    for column, layer in layers:
        net[:, column] = layer.net[joints.island[rows, column]]
        names = np.array(layer.net_name, object)
        found = _nearest_copper(layer, at, net[:, column], reach)
        copper[:, column], island[:, column] = _least(len(rows), *found, names)
    names = np.array([" ".join(uses.nets[hole]) for hole in joints.hole[rows].tolist()], object)
    following, other = _least(len(rows), *_near_vias(at, net[:, 0], 2 * reach), names)
    return RivetRoom(rows, copper, island, following, other)


def _nearest_copper(
    layer: CopperLayer, at: Floats, net: Ints, reach: float
) -> tuple[Ints, Floats, Ints]:
    """Vias, their distances to boundaries of other nets within the reach, and whose those are."""
    rings, owner = shapely.get_rings(layer.islands, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    start = np.flatnonzero(ring[:-1] == ring[1:])
    lines = shapely.linestrings(np.stack([points[start], points[start + 1]], axis=1))
    middles = shapely.points(at)
    via, line = shapely.STRtree(lines).query(middles, predicate="dwithin", distance=reach)
    island = owner[ring[start[line]]]
    foreign = layer.net[island] != net[via]
    via, line, island = via[foreign], line[foreign], island[foreign]
    return via, shapely.distance(middles[via], lines[line]), island


def _near_vias(at: Floats, net: Ints, reach: float) -> tuple[Ints, Floats, Ints]:
    middles = shapely.points(at)
    one, other = shapely.STRtree(middles).query(middles, predicate="dwithin", distance=reach)
    foreign = net[one] != net[other]
    one, other = one[foreign], other[foreign]
    return one, shapely.distance(middles[one], middles[other]), other


def _least(
    count: int, key: Ints, distance: Floats, what: Ints, names: NDArray[np.object_]
) -> tuple[Floats, Ints]:
    """The least distance of each key and what it is to: of equals the first by name."""
    least, which = np.full(count, np.inf), np.full(count, -1)
    _, rank = np.unique([name or "" for name in names], return_inverse=True)
    order = np.lexsort((what, rank[what], np.round(distance, 6), key))
    keys, first = np.unique(key[order], return_index=True)
    least[keys], which[keys] = distance[order[first]], what[order[first]]
    return least, which
