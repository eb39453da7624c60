"""A plated hole that the edge of the board cuts through.

Measures
--------
How far each hole that is plated, or has a pad and may be, reaches over the edge of the board.

Why
---
A half hole at the edge makes contact by the copper in its wall. At home no wall is plated: what is
left is half a pad with half a hole, and the cutter tears it off the edge.

Fix
---
Move the hole inwards by the amount told and solder a wire over the edge, or draw a pad without a
hole there.

Limits
------
A hole that the edge shows as well, as a cut-out of its own, is left out. Edges that are plated
without a hole can't be told from the files.

Sources
-------
Common trade practice: plating needs a bath. ``outline.hole_clearance``, from which the remedy
follows, comes from the profile.

See
---
``broken-ring``, ``hole-at-edge``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.measure.edge.clearances import holes_of
from checker.remedy import up
from checker.severity import Severity
from rules._edge import half_holes, no_edge
from rules._holes import names, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "plated holes at the edge"


@rule(severity=Severity.ERROR, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole with copper that crosses the outline."""
    board = facts.board
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    edge = holes_of(board)
    if edge is None:
        if board.holes:
            yield no_edge(board, _SUBJECT)
        return
    room = process.outline.hole_clearance or 0.0
    for hole in half_holes(board).tolist():
        size, out = board.holes[hole].diameter, float(-edge.distance[hole])
        nets, pins = names(board, [hole])
        yield Observation(
            message=f"Plated hole of {size:.2f} mm crosses the edge by {out:.3f} mm, no hole is "
            "plated at home" + where(board, hole),
            remedy=f"Move it {up(out + room):.2f} mm inwards and solder a wire over the edge",
            cause=f"plated holes of {size:.2f} mm across the edge",
            state=State.NOT_MAKEABLE,
            measured=-out,
            limit=0.0,
            x=float(edge.at[hole, 0]),
            y=float(edge.at[hole, 1]),
            nets=nets,
            pins=pins,
        )
