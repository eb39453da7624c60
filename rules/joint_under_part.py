"""Leads to be soldered on the side on which their own part covers them.

Measures
--------
Every lead whose pad copper leaves on the side of its part's body, where the hole lies under that
body, even in part. It is told only where the net is in pieces without that joint: copper of that
side that other joints reach needs none here. A pad that comes out by 0.5 mm can be soldered; where
it comes out by less the joint is marginal, where it is hidden whole not makeable.

Why
---
In a factory's board the plating carries solder and current through the hole. Here the joint must be
made from above, and an iron does not get under a socket, a header, a terminal, a can or a relay.

Fix
---
Bring the net to that lead on the other side; or join the sides beside the part with a wire, as far
away as told, and leave the lead's pad on this side idle. Where the leads are long enough the part
may also be left standing 3 mm off the board.

Limits
------
Bodies are those of the component layers, seen from above: parts that stand high by their nature are
not told from those that lie on the board. Parts of whose body nothing is known are not checked.

Sources
-------
Common trade practice; design rules of a university service (Michigan State University, electrical
and computer engineering) say that leads can't always be soldered on the side of the part. The size
of the lump comes from the profile (``joints.head``).

See
---
``hidden-joint``, ``hand-joint``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import natural
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.measure.holes.uses import Use, uses_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import unread
from rules._joints import called, few, lump, no_parts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "joints under parts"


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every lead that must be soldered under its own body."""
    board = facts.board
    joints, uses = joints_of(board), uses_of(board)
    missing = unread(board, _SUBJECT)
    if missing is None and joints.joined.any():
        missing = no_parts(board) or _unknown(board)
    if missing is not None:
        yield missing
    within = joints.clear < joints.diameter[:, None] / 2 - tie(board)
    for row, column in np.argwhere(joints.lost & within).tolist():
        part = (board.parts or ())[int(joints.cover[row, column])]
        hole, clear = int(joints.hole[row]), float(joints.clear[row, column])
        reach, side = float(joints.reach[row, column]), SIDES[column]
        radius = lump(process, float(joints.diameter[row]))
        pin = ", ".join(uses.pins[hole])
        hidden = not reach > tie(board)
        away = up(max(0.0, -clear) + radius)
        yield Observation(
            message=f"{pin} is to be soldered on the {side}, {max(0.0, -clear):.2f} mm inside the "
            f"edge of its own body: the pad "
            + ("is hidden whole" if hidden else f"comes out by {reach:.2f} mm")
            + called(board, hole),
            remedy=f"Bring the net to {pin} on the {SIDES[1 - column]}, or join the sides by a "
            f"wire {away:.2f} mm or more from its middle, outside the body",
            cause=f"joints of {part.name} under its body",
            state=State.NOT_MAKEABLE if hidden else State.MARGINAL,
            side=side,
            x=float(joints.at[row, 0]),
            y=float(joints.at[row, 1]),
            nets=uses.nets[hole],
            pins=uses.pins[hole],
        )


def _unknown(board: Board) -> Unchecked | None:
    """Leads of whose part no body is known, where the part may lie on their copper."""
    joints, uses, parts = joints_of(board), uses_of(board), board.parts or ()
    if (joints.joined.any(axis=1) & (joints.use == Use.UNKNOWN)).any():
        return Unchecked(_SUBJECT, "the files do not tell which part a hole is for")
    names = []
    for row in np.flatnonzero(joints.use == Use.COMPONENT).tolist():
        part = parts[joints.part[row]] if joints.part[row] >= 0 else None
        if part is None and joints.joined[row].any():
            names += [pin.rpartition(".")[0] or pin for pin in uses.pins[int(joints.hole[row])]]
        elif part and part.body is None and joints.joined[row, SIDES.index(part.side)]:
            names.append(part.name)
    if not names:
        return None
    return Unchecked(_SUBJECT, f"no body is given of {few(sorted(set(names), key=natural))}")
