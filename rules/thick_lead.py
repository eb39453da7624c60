"""A lead too thick for the holes of a perfboard.

Measures
--------
The hole that the layout gives a lead, a slot by its length, less ``grid.play``, against
``grid.hole``. Where that hole is as wide as ``grid.pad`` nothing is left of the board's pad.

Why
---
A layout makes a hole a little wider than its lead, so the hole tells how thick the lead is. Posts
of terminals and tabs of sockets don't go into the 1.0 mm of a perfboard.

Fix
---
Drill those holes out to the size of the layout; the pad of 2 mm stands up to 1.5 mm or so. Where
the pad goes, fix the part with glue and solder a wire to it, or use another part.

Limits
------
A thin lead in a wide hole looks like a thick one. Whether a flat lead could be filed to fit is left
to the maker.

Sources
-------
``grid.hole``, ``grid.play`` and ``grid.pad`` come from the profile. IPC-2222 asks for holes 0.15 to
0.25 mm wider than the thickest lead.

See
---
``off-grid-hole``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.whole.grid import leads_of
from checker.methods import PERFBOARD
from checker.severity import Severity
from rules._edge import unset
from rules._holes import names, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "thickness of leads"


@rule(severity=Severity.WARNING, methods=(PERFBOARD,))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole for a lead that is too thick."""
    board, grid = facts.board, process.grid
    if grid.hole is None or grid.pad is None:
        yield unset(_SUBJECT, "grid.hole" if grid.hole is None else "grid.pad")
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    leads = leads_of(board)
    for row, size in enumerate(leads.size.tolist()):
        lead, hole = size - grid.play, int(leads.hole[row])
        if lead <= grid.hole + tie(board):
            continue
        x, y = leads.at[row].tolist()
        nets, pins = names(board, [hole])
        shape = "slot" if board.holes[hole].is_slot else "hole"
        stays = size < grid.pad
        yield Observation(
            message=f"Lead of up to {lead:.2f} mm by its {shape} of {size:.2f} mm, perfboard's "
            f"holes {grid.hole:.2f} mm{where(board, hole)}",
            remedy=f"Drill the hole out to {size:.2f} mm"
            if stays
            else f"Use a part with leads of {grid.hole:.2f} mm, or glue it on and wire its leads",
            cause=f"leads in a {shape} of {size:.2f} mm",
            state=State.REMARK if stays else State.MARGINAL,
            measured=lead,
            limit=grid.hole,
            x=x,
            y=y,
            nets=nets,
            pins=pins,
        )
