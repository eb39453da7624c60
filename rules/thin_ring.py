"""A pad of which too little copper is left round its hole once the hole lies off.

Measures
--------
From the edge of each hole that is soldered to the nearest edge of its own copper, less what the
hole may lie off, against ``ring``. Off are, all at their worst and added up:
``machine.registration``, ``drills.wander`` and half of ``machine.backlash``; on the side cut second
also ``machine.flip``, and ``machine.skew`` by the hole's distance from the middle of the board. The
hole is taken as wide as the drill at hand that serves it.

Why
---
Solder and lead hold to what copper is left round the hole. Where the drill runs to one side, a
thin ring gets thinner still, lifts under the iron, and the trace that joins there breaks.

Fix
---
Make the pad wider or the hole smaller, as told; or, where the hole lies off the middle of
its pad and that is the smaller change, move the pad. A smaller hole is told while its wire or lead
goes in: holes of leads and joints get 0.1 mm narrower at most. Where a via's wire doesn't enter its
hole, hole and pad both grow, as ``undersized-hole`` tells.

Limits
------
Holes are taken to be drilled from the side cut first, in one set-up; which that is, is up to the
maker, so it is taken to be the side whose rings would suffer more as the second. Pads that nothing
leaves aren't judged, nor are holes of 2.5 mm and more. Whether the hole may break out of its pad is
a matter of ``broken-ring``.

Sources
-------
``ring``, ``machine`` and ``drills`` come from the profile, which names their sources. That a skew
frame counts twice is geometry: a board turned over leans the other way. The 0.1 mm are part of the
0.15 to 0.25 mm by which IPC-2222 asks for holes wider than their leads, from memory.

See
---
``broken-ring``, ``unowned-drill``, ``undersized-hole``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.drilling import drilling_of
from checker.severity import Severity
from rules._holes import names, unread, where
from rules._rings import OFF, ROUND, centred, counted, rings, wider

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.WARNING, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every ring that may get thinner than wished."""
    board, limit = facts.board, process.ring
    if limit is None:
        yield Unchecked("rings of pads", "the profile sets no ring")
        return
    if (missing := unread(board, "rings of pads")) is not None:
        yield missing
        return
    found, band, at = rings(board, process), tie(board), drilling_of(board).at
    rows = np.flatnonzero((found.left < limit - band) & (found.left >= -band))
    rows = rows[found.ring[rows] > band]
    by = centred(board, found, rows, limit)
    pattern = found.use[rows] * 4 + found.far[rows] * 2 + by.off
    for code, members in alike(pattern, found.ring[rows]):
        use, far, off = code // 4, code // 2 % 2, bool(code % 2)
        cause = f"rings {spoken(found.ring[rows[members]])} wide round {ROUND[use]}"
        cause += " on the side cut second" * far + OFF * off
        for member, row in zip(members.tolist(), rows[members].tolist(), strict=True):
            hole, left = int(found.hole[row]), float(found.left[row])
            nets, pins = names(board, [hole])
            yield Observation(
                message=f"Ring {found.ring[row]:.3f} mm, {max(left, 0):.3f} mm is left once "
                f"{counted(process, bool(far))}, {limit:.3f} mm is wanted" + where(board, hole),
                remedy=by.one(member) or wider(board, process, found, row, limit),
                cause=cause,
                state=State.MARGINAL,
                measured=max(left, 0.0),
                limit=limit,
                side=found.side(row),
                x=float(at[hole, 0]),
                y=float(at[hole, 1]),
                nets=nets,
                pins=pins,
                together=by.all(members),
            )
