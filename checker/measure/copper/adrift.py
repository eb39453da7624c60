"""Poured copper that joins nothing: to run into the net beside it does no harm.

Where a layout names no nets, an island cut off from a pour is a net of its own, and a gap to the
pour that stays closed would be told as a short, though the board works as well. So it counts to
the net it lies nearest to. That two nets meet across it is told where it comes near the other one,
whichever of its gaps closes first.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind
from checker.measure.copper.letters import carries_no_current
from checker.measure.holes.paths import drilled_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Ints

    Bools = NDArray[np.bool_]

_NEAR = 0.01  # mm; a hole whose rim is this near to an island goes through it
_QUARTER = 16  # chords of a quarter of a hole
_SAME = 1e-6  # mm: copper as near as that is equally near
_NO_NET = (None, "", "N/C")  # net names of the Gerber layer format that name none


@lru_cache(maxsize=8)  # layers
def counted_nets(board: Board, layer: int) -> Ints:
    """(islands of the layer,) the net each counts to: its own, or for one adrift the nearest."""
    copper = board.copper[layer]
    lone = _adrift(board, layer)
    if not lone.any():
        return copper.net
    rows, taken = np.flatnonzero(lone), np.flatnonzero(~lone & ~carries_no_current(board, layer))
    if not len(taken):
        return copper.net
    islands, area = copper.islands, shapely.area(copper.islands[taken])
    tree = shapely.STRtree(islands[taken])
    (which, _), apart = tree.query_nearest(islands[rows], return_distance=True, all_matches=False)
    reach = np.empty(len(rows))
    reach[which] = apart + _SAME
    one, other = tree.query(islands[rows], "dwithin", distance=reach)
    order = np.lexsort((-area[other], one))  # of equally near ones the largest
    one, first = np.unique(one[order], return_index=True)
    net = copper.net.copy()
    net[rows[one]] = copper.net[taken[other[order][first]]]
    return net


def _adrift(board: Board, layer: int) -> Bools:
    """(islands,) poured, without a net's name, and no pad, pin, hole or opening of the mask on it.

    Only where holes and mask are known: else what is soldered may look alike.
    """
    copper = board.copper[layer]
    objects, none = copper.objects, np.zeros(len(copper.islands), bool)
    masks = [one for one in board.graphics if (one.role, one.side) == ("mask", copper.side)]
    if not board.holes or not masks:
        return none
    drawn = objects.dark & (copper.island_of >= 0) & (objects.kind != Kind.POUR)
    lone = np.array([name in _NO_NET for name in copper.net_name], bool)
    lone[copper.island_of[drawn]] = False
    if not lone.any():
        return none
    on = [
        shapely.buffer(drilled_of(board.holes, lambda _: _QUARTER), _NEAR),
        np.array(
            [shapely.Point(pin.x, pin.y) for pin in board.pins if pin.side in (None, copper.side)],
            object,
        ),
        *(mask.objects.shape[mask.objects.dark] for mask in masks),
    ]
    rows = np.flatnonzero(lone)
    for shapes in on:
        _, hit = shapely.STRtree(copper.islands[rows]).query(shapes, "intersects")
        lone[rows[hit]] = False
    return lone
