"""Wires between the two sides that end under a part.

Measures
--------
Every via that copper leaves on both sides, against the bodies of the parts on either side: whether
its hole lies under one, even in part. Under a part that lies flat it is marginal. It is a remark
under a part that stands on leads, and where the layer gives no body but the room the part keeps.

Why
---
A wire ends in a lump of solder, 0.5 to 1 mm high. A part that lies flat on the board comes to rest
on it: it tilts and its leads do not reach their pads. Once the part is on, the joint cannot be
seen, tested or made again.

Fix
---
Move the via out from under the part, by the length told at least; else bend a thin wire flat on
both sides, or press it flush before the part is soldered.

Limits
------
Bodies are those of the component layers, seen from above: a part that stands high over the board is
not told from one that lies on it. Leads of one part under another are not looked at.

Sources
-------
Common trade practice, in reports of makers: no wires under parts that lie flat. The size of the
lump comes from the profile (``joints.head``).

See
---
``joint-under-part``, ``drained-pad``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.measure.holes.uses import Use, uses_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import two_sided, unread
from rules._joints import called, lump, no_parts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "wires under parts"


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every via and side with a part over it."""
    board = facts.board
    if not two_sided(board):
        return
    joints, uses = joints_of(board), uses_of(board)
    wires = joints.both & (joints.use == Use.VIA)
    unknown = joints.both & (joints.use == Use.UNKNOWN)
    missing = unread(board, _SUBJECT)
    if missing is None and (wires | unknown).any():
        missing = no_parts(board)
    if missing is None and unknown.any():
        missing = Unchecked(_SUBJECT, "the files do not tell vias from holes for leads")
    if missing is not None:
        yield missing
    within = joints.clear < joints.diameter[:, None] / 2 - tie(board)
    for row, column in np.argwhere(wires[:, None] & within).tolist():
        part = (board.parts or ())[int(joints.cover[row, column])]
        hole, clear = int(joints.hole[row]), float(joints.clear[row, column])
        radius = lump(process, float(joints.diameter[row]))
        stands = part.mount == "through hole"
        place = "body" if part.body is not None else "room"
        inside = f"{max(0.0, -clear):.2f} mm inside" if clear < 0 else "at the edge of"
        raised = f", or solder it first and stand {part.name} {2 * radius:.2f} mm off"
        yield Observation(
            message=f"Via {inside} the {place} of {part.name} on the {SIDES[column]}, its lump "
            f"needs {radius:.2f} mm from the edge{called(board, hole)}",
            remedy=f"Move it {up(radius - clear):.2f} mm out from under {part.name}"
            + (raised if stands else ", or bend a thin wire flat"),
            cause=f"wires under {part.name}",
            state=State.REMARK if stands or part.body is None else State.MARGINAL,
            measured=clear,
            limit=radius,
            side=SIDES[column],
            x=float(joints.at[row, 0]),
            y=float(joints.at[row, 1]),
            nets=uses.nets[hole],
            pins=uses.pins[hole],
        )
