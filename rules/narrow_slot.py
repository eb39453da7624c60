"""A slot narrower than the cutter that would mill it.

Measures
--------
The width of every slot, against ``outline.cutter``. Marginal where a drill at hand is as wide as
the slot within ``drills.tolerance``, otherwise not makeable.

Why
---
A slot gets no narrower than its cutter. Drills are ground to cut at the tip: a row of holes, each
clear of the last and the walls filed away, makes a narrow slot by hand, while milling with a drill
snaps it.

Fix
---
Widen the slot to the cutter, buy a narrower cutter, or drill a row of holes and file.

Limits
------
The length of a slot is not judged, nor its ends, which come out round. Rows of overlapping hits are
left to ``overlapping-holes``.

Sources
-------
``outline.cutter``, ``drills.sizes`` and ``drills.tolerance`` come from the profile, which names
their sources.

See
---
``overlapping-holes``, ``unowned-drill``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.uses import uses_of
from checker.remedy import down
from checker.severity import Severity
from rules._holes import drill_for, names, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every slot the cutter doesn't enter."""
    board, cutter = facts.board, process.outline.cutter
    slots = [(i, hole) for i, hole in enumerate(board.holes) if hole.is_slot]
    if (missing := unread(board, "width of slots")) is not None:
        yield missing
        return
    if not slots:
        return
    if cutter is None:
        yield Unchecked("width of slots", "the profile sets no outline.cutter")
        return
    at = uses_of(board).at
    for index, slot in slots:
        width = slot.diameter
        if width >= cutter - tie(board):
            continue
        nets, pins = names(board, [index])
        drill = drill_for(process, width)
        buy = f"Widen the slot to {cutter:.2f} mm or buy a cutter of {down(width):.2f} mm"
        row = "" if drill is None else f", or drill a row of {drill:.2f} mm and file"
        yield Observation(
            message=f"Slot {width:.2f} mm wide, the cutter is {cutter:.2f} mm"
            + where(board, index),
            remedy=buy + row,
            cause=f"slots {width:.2f} mm wide",
            state=State.NOT_MAKEABLE if drill is None else State.MARGINAL,
            measured=width,
            limit=cutter,
            x=float(at[index, 0]),
            y=float(at[index, 1]),
            nets=nets,
            pins=pins,
        )
