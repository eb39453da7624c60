"""What solder masks leave bare: what somebody means to solder, whatever it is drawn as."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Shapes

    Bools = NDArray[np.bool_]

_MOST = 0.5  # of all pads are bare under a mask that is drawn as its openings


@lru_cache(maxsize=4)
def openings_of(board: Board, side: str) -> Shapes | None:
    """The openings of a side's solder mask; None without one.

    A mask that covers most of the pads is none either: it may be drawn the other way round.
    """
    masks = [one.objects for one in board.graphics if (one.role, one.side) == ("mask", side)]
    layers = [layer for layer in board.copper if layer.side == side]
    if not masks or not layers:
        return None
    shapes = np.concatenate([mask.shape[mask.dark] for mask in masks])
    pads = np.concatenate([middles_of_pads(layer) for layer in layers])
    return shapes if len(pads) and within(shapes, pads).mean() >= _MOST else None


def within(shapes: Shapes, at: Floats) -> Bools:
    """(n,) whether each place lies in one of some shapes."""
    inside = np.zeros(len(at), bool)
    inside[shapely.STRtree(shapes).query(shapely.points(at), "intersects")[0]] = True
    return inside


def middles_of_pads(layer: CopperLayer) -> Floats:
    """(n, 2) the middles of a layer's pads, mm."""
    pads = layer.objects.dark & (layer.objects.kind == Kind.PAD)
    middles: Floats = shapely.get_coordinates(shapely.centroid(layer.objects.shape[pads]))
    return middles
