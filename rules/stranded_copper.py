"""Crumbs of leftover copper, and islands cut off from a pour.

Measures
--------
Pieces of undrawn copper between the widths cleared round the nets, at the nominal
``cleared_width``, with less area than ``smallest_leftover``; and islands with no pad and no hole in
them beside the pour they belong to. The large sheet of leftover copper round all nets is no crumb
and not told.

Why
---
A crumb has so little to hold it that a brush or the iron lifts it, and it lies across a channel
where it is least wanted. A floating island couples the nets beside it, and a splash of solder on
each side of it joins them.

Fix
---
Clear a little more where crumbs are, or brush the board and look through its channels before
soldering. Let the layout program leave islands out, or join them to ground.

Limits
------
Which crumbs come loose depends on the foil's bond; the area is a rule of thumb. Letters, lines and
pads in copper are not told as islands, whatever they join, nor is an island below 4 mm2, which may
be a letter.

Sources
-------
``smallest_leftover`` and ``cleared_width`` come from the profile, which names their sources.

See
---
``loose-strip``
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.leftover.floating import floating_of
from checker.measure.leftover.pieces import leftover, middles_of
from checker.remedy import STEP, up
from checker.severity import Severity
from rules._remains import areas, between, cleared, nets_beside, nominal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process
    from rules._remains import Cleared

_DUST = 0.01  # mm2: what is smaller goes with the chips


@rule(severity=Severity.NOTE, asks=("leftover",), remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every crumb and every floating island."""
    width = cleared(facts.board, process)
    if width is None:
        return
    if process.smallest_leftover is None:
        yield Unchecked("crumbs of leftover copper", "the profile sets no smallest_leftover")
    else:
        yield from _crumbs(facts.board, width, process.smallest_leftover)
    yield from _islands(facts)


@lru_cache(maxsize=4)
def _crumbs(board: Board, width: Cleared, smallest: float) -> tuple[Observation, ...]:
    whole, clears = leftover(board, *width), nominal(board, width)
    area = areas(board, whole)
    rows = np.flatnonzero((area < smallest) & (area > _DUST))
    if not len(rows):
        return ()
    nets = nets_beside(board, width, whole.layer[rows], whole.shape[rows])
    # None is told as large as what holds. No disc within a crumb is larger than one of its area.
    wants = up(clears + math.sqrt(float(area[rows].max()) / math.pi))
    return tuple(
        Observation(
            message=f"Crumb of {min(area[row], smallest - STEP):.2f} mm2 of leftover copper, from "
            f"{smallest:.2f} mm2 it holds{between(names)}",
            remedy=f"Clear {wants:.2f} mm there instead of {clears:.2f} mm, or brush the board and "
            "look before soldering",
            cause=f"crumbs of leftover copper below {smallest:.2f} mm2",
            state=State.REMARK,
            side=board.copper[int(whole.layer[row])].side,
            x=at[0],
            y=at[1],
            nets=names,
        )
        for row, at, names in zip(
            rows.tolist(), middles_of(whole.shape[rows]).tolist(), nets, strict=True
        )
    )


def _islands(facts: Facts) -> Iterator[Observation]:
    board, floating = facts.board, floating_of(facts.board)
    for index, at, area in zip(
        floating.layer.tolist(), floating.at.tolist(), floating.area.tolist(), strict=True
    ):
        yield Observation(
            message=f"Island of {area:.1f} mm2 of poured copper with no pad and no hole",
            remedy=f"Leave islands below {math.floor(area) + 1} mm2 out of the pour, or join them "
            "to it",
            cause="islands of pours that join nothing",
            state=State.REMARK,
            side=board.copper[index].side,
            x=at[0],
            y=at[1],
        )
