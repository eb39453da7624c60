"""What the rules on leftover copper share: which width is cleared, what stays, and beside what."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.exact import tie
from checker.labels import labels_of, natural
from checker.measure.leftover.pieces import Leftover, beside, leftover
from checker.measure.leftover.slivers import Slivers, slivers
from rules._ratings import wider_of

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints, Shapes
    from checker.measure.leftover.pieces import Wider
    from checker.process.model import Process

_REACH = 0.01  # mm; the islands round a piece are as far from it as is cleared, and this


def cleared(board: Board, process: Process) -> tuple[float, Wider] | None:
    """The nominal width cleared round nets, and the nets round which more is; None for etching.

    Both are less by half of what cannot be told apart: where two passes only touch, a hair stays.
    """
    clears = process.clears
    if clears is None:
        return None
    unsure = tie(board) / 2
    wider = tuple((net, width - unsure) for net, width in wider_of(board, process))
    return clears.nominal - unsure, wider


def pieces(board: Board, process: Process) -> Leftover | None:
    """The leftover copper of a process; None where none stays."""
    width = cleared(board, process)
    return None if width is None else leftover(board, *width)


def areas(board: Board, whole: Leftover) -> Floats:
    """(n,) mm2 of the pieces where exactly the nominal width is cleared."""
    area: Floats = whole.area - whole.girth * tie(board) / 2
    return area


def strips(board: Board, process: Process, narrow: float, longer: float) -> Slivers | None:
    """Its stretches narrower than ``narrow`` mm and ``longer`` than that; None where none stays."""
    width = cleared(board, process)
    return None if width is None else slivers(board, width[0], narrow, width[1], longer)


def nets_beside(
    board: Board, process: Process, layer: Ints, shapes: Shapes
) -> list[tuple[str, ...]]:
    """For each shape on its layer the nets on both sides of it, as people count them."""
    width = cleared(board, process)
    if width is None:
        return []
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
