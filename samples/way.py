"""The cheapest way over a grid of several sides."""

from __future__ import annotations

import heapq
from math import inf
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Cell = tuple[int, int, int]  # side, row, column

_STEPS = ((1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1))
_BEND = (0.0, 0.2, 2.0, 6.0, 12.0, 6.0, 2.0, 0.2)  # by eighths of a turn, in grid steps
_ASLANT = 1.414


def cheapest_way(
    starts: Iterable[Cell],
    goals: Iterable[Cell],
    prices: Floats,
    no_via: NDArray[np.bool_],
    via: float,
    drop: bool,
) -> list[Cell] | None:
    """The cells of the cheapest way from a start to a goal, None where there is none.

    A bend is charged by the way that first reached its cell, which is good rather than best.

    Args:
        starts: cells to begin at; those where a track may not lie are left out.
        goals: cells to end at.
        prices: (sides, rows, columns) of a step onto each cell, at least 1, inf where barred.
        no_via: (rows, columns) where the way may not change sides.
        via: price of changing sides.
        drop: every place where a via may stand is a goal too.
    """
    sides, rows, columns = prices.shape
    plane = rows * columns
    price, barred = prices.reshape(-1).data, no_via.reshape(-1).data
    ends = {side * plane + row * columns + column for side, row, column in goals}
    box = np.array(list(goals) or [(0, 0, 0)])
    (_, south, west), (_, north, east) = box.min(axis=0).tolist(), box.max(axis=0).tolist()

    def remaining(row: int, column: int) -> float:
        """Never more than the price of the way from here to a goal."""
        if drop:
            return 0.0
        dy = max(south - row, row - north, 0)
        dx = max(west - column, column - east, 0)
        return float(max(dx, dy) + (_ASLANT - 1) * min(dx, dy))

    best: dict[int, float] = {}
    came: dict[int, int] = {}
    heap: list[tuple[float, float, int, int]] = []
    for side, row, column in sorted(starts):
        node = side * plane + row * columns + column
        if price[node] < inf:
            best[node] = 0.0
            heapq.heappush(heap, (remaining(row, column), 0.0, node, -1))
    done: set[int] = set()
    while heap:
        _, cost, node, heading = heapq.heappop(heap)
        if node in done:
            continue
        done.add(node)
        side, rest = divmod(node, plane)
        if node in ends or (drop and not barred[rest]):
            way = [node]
            while way[-1] in came:
                way.append(came[way[-1]])
            return [(n // plane, n % plane // columns, n % columns) for n in reversed(way)]
        row, column = divmod(rest, columns)
        moves = []
        for turn, (dx, dy) in enumerate(_STEPS):
            if 0 <= row + dy < rows and 0 <= column + dx < columns:
                target = node + dy * columns + dx
                bend = _BEND[(turn - heading) % 8] if heading >= 0 else 0.0
                step = price[target] * (_ASLANT if dx and dy else 1.0)
                moves.append((target, step + bend, row + dy, column + dx, turn))
        if not barred[rest]:
            changes = (other * plane + rest for other in range(sides) if other != side)
            moves += [(target, via, row, column, -1) for target in changes]
        for target, step, row, column, turn in moves:
            total = cost + step
            if target not in done and total < best.get(target, inf):
                best[target] = total
                came[target] = node
                heapq.heappush(heap, (total + remaining(row, column), total, target, turn))
    return None
