"""An inside corner that the outline cutter leaves round.

Measures
--------
At each corner where the edge turns into the board, and in each corner of a cut-out: how far from
the corner as drawn the cutter of ``outline.cutter`` stays, with D its diameter
D/2 (1/sin(a/2) - 1) in a sharp corner that opens by the angle a: 0.207 D in a right one. Corners
of a cut-out are marginal, those of the outer edge remarks.

Why
---
A round cutter makes no sharp inside corner. What has to stand in that corner, such as a part's body
in a cut-out or the rail of a case in a notch, does not go in.

Fix
---
Draw the corner with the cutter's radius where nothing has to fit; drill a hole on the corner, take
a narrower cutter, or file it where something has to.

Limits
------
What stays within 0.05 mm goes into a file's stroke and is not told, nor are corners on which a hole
is drilled, nor those of a tab that breaks off along a row of holes. A notch that the cutter does
not enter at all is left to ``narrow-cutout``.

Sources
-------
Geometry. Board houses ask for radii of at least 0.4 mm with a cutter of 0.8 mm. ``outline.cutter``
comes from the profile.

See
---
``narrow-cutout``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.edge.contour import Waste
from checker.measure.edge.perforations import PITCH, perforations_of
from checker.measure.holes.uses import uses_of
from checker.severity import Severity
from rules._edge import FELT, wastes_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "inside corners of the edge"


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every corner where more stays than can be felt."""
    answer = wastes_for(facts.board, process, _SUBJECT)
    if isinstance(answer, Unchecked):
        yield answer
        return
    cutter, wastes = answer
    corners = np.flatnonzero((wastes.kind == Waste.CORNER) & (wastes.stays > FELT))
    torn = uses_of(facts.board).at[perforations_of(facts.board)]
    away = np.hypot(*(wastes.at[corners][:, None] - torn[None]).transpose(2, 0, 1))
    for row in corners[(away > PITCH).all(axis=1)].tolist():
        stays, radius, angle = (
            float(column[row]) for column in (wastes.stays, wastes.radius, wastes.angle)
        )
        drawn = f"of {radius:.2f} mm radius" if radius else f"of {angle:.0f} degrees drawn sharp"
        closed = bool(wastes.closed[row])
        yield Observation(
            message=f"Inside corner {drawn} keeps {stays:.3f} mm, the cutter of {cutter:.2f} mm "
            f"leaves a radius of {cutter / 2:.2f} mm",
            remedy=f"Draw it with a radius of {cutter / 2:.2f} mm, or drill a hole of "
            f"{cutter:.2f} mm on it where a part has to go in",
            cause=f"inside corners of {'cut-outs' if closed else 'the outer edge'} sharper than "
            f"{cutter / 2:.2f} mm",
            state=State.MARGINAL if closed else State.REMARK,
            measured=stays,
            limit=FELT,
            x=float(wastes.at[row, 0]),
            y=float(wastes.at[row, 1]),
        )
