"""Pads to be soldered with other copper so near that solder bridges to it.

Measures
--------
For every pad that takes a part's lead the distance to drawn copper of other nets, against
``pad_clearance``, where the cut opens the gap; and once for the board whether leftover copper is
nearer than that, as it is all round where ``cleared_width`` (or the single cut) is less.

Why
---
There is no solder mask. Solder runs wherever copper is bare, and an iron's tip is wider than a
milled channel: what is nearer to a joint than a few tenths of a millimetre is soon bridged.

Fix
---
Clear a wider channel round pads, move the copper off, or use smaller pads. Pads of one part that
are too near each other need paste, flux and braid.

Limits
------
Pads are told from vias by their attributes, by a netlist, or by their holes; where there are none
of these every pad counts. Gaps too narrow for the cut are left to the rules on gaps.

Sources
-------
``pad_clearance`` and ``cleared_width`` come from the profile. Common trade practice: 0.2 mm needs
paste and skill, 0.3 to 0.4 mm a careful hand, and 0.5 mm is comfortable.

See
---
``uncuttable-gap``, ``tight-gap``, ``loose-strip``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.leftover.crowding import crowding_of, soldered_of
from checker.remedy import up
from checker.severity import Severity
from rules._crowding import at_closed_gaps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.measure.leftover.crowding import Crowding
    from checker.process.model import Process


@rule(severity=Severity.WARNING, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every pad with copper too near, and once the leftover copper round all."""
    if process.cut is None:
        return
    limit = process.pad_clearance
    if limit is None:
        yield Unchecked("room round soldered pads", "the profile sets no pad_clearance")
        return
    yield from _leftover(facts, process, limit)
    near = crowding_of(facts.board, limit)
    crowded = (near.distance < limit - tie(facts.board)) & ~at_closed_gaps(facts, process, near)
    for row in np.flatnonzero(crowded).tolist():
        yield _crowded(facts, near, row, limit)


def _leftover(facts: Facts, process: Process, limit: float) -> Iterator[Observation]:
    count = sum(map(len, soldered_of(facts.board)))
    clears = process.clears
    if clears is None or not count or clears.nominal >= limit - tie(facts.board):
        return
    yield Observation(
        message=f"Leftover copper {clears.nominal:.3f} mm from {count} soldered pads, "
        f"solder wants {limit:.3f} mm",
        remedy=f"Clear {up(limit):.2f} mm round pads that are soldered instead of "
        f"{clears.nominal:.2f} mm",
        cause="leftover copper round soldered pads",
        state=State.MARGINAL,
        measured=clears.nominal,
        limit=limit,
    )


def _crowded(facts: Facts, near: Crowding, row: int, limit: float) -> Observation:
    board, labels = facts.board, labels_of(facts.board)
    index, pad, facing = int(near.layer[row]), int(near.pad[row]), int(near.facing[row])
    layer, distance = board.copper[index], float(near.distance[row])
    ends = [(pad, int(layer.island_of[pad])), (facing, int(near.island[row]))]
    ends = sorted(ends, key=lambda end: (end[0] < 0, labels.rank(index, *end)))
    pins = [pin for row, _ in ends if (pin := labels.pin(index, row))]
    parts = {pin.rpartition(".")[0] for pin in pins}
    fine = len(pins) == len(ends) and len(parts) == 1
    more = up(limit - distance)
    x, y = near.at[row].tolist()
    return Observation(
        message=f"Gap {distance:.3f} mm beside a joint, solder wants {limit:.3f} mm: "
        + " and ".join(labels.standing(index, *end) for end in ends),
        remedy=f"Draw its pads {more:.2f} mm narrower, or solder with paste, flux and braid"
        if fine
        else f"Move them {more:.2f} mm apart",
        cause=f"pads of {min(parts)} near each other" if fine else "joints near other copper",
        state=State.MARGINAL,
        measured=distance,
        limit=limit,
        side=layer.side,
        x=x,
        y=y,
        nets=tuple(labels.net(index, island) for _, island in ends),
        pins=tuple(pins),
    )
