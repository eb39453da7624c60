"""Undrawn copper that leads pass: on a side that is cut, and on one that is not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.findings import Observation, State
from checker.labels import labels_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.pads import SIDES, outer
from checker.measure.holes.uses import Use, uses_of
from checker.remedy import up
from rules._holes import names, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.process.model import Process

_BOTH = 2
_COUNTERSINK = 2  # a drill this many times as wide takes the copper off (common trade practice)


def left_on_a_cut_side(board: Board, process: Process) -> Iterator[Observation]:
    """Leads of several nets in one piece of leftover copper."""
    drilling, use = drilling_of(board), uses_of(board).use
    cleared = process.cleared_width or 0.0
    for column, layer in outer(board):
        stands = (drilling.sheet[:, column] >= 0) & (use != Use.MECHANICAL)
        stands &= ~(drilling.uncovered[:, column] <= cleared)
        for sheet in np.unique(drilling.sheet[stands, column]).tolist():
            holes = np.flatnonzero(stands & (drilling.sheet[:, column] == sheet))
            nets = np.unique(drilling.net[holes])
            if len(nets) < _BOTH:
                continue
            for hole in holes.tolist():
                size = board.holes[hole].diameter
                of, pins = names(board, [hole])
                yield Observation(
                    message=f"Hole of {size:.2f} mm without a pad in undrawn copper that leads of "
                    f"{len(nets)} nets pass" + where(board, hole),
                    remedy=f"Countersink it with a drill of {up(_COUNTERSINK * size):.2f} mm, or "
                    f"draw a pad on the {layer.side} side",
                    cause=f"leads in undrawn copper on the {layer.side} side",
                    state=State.MARGINAL,
                    side=layer.side,
                    x=float(drilling.at[hole, 0]),
                    y=float(drilling.at[hole, 1]),
                    nets=of,
                    pins=pins,
                )


def left_on_the_other_side(board: Board, process: Process) -> Iterator[Observation]:
    """One for the board whose blank has copper on a side that no file is for."""
    used = [layer.side for _, layer in outer(board) if len(layer.islands)]
    if process.stock.clad_sides != _BOTH or len(used) != 1:
        return
    drilling, use, labels = drilling_of(board), uses_of(board).use, labels_of(board)
    holes = np.flatnonzero((drilling.net >= 0) & (use != Use.MECHANICAL))
    nets = np.unique(drilling.net[holes])
    if len(nets) < _BOTH:
        return
    (bare,) = set(SIDES) - set(used)
    yield Observation(
        message=f"{len(holes)} leads and wires of {len(nets)} nets pass the copper of the {bare} "
        f"side, which nothing cuts",
        remedy=f"Use a blank with copper on 1 side, or countersink the {len(holes)} holes on the "
        f"{bare} side",
        cause=f"uncut copper on the {bare} side",
        state=State.NOT_MAKEABLE,
        side=bare,
        nets=tuple(sorted(labels.net_at(net) for net in nets.tolist())),
    )
