"""How far holes lie off the middle of their pads, and what centring them would win."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.owners import Paths, filled
from checker.measure.holes.pads import outer

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints


def centring(board: Board, hole: Ints, column: Ints) -> tuple[Floats, Floats]:
    """Of holes in pads: mm to the middle of the pad, and mm that the ring gains there.

    The middle of a pad is that of its box. A ring that is no narrower there gains nothing.

    Args:
        board: as read.
        hole: (n,) index into the board's holes.
        column: (n,) index into `SIDES`.
    """
    drilling, paths = drilling_of(board), Paths.of(board)
    away, gain = np.zeros(len(hole)), np.zeros(len(hole))
    for side, layer in outer(board):
        rows = np.flatnonzero((column == side) & (drilling.pad[hole, column] >= 0))
        pads = filled(layer.objects.shape[drilling.pad[hole[rows], side]])
        x0, y0, x1, y1 = shapely.bounds(pads).T
        shift = np.column_stack([x0 + x1, y0 + y1]) / 2 - drilling.at[hole[rows]]
        points, owner = shapely.get_coordinates(paths.path[hole[rows]], return_index=True)
        there = shapely.set_coordinates(paths.path[hole[rows]].copy(), points + shift[owner])
        room = shapely.distance(there, shapely.boundary(pads))
        room = np.where(shapely.covers(pads, there), room, 0.0)
        away[rows] = np.hypot(*shift.T)
        gain[rows] = np.maximum(room - drilling.half[hole[rows], side], 0.0)
    return away, gain
