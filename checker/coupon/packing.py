"""Where the pieces of a coupon lie: some have their places, the others go where there is room."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from checker.board import Floats
    from checker.coupon.model import Block, Box

    Order = Callable[[Floats, tuple[float, float]], Floats]

_STEP = 0.25  # mm between places that are tried
_EXACT = 1e-9


def packed(
    size: tuple[float, float],
    margin: float,
    apart: float,
    fixed: Sequence[Block],
    loose: Sequence[Block],
) -> tuple[Block, ...] | None:
    """The blocks with the loose ones placed: near the middle of the sheet, else close together.

    Args:
        size: width and height of the sheet.
        margin: that stays free along its edge.
        apart: least distance of two blocks.
        fixed: blocks that have their place.
        loose: the others, in the order in which they are placed.

    Returns:
        All of them in order, None where there is no room.
    """
    if any(_meet(a.box, b.box) for a, b in combinations(fixed, 2)):
        return None
    for order in (_from_the_middle, _from_below):
        placed = list(fixed)
        taken = np.array([block.box for block in fixed]).reshape(-1, 4)
        for block in loose:
            free = _free(size, margin, apart, taken, block.size)
            if not len(free):
                break
            middles = free + np.array(block.size) / 2
            x, y = free[np.argmin(order(middles, size))].tolist()
            placed.append(block.with_corner_at(x, y))
            taken = np.vstack([taken, placed[-1].box])
        else:
            return tuple(placed)
    return None


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _from_the_middle(at: Floats, size: tuple[float, float]) -> Floats:
    off: Floats = np.hypot(*(at - np.array(size) / 2).T)
    return np.round(off, 6)


def _from_below(at: Floats, size: tuple[float, float]) -> Floats:
    low: Floats = at[:, 1] * 1000 + at[:, 0]
    return np.round(low, 6)


def _free(
    size: tuple[float, float], margin: float, apart: float, taken: Floats, room: Sequence[float]
) -> Floats:
    """(n, 2) corners at which a room lies free."""
    right, top = size[0] - margin - room[0], size[1] - margin - room[1]
    x, y = np.meshgrid(
        np.arange(margin, right + _EXACT, _STEP), np.arange(margin, top + _EXACT, _STEP)
    )
    at = np.column_stack([x.ravel(), y.ravel()])
    low, high = at[:, None] - apart + _EXACT, at[:, None] + np.array(room) + apart - _EXACT
    free: Floats = at[~((low < taken[:, 2:]) & (high > taken[:, :2])).all(2).any(1)]
    return free
