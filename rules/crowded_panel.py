"""Boards of a panel with too little room for the outline cutter between them.

Measures
--------
The least distance of every two boards whose edges are drawn side by side, against
``outline.cutter``.

Why
---
The cutter goes round each board on its outside. Where the next board is nearer than its diameter
the cutter takes a strip off that one, with whatever copper lies there.

Fix
---
Move the boards apart by the length told, better by half a millimetre more, or cut them out with a
narrower cutter.

Limits
------
Boards that share an edge, to be scored or sawn apart, are one board for this rule.

Sources
-------
Common trade practice: the cutter's diameter and 0.5 mm between boards. ``outline.cutter`` comes
from the profile, which names its source.

See
---
``narrow-cutout``, ``copper-at-edge``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.edge.contour import Waste
from checker.remedy import up
from checker.severity import Severity
from rules._edge import wastes_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "room between the boards of a panel"


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every gap between boards that is narrower than the cutter."""
    answer = wastes_for(facts.board, process, _SUBJECT)
    if isinstance(answer, Unchecked):
        yield answer
        return
    cutter, wastes = answer
    for row in np.flatnonzero(wastes.kind == Waste.BETWEEN).tolist():
        width = float(wastes.width[row])
        yield Observation(
            message=f"Boards {width:.3f} mm apart, the outline cutter is {cutter:.2f} mm: it takes "
            f"{cutter - width:.3f} mm off the neighbour",
            remedy=f"Move them {up(cutter - width):.2f} mm apart",
            cause=f"boards {width:.2f} mm apart",
            state=State.MARGINAL,
            measured=width,
            limit=cutter,
            x=float(wastes.at[row, 0]),
            y=float(wastes.at[row, 1]),
        )
