"""Strips of leftover copper too narrow and too long to stay on the board.

Measures
--------
Stretches of undrawn copper between the widths cleared round two traces, narrower than
``minimum_trace``, at the nominal ``cleared_width`` (or the cut, where that is wider). Each end that
goes on into wide copper holds ``short_neck`` of a strip; what is longer is told. Passes that only
touch leave a strip of no width, which is told as well.

Why
---
A narrow strip has little to hold it. The tool pulls it up at one end, or the iron does, and it
curls into the channel beside it: a short that comes and goes.

Fix
---
Clear the width told, at least there, so that nothing stays between the passes; or move the traces
so far apart that a wide strip stays.

Limits
------
The width cleared is the nominal one: at a shallower cut strips are wider, at a deeper one others
begin to show. Pieces smaller than ``smallest_leftover`` are crumbs and not strips. A strip along
the board's edge or a hole goes with the outline cutter or the drill. A wider cut removes the strips
of one clearance and makes those of another.

Sources
-------
``minimum_trace``, ``short_neck`` and ``cleared_width`` come from the profile. That slivers between
passes tear and become hairs is common experience with milled boards.

See
---
``stranded-copper``, ``thin-copper``
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.leftover.pieces import leftover
from checker.measure.leftover.slivers import LENGTH_ERROR, slivers
from checker.remedy import up
from checker.severity import Severity
from rules._remains import areas, between, cleared, nets_beside, nominal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process
    from rules._remains import Cleared

_NONE = 1e-6  # mm; what rounding makes of nothing
_ENDS = ("loose at both ends", "loose at one end", "held at both ends")


@rule(severity=Severity.NOTE, asks=("leftover",), remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every strip longer than its ends hold."""
    if (clears := cleared(facts.board, process)) is None:
        return
    if process.minimum_trace is None:
        yield Unchecked("strips of leftover copper", "the profile sets no minimum_trace")
        return
    limits = process.minimum_trace, process.short_neck, process.smallest_leftover or 0.0
    yield from _strips(facts.board, clears, *limits)


@lru_cache(maxsize=4)
def _strips(
    board: Board, clears: Cleared, limit: float, short: float, smallest: float
) -> tuple[Observation, ...]:
    whole = leftover(board, *clears)
    found = slivers(board, clears[0], limit, clears[1], short + LENGTH_ERROR)
    width = np.where(found.width > tie(board) + _NONE, found.width - tie(board), 0)
    told = found.length > short * np.maximum(found.held, 1) + LENGTH_ERROR
    told &= (width < limit - tie(board)) & (areas(board, whole)[found.piece] >= smallest)
    rows = np.flatnonzero(told & ~found.rim)
    layer = whole.layer[found.piece[rows]]
    nets = nets_beside(board, clears, layer, found.shape[rows])
    # One that runs out to a point is gone once as much is cleared as the limit's width needs.
    thick = np.where(found.width[rows] > 0, width[rows], limit) / 2
    seen = []
    for _, members in alike(np.zeros(len(rows), dtype=np.int64), width[rows]):
        # What has no width to tell is a hair, or a spike at its point.
        cause = f"strips of leftover copper {spoken(width[rows][members])} wide"
        if not width[rows][members].any():
            cause = "hairs and spikes of leftover copper"
        wants = up(nominal(board, clears) + thick[members].max() + tie(board))
        for member, (x, y) in zip(members.tolist(), found.at[rows[members]].tolist(), strict=True):
            row, measured = rows[member], float(width[rows[member]])
            what = f"Strip of leftover copper {measured:.3f} mm wide"
            if not found.width[row]:
                what = f"Spike of leftover copper that runs out to {measured:.3f} mm"
            elif not measured:
                what = f"Hair of leftover copper less than {tie(board):.3f} mm wide"
            one = Observation(
                message=f"{what} over {found.length[row]:.1f} mm, copper survives from "
                f"{limit:.3f} mm: {_ENDS[min(int(found.held[row]), 2)]}{between(nets[member])}",
                remedy=f"Clear {wants:.2f} mm there instead of {nominal(board, clears):.2f} mm",
                cause=cause,
                state=State.REMARK,
                measured=measured,
                limit=limit,
                side=board.copper[int(layer[member])].side,
                x=x,
                y=y,
                nets=nets[member],
            )
            seen.append(one)
    return tuple(seen)
