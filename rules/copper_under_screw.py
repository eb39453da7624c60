"""Copper that the head of a screw reaches.

Measures
--------
From the edge of each hole of 2.0 to 6.5 mm that is not plated and has no pad to the nearest drawn
copper of each net on either side, against ``joints.screw_room``. Only a remark where the screws of
the board, of a panel each board by itself, reach no more than one net. A pour without a pad
and a hole is none.

Why
---
No solder mask keeps head, washer and nut off the copper. A screw grips through what is there, and
joins it to the case, to its standoff, or to the next net under the head.

Fix
---
Move the copper or the hole by the amount told, leave it out of the pour, or put a nylon washer
under the head.

Limits
------
The files don't tell which hole takes a screw: pegs of plugs and sockets stand in such holes too. A
hole under a part is taken for that of a peg, where the files tell of parts. Undrawn copper is not
counted: it stays round the hole and is joined to nothing else.

Sources
-------
``joints.screw_room`` comes from the profile, which names its source. Clearance holes of M2 to M6
are 2.2 to 6.6 mm wide (ISO 273, fine and medium), from memory.

See
---
``foreign-copper-at-hole``
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind, Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.holes.bare import surroundings_of
from checker.measure.holes.paths import paths_of
from checker.remedy import up
from checker.severity import Severity
from rules._edge import parts_of
from rules._holes import unread
from rules._rings import take_screws

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "copper under screws"


@rule(severity=Severity.WARNING, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every screw hole on every side on which it reaches copper."""
    board, limit = facts.board, process.joints.screw_room
    if limit is None:
        yield Unchecked(_SUBJECT, "the profile sets no joints.screw_room")
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    near, labels = surroundings_of(board), labels_of(board)
    screw = take_screws(board)
    rows = np.flatnonzero(screw[near.hole] & (near.away < limit - tie(board))).tolist()
    parts, nets = parts_of(board, near.hole[rows]), set[tuple[int, int]]()
    for row, part in zip(rows, parts, strict=True):
        index, island = int(near.layer[row]), int(near.island[row])
        if _joins(board, index, island):
            nets.add((part, int(board.copper[index].net[island])))
    reached = Counter(part for part, _ in nets)
    for place, part in zip(rows, parts, strict=True):
        distance, size = float(near.away[place]), board.holes[near.hole[place]].diameter
        index, island, row = (int(i[place]) for i in (near.layer, near.island, near.object))
        what, pin = labels.standing(index, row, island), labels.pin(index, row)
        away = up(limit - distance)
        x, y = near.at[place].tolist()
        far = f"{distance:.3f} mm from" if distance > 0 else "cut by"
        yield Observation(
            message=f"{what[0].upper() + what[1:]} is {far} a hole of {size:.2f} mm, a screw wants "
            f"{limit:.3f} mm",
            remedy=f"Keep the pour {away:.2f} mm farther off, or use a nylon washer"
            if labels.kind(index, row) == Kind.POUR
            else f"Move it {away:.2f} mm away, or use a nylon washer",
            cause=f"copper within {limit:.2f} mm of screw holes of {size:.2f} mm",
            state=State.MARGINAL if reached[part] > 1 else State.REMARK,
            measured=max(distance, 0.0),
            limit=limit,
            side=board.copper[index].side,
            x=x,
            y=y,
            nets=(labels.net(index, island),),
            pins=(pin,) if pin else (),
        )


def _joins(board: Board, index: int, island: int) -> bool:
    """Whether an island is more than a pour with its outline that no pad and no hole meets."""
    layer = board.copper[index]
    kinds = layer.objects.kind[layer.island_of == island]
    radius = np.array([hole.diameter / 2 for hole in board.holes])
    drilled = shapely.dwithin(paths_of(board.holes), layer.islands[island], radius)
    traces = Kind.TRACE in kinds and Kind.POUR not in kinds
    alone = (layer.net == layer.net[island]).sum() == 1
    return bool(traces or Kind.PAD in kinds or drilled.any() or not alone)
