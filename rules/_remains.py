"""What the rules on leftover copper share: which width is cleared, what stays, and beside what."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.exact import tie
from checker.labels import labels_of, natural
from checker.measure.leftover.pieces import beside
from rules._ratings import wider_of

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints, Shapes
    from checker.measure.leftover.pieces import Leftover, Wider
    from checker.process.model import Process

    Cleared = tuple[float, Wider]

_DIGITS = 6  # of a width in mm: bits that clear the same leave the same
_REACH = 0.01  # mm; the islands round a piece are as far from it as is cleared, and this


def cleared(board: Board, process: Process) -> Cleared | None:
    """The nominal width cleared round nets, and the nets round which more is; None for etching.

    Both are less by half of what cannot be told apart: where two passes only touch, a hair stays.
    """
    clears = process.clears
    if clears is None:
        return None
    unsure = tie(board) / 2
    wider = tuple((net, width - unsure) for net, width in wider_of(board, process))
    return round(clears.nominal - unsure, _DIGITS), wider


def nominal(board: Board, width: Cleared) -> float:
    """The nominal width itself, mm."""
    return width[0] + tie(board) / 2


def areas(board: Board, whole: Leftover) -> Floats:
    """(n,) mm2 of the pieces where exactly the nominal width is cleared."""
    area: Floats = whole.area - whole.girth * tie(board) / 2
    return area


def nets_beside(board: Board, width: Cleared, layer: Ints, shapes: Shapes) -> list[tuple[str, ...]]:
    """For each shape on its layer the nets on both sides of it, as people count them."""
    labels, reach = labels_of(board), max(width[0], *(w for _, w in width[1]), 0.0) + _REACH
    found: list[tuple[str, ...]] = [()] * len(shapes)
    for index in np.unique(layer).tolist():
        rows = np.flatnonzero(layer == index)
        for row, islands in zip(
            rows.tolist(), beside(board.copper[index], shapes[rows], reach).tolist(), strict=True
        ):
            names = {labels.net(index, island) for island in islands if island >= 0}
            found[row] = tuple(sorted(names, key=natural))
    return found


def between(nets: tuple[str, ...]) -> str:
    """Where it is, at the end of a message: ", beside GND", ", between CLK and GND"."""
    if not nets:
        return ""
    return f", between {nets[0]} and {nets[1]}" if len(nets) > 1 else f", beside {nets[0]}"
