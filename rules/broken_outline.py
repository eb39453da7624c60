"""An edge of the board that is not a closed line.

Measures
--------
The openings between loose ends of the profile's lines, where no line closes them; and places where
the edge crosses or touches itself, whether it goes round the copper or not.

Why
---
The cutter follows a closed line round the board, on its outside. Of a line with an opening nobody
can tell which side is the board, and what computes the cutter's path refuses it or cuts along the
line's middle.

Fix
---
Join the ends at the places told and export the profile anew: let both lines end at the same
coordinates, and leave no second line on top of the first.

Limits
------
Openings of up to 0.05 mm are closed without a word: coarse number formats make them. The others are
judged as if they were closed straight, where they are narrower than 0.5 mm. Several boards side by
side are no fault, nor are loose lines inside a closed edge, which the reader tells. Where no file
gives an edge at all, nothing is checked.

Sources
-------
Gerber layer format, section on the profile: it defines a closed area, by draws and arcs that
connect exactly.

See
---
``outline-in-copper``, ``misread-size``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.measure.edge.contour import crossings_of
from checker.severity import Severity
from rules._edge import no_edge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_MOST = 12  # openings and crossings told one by one; a drawing taken for a profile has thousands


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every opening, the widest first, and every crossing."""
    board = facts.board
    openings = board.open_edge if board.outline is None else board.outline.openings
    crossings = crossings_of(board)
    if board.outline is None and not openings and not crossings:
        yield no_edge(board, "closed edge")
        return
    more = f", one of {len(openings)}" if len(openings) > 1 else ""
    for x, y, size in openings[:_MOST]:
        yield Observation(
            message=f"Edge open by {size:.3f} mm{more}, a closed line has openings of 0.000 mm",
            remedy=f"Join the two ends, {size:.3f} mm apart",
            cause="openings in the edge",
            state=State.NOT_MAKEABLE,
            measured=size,
            limit=0.0,
            x=x,
            y=y,
        )
    for x, y in crossings[:_MOST]:
        yield Observation(
            message=f"Edge meets itself at {x:.3f}, {y:.3f}, it must go round the board once",
            remedy=f"Part the two lines of the edge at {x:.3f}, {y:.3f}",
            cause="crossings of the edge",
            state=State.NOT_MAKEABLE,
            x=x,
            y=y,
        )
