"""A plated hole that the edge of the board cuts through.

Measures
--------
From the edge of each hole that is plated, or has a pad and may be, to the outline: negative where
the outline goes through the hole.

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
A hole that the outline shows as well, as a cut-out of its own, is left out. Edges that are plated
without a hole can't be told from the files.

Sources
-------
Common trade practice: plating needs a bath. ``outline.hole_clearance``, from which the remedy
follows, comes from the profile.

See
---
``broken-ring``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.isolation import tie
from checker.measure.drilling import drilling_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import names, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "plated holes at the edge"


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole with copper that crosses the outline."""
    board, drilling = facts.board, drilling_of(facts.board)
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    if board.outline is None:
        if board.holes:
            yield Unchecked(_SUBJECT, "no outline")
        return
    copper = (drilling.island >= 0).any(axis=1)
    said = np.array([str(hole.plated) for hole in board.holes], dtype=np.str_)
    plated = (said == "True") | ((said == "None") & copper)
    room = process.outline.hole_clearance or 0.0
    for hole in np.flatnonzero(plated & (drilling.edge < -tie(board))).tolist():
        size, out = board.holes[hole].diameter, float(-drilling.edge[hole])
        nets, pins = names(board, [hole])
        yield Observation(
            message=f"Plated hole of {size:.2f} mm crosses the edge by {out:.3f} mm, no hole is "
            "plated at home" + where(board, hole),
            remedy=f"Move it {up(out + room):.2f} mm inwards and solder a wire over the edge",
            cause=f"plated holes of {size:.2f} mm across the edge",
            state=State.NOT_MAKEABLE,
            measured=-out,
            limit=0.0,
            x=float(drilling.at[hole, 0]),
            y=float(drilling.at[hole, 1]),
            nets=nets,
            pins=pins,
        )
