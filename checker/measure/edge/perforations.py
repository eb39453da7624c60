"""Holes drilled so that a board breaks off its panel along them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.edge.clearances import holes_of
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board

    Bools = NDArray[np.bool_]

PITCH = 1.5
"""Holes of one row are this near to each other, middle to middle, and to the edge, mm.

Common trade practice: 0.5 mm holes 0.8 to 1 mm apart, in the tab or on the edge itself.
"""

_WIDEST = 1.0  # mm; wider ones take something
_SAME = 0.01  # mm


@lru_cache(maxsize=1)
def perforations_of(board: Board) -> Bools:
    """(holes,) True for narrow holes of one size close together, in no copper and at an edge."""
    count, edge = len(board.holes), holes_of(board)
    found = np.zeros(count, dtype=bool)
    if edge is None:
        return found
    uses = uses_of(board)
    size = np.array([hole.diameter for hole in board.holes])
    narrow = (uses.use == Use.MECHANICAL) & (size <= _WIDEST) & (np.abs(edge.distance) <= PITCH)
    narrow &= np.array([not hole.is_slot for hole in board.holes], dtype=bool)
    rows = np.flatnonzero(narrow)
    points = shapely.points(uses.at[rows])
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=PITCH)
    pairs = (one != other) & (np.abs(size[rows[one]] - size[rows[other]]) <= _SAME)
    found[rows[one[pairs]]] = True
    return found
