"""A notch or cut-out of the board that the outline cutter does not enter.

Measures
--------
The width of every notch and cut-out of the edge at its narrowest place, against ``outline.cutter``;
for a cut-out without walls that face each other the widest disk that goes in. Marginal where it
comes out wider by no more than 0.05 mm, otherwise not makeable.

Why
---
A cut is never narrower than its cutter. The cutter takes a part of the board along, or whoever
works out its path leaves the notch out without a word.

Fix
---
Widen it to the cutter's diameter, take a narrower cutter, or drill the width as a row of holes and
file.

Limits
------
Slots and holes of the drill files are left to ``narrow-slot`` and ``unowned-drill``, also where the
edge shows them once more. Gaps between the boards of a panel are left to ``crowded-panel``.

Sources
-------
Geometry. ``outline.cutter`` comes from the profile, which names its source.

See
---
``narrow-slot``, ``round-corner``, ``crowded-panel``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.edge.contour import Waste
from checker.remedy import down, up
from checker.severity import Severity
from rules._edge import FELT, wastes_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "width of notches and cut-outs"
_MANY = {"Cut-out": "cut-outs", "Notch": "notches"}


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every notch and cut-out narrower than the cutter."""
    answer = wastes_for(facts.board, process, _SUBJECT)
    if isinstance(answer, Unchecked):
        yield answer
        return
    cutter, wastes = answer
    for row in np.flatnonzero(wastes.kind == Waste.NARROW).tolist():
        width = float(wastes.width[row])
        what = "Cut-out" if wastes.closed[row] else "Notch"
        yield Observation(
            message=f"{what} {width:.3f} mm wide, the outline cutter is {cutter:.2f} mm",
            remedy=f"Widen it by {up(cutter - width):.2f} mm, or take a cutter of "
            f"{down(width):.2f} mm",
            cause=f"{_MANY[what]} {width:.2f} mm wide",
            state=State.MARGINAL if cutter - width <= FELT else State.NOT_MAKEABLE,
            measured=width,
            limit=cutter,
            x=float(wastes.at[row, 0]),
            y=float(wastes.at[row, 1]),
        )
