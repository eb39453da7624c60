"""The board's edge drawn as a line of copper.

Measures
--------
Lines of one pen in an outer layer whose middle stays within half the pen of the board's edge, and
how much of the edge they follow.

Why
---
The line is no part of the circuit, but it is cut round like one: the bit runs twice along the whole
edge, and what stays is a rim of copper that the edge cutter tears off, or that joins what a case or
a screw touches.

Fix
---
Leave the edge out when the copper layers are exported; it belongs in the profile alone.

Limits
------
A guard ring inside the edge is none of it, nor the border of a pour that runs up to the edge. Only
lines drawn with a round pen are looked at, not outlines of regions.

Sources
-------
Gerber layer format: the profile is a layer of its own, and copper layers do not show it.

See
---
``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.measure.whole.cover import WHOLE, trails_of
from checker.severity import Severity
from rules._edge import no_edge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for each side."""
    if facts.board.outline is None:
        yield no_edge(facts.board, "the edge drawn in copper")
    for trail in trails_of(facts.board):
        if trail.share >= WHOLE:
            yield Observation(
                message=f"Copper line {trail.pen:.2f} mm wide along {100 * trail.share:.0f} % of "
                f"the board's edge, its middle at most {trail.apart:.3f} mm from it",
                remedy=f"Export the {trail.side} without the board's edge, or delete this line of "
                f"{trail.pen:.2f} mm",
                cause="the edge drawn in copper",
                state=State.MARGINAL,
                side=trail.side,
                x=trail.x,
                y=trail.y,
            )
