"""A lead that touches copper which is none of its net.

Measures
--------
For every hole of a lead or via, on each outer side: copper of another net that the hole cuts, or,
where the hole has no copper of its own on that side, that is nearer to its edge than the hole may
lie off. Traces and pads that a hole for no lead cuts: not makeable where less than
``minimum_trace`` is left of their way past it. Leads of several nets in one piece of undrawn copper
on a side that is cut. And a blank of two ``stock.clad_sides`` for a board that uses one.

Why
---
A hole made at home has no clearance but what is drawn. The lead stands at its edge: with whatever
copper is there it makes contact, and so do all others that pass the same sheet.

Fix
---
Move the hole, or draw a pad on that side, so that it is isolated; or turn a drill twice as wide in
it by hand, which takes the copper off round it. For a board of one side use a blank of one side.

Limits
------
Copper beyond a ring of the hole's own is left to the ring and to the gap. The side cut second is
the same as for ``thin-ring``. Undrawn copper nearer than ``cleared_width`` to drawn copper is gone;
whether cuts part the rest of it isn't judged, nor are pours that a hole for no lead cuts. Screws
that leave enough of a trace are left to ``copper-under-screw``.

Sources
-------
``stock``, ``cleared_width``, ``minimum_trace``, ``machine`` and ``drills`` come from the profile,
which names their sources. That leads short to a second side left uncut: common trade practice.

See
---
``broken-ring``, ``copper-under-screw``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Kind
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import kinds_of, labels_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.pads import SIDES, outer
from checker.measure.holes.uses import Use, uses_of
from checker.methods import ETCHING
from checker.remedy import up
from checker.severity import Severity
from rules._bitten import bitten
from rules._holes import names, unread, where, word
from rules._rings import errors, far_side, take_screws
from rules._sheets import left_on_a_cut_side, left_on_the_other_side

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board, CopperLayer, Unchecked
    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.ERROR, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Drawn copper first, then undrawn copper where a tool cuts round what is drawn."""
    board = facts.board
    if (missing := unread(board, "copper of other nets at holes")) is not None:
        yield missing
        return
    for column, layer in outer(board):
        yield from _drawn(board, process, column, layer)
    if process.method != ETCHING:
        yield from left_on_a_cut_side(board, process)
        yield from left_on_the_other_side(board, process)


def _drawn(
    board: Board, process: Process, column: int, layer: CopperLayer
) -> Iterator[Observation]:
    drilling, use, labels = drilling_of(board), uses_of(board).use, labels_of(board)
    off = errors(board, process)[:, int(column == far_side(board, process))]
    near, index = drilling.foreign[:, column], board.copper.index(layer)
    lead = (drilling.net >= 0) & (use != Use.MECHANICAL)
    alone, cut = drilling.island[:, column] < 0, near < -tie(board)
    pour = kinds_of(layer, drilling.foreign_object[:, column]) == Kind.POUR
    wrong = np.where(
        lead, cut | (alone & (near < off - tie(board))), cut & ~pour & ~take_screws(board)
    )
    worse = dict(bitten(board, process, column, layer, np.flatnonzero(cut & ~pour & ~lead)))
    yield from worse.values()
    wrong[list(worse)] = False
    for hole in np.flatnonzero(wrong).tolist():
        distance, limit = float(near[hole]), float(off[hole]) if lead[hole] else 0.0
        island = int(drilling.foreign_island[hole, column])
        row = int(drilling.foreign_object[hole, column])
        what = labels.standing(index, row, island)
        nets, pins = names(board, [hole])
        x, y = drilling.foreign_at[hole, column].tolist()
        yield Observation(
            message=f"{word(board, hole)} of {board.holes[hole].diameter:.2f} mm cuts "
            f"{-distance:.3f} mm into {what}, may not at all" + where(board, hole)
            if distance < 0
            else f"{word(board, hole)} {distance:.3f} mm from {what}, it may lie {limit:.3f} mm off"
            + where(board, hole),
            remedy=f"Move it {up(limit - distance):.2f} mm away",
            cause=f"{'leads' if lead[hole] else 'holes'} in or at copper of another net on the "
            f"{SIDES[column]} side",
            state=State.NOT_MAKEABLE if distance < 0 and lead[hole] else State.MARGINAL,
            measured=distance,
            limit=limit,
            side=layer.side,
            x=x,
            y=y,
            nets=tuple(dict.fromkeys([*nets, labels.net(index, island)])),
            pins=pins,
        )
