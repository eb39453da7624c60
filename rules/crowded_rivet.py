"""Heads of rivets that come too near to other copper or to each other.

Measures
--------
Where ``joints.method`` is a rivet, the head (``joints.head``) of every via that copper leaves on
both sides: how much is left between it and the nearest copper of another net, and between two heads
of two nets, against the width of the cut (``bit``, for etching ``minimum_gap``). Heads that touch
are not makeable, those that hang over the cut are marginal.

Why
---
A rivet's head is wider than most pads of vias. It covers the cut that the tool has made round the
pad, spreads as it is pressed, and joins what was parted, at the latest when it is soldered.

Fix
---
Move the via by the length told, take a rivet with a smaller head, or join the sides with a wire.

Limits
------
The head is taken to be round and in the middle of its hole. Copper of no net that is left between
two nets is not looked at: a head on it matters only where it bridges to both.

Sources
-------
Rivet and head come from the profile. Reports of makers, contested: rivets at 2.54 mm pitch touch
their neighbours' pads and are set from alternate sides.

See
---
``hand-joint``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.measure.holes.rivets import rivet_room_of
from checker.measure.holes.uses import Use, uses_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import two_sided, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "room for the heads of rivets"


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every via and side whose head comes too near."""
    board, head, cut = facts.board, process.joints.head, process.cut
    if process.joints.method != "rivet" or cut is None or not two_sided(board):
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    if head is None:
        yield Unchecked(_SUBJECT, "the profile sets no joints.head")
        return
    joints, uses, labels = joints_of(board), uses_of(board), labels_of(board)
    if (joints.both & (joints.use == Use.UNKNOWN)).any():
        yield Unchecked(_SUBJECT, "the files do not tell vias from holes for leads")
    room = rivet_room_of(board, head / 2 + cut.nominal)
    between = room.next - head
    left = np.minimum(room.copper - head / 2, between[:, None])
    for row, column in np.argwhere(left < cut.nominal - tie(board)).tolist():
        gap, joint = float(left[row, column]), int(room.joint[row])
        hole, side = int(joints.hole[joint]), SIDES[column]
        nets = uses.nets[hole]
        called = ", ".join(nets) or "there"
        if between[row] <= gap:
            other = uses.nets[int(joints.hole[room.joint[room.other[row]]])]
            what = "the head of the rivet " + (", ".join(other) or "beside it")
        else:
            index = next(i for i, la in enumerate(board.copper) if la.side == side)
            other = (labels.net(index, int(room.island[row, column])),)
            what = f"copper of {other[0]}"
        yield Observation(
            message=f"Head of {head:.2f} mm "
            + (f"leaves {gap:.3f} mm" if gap > 0 else f"overlaps by {-gap:.3f} mm")
            + f", the cut is {cut.nominal:.3f} mm wide: rivet {called} and {what}",
            remedy=f"Move the via {up(cut.nominal - gap):.2f} mm away, or join the sides there "
            "with a wire",
            cause=f"heads of {head:.2f} mm too near to other nets",
            state=State.MARGINAL if gap > 0 else State.NOT_MAKEABLE,
            measured=gap,
            limit=cut.nominal,
            side=side,
            x=float(joints.at[joint, 0]),
            y=float(joints.at[joint, 1]),
            nets=(*nets, *other),
        )
