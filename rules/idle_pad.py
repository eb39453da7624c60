"""Pads on a side on which nothing joins them, where leaving them out saves work or a fault.

Measures
--------
Pads of holes that no copper leaves on one side while there is copper on the other. A side that
holds such pads alone is told once; elsewhere a pad is told where it stands too near to a trace or a
pad of another net for the widest cut to pass (``bit``, ``minimum_gap``). Others are not told.

Why
---
Layout programs draw the pad of a lead on both sides. Without plating it is cut round for nothing;
where a side has no other copper, so is the turning over of the board and all that may go wrong.

Fix
---
Leave the side out, or give the footprint pads on the side that is used alone.

Limits
------
A lead soldered to two pads stands firmer. Letters in copper do not count as use of a side. Boards
with layers between have to be laid out anew and are not looked at.

Sources
-------
Common trade practice, in reports of makers: without idle pads the rule "solder whatever has a pad"
holds. The cut comes from the profile.

See
---
``uncuttable-gap``, ``excess-layers``, ``hand-joint``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Kind
from checker.findings import Observation, State, rule
from checker.isolation import Fate, fates
from checker.labels import kinds_of, labels_of, natural
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.severity import Severity
from rules._holes import two_sided, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.NOTE, asks=("gaps",), remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every side that can be left out; every idle pad that stands in the way."""
    board = facts.board
    if not two_sided(board) or len(board.copper) > len(SIDES):
        return
    if (missing := unread(board, "pads that nothing joins")) is not None:
        yield missing
        return
    joints = joints_of(board)
    for side in joints.bare:
        column = SIDES.index(side)
        count, other = int((joints.island[:, column] >= 0).sum()), SIDES[1 - column]
        yield Observation(
            message=f"{count} pads on the {side} and no trace to any: nothing there needs a joint",
            remedy=f"Leave the {side} out and solder the {count} leads on the {other} alone",
            cause=f"idle pads alone on the {side}",
            state=State.REMARK,
            side=side,
        )
    for index, judged in enumerate(fates(facts, process)):
        side = board.copper[index].side
        if side in SIDES and side not in joints.bare and process.cut is not None:
            yield from _in_the_way(facts, index, judged.fate > Fate.OPEN, process.cut.most)


def _in_the_way(
    facts: Facts, index: int, faulty: NDArray[np.bool_], cut: float
) -> Iterator[Observation]:
    """Idle pads of a layer at faulty gaps, each once, at its narrowest."""
    board, layer, gaps = facts.board, facts.board.copper[index], facts.gaps[index]
    joints, labels = joints_of(board), labels_of(board)
    column = SIDES.index(layer.side)
    idle = joints.idle[:, column]
    joint = dict(zip(joints.island[idle, column].tolist(), np.flatnonzero(idle), strict=True))
    beside = np.column_stack([gaps.object_b, gaps.object_a])
    drawn = np.column_stack([kinds_of(layer, rows) != Kind.POUR for rows in beside.T])
    gap, end = np.nonzero(faulty[:, None] & np.isin(gaps.islands, list(joint)) & drawn)
    pads, apart = gaps.islands[gap, end], np.round(gaps.distance[gap], 6)
    least = np.full(len(layer.islands), np.inf)
    np.minimum.at(least, pads, apart)
    found: dict[int, set[str]] = {}
    for k in np.flatnonzero(apart == least[pads]).tolist():
        other = int(gaps.islands[gap[k], 1 - end[k]])
        words = labels.standing(index, int(beside[gap[k], end[k]]), other)
        found.setdefault(int(pads[k]), set()).add(words)
    for island, there in found.items():
        distance, beside_it = float(least[island]), min(there, key=lambda one: (natural(one), one))
        pad, (x, y) = int(joints.pad[joint[island], column]), joints.at[joint[island]].tolist()
        yield Observation(
            message=f"Idle pad {distance:.3f} mm from {beside_it}, the cut is up to {cut:.3f} mm "
            f"wide: {labels.standing(index, pad, island)}",
            remedy=f"Leave out the pad on the {layer.side} side, which nothing joins there",
            cause=f"idle pads in the way on the {layer.side}",
            state=State.REMARK,
            measured=distance,
            limit=cut,
            side=layer.side,
            x=x,
            y=y,
            nets=(labels.net(index, island),),
            pins=tuple(filter(None, [labels.pin(index, pad)])),
        )
