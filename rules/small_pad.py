"""Pads that stand alone and have too little copper to hold on to the board.

Measures
--------
Pads to be soldered that no trace and no pour holds on their side: their copper less the hole,
against ``joints.pad_area_hole`` or, without a hole, ``joints.pad_area_surface``. Both pads of a
lead count together; those of leads soldered on the other side, where copper joins, are left out,
and so are pads round holes of 2.5 mm and more, which take screws, unless a part has its lead there.

Why
---
No plated barrel holds a pad at home, only the bond of its foil, and that weakens with every second
of the iron. A trace that leaves the pad holds it; a small pad by itself comes off with the lead.

Fix
---
Give the pad more copper, or let a stub of a trace hold it. Solder it last and briefly.

Limits
------
A pad that joins nothing loses only its hold, and is told as advice. Areas are a rule of thumb.

Sources
-------
``joints.pad_area_hole`` and ``joints.pad_area_surface`` come from the profile; common practice.

See
---
``shrunk-pad``, ``idle-pad``
"""

from __future__ import annotations

from functools import lru_cache
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.measure.leftover.crowding import bare_pads_of
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from checker.board import Board, Floats
    from checker.measure import Facts
    from checker.measure.leftover.crowding import Bare
    from checker.process.model import Process

_AREA_ERROR = 0.005  # mm2: chords of round pads; what is less is drilled away


@rule(severity=Severity.NOTE)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every lone pad with less copper than holds it."""
    found, held = bare_pads_of(facts.board), _held(facts.board)
    for key, rows in (("pad_area_hole", found.hole > 0), ("pad_area_surface", found.hole == 0)):
        limit = getattr(process.joints, key)
        if limit is not None:
            small = rows & (held > _AREA_ERROR) & (held < limit - _AREA_ERROR)
            for row in np.flatnonzero(small).tolist():
                yield _small(facts, found, row, (float(held[row]), limit))
        elif rows.any():
            yield Unchecked("copper of lone pads", f"the profile sets no joints.{key}")


@lru_cache(maxsize=1)
def _held(board: Board) -> Floats:
    """Copper that holds each lone pad, mm2; inf where other copper does."""
    found = bare_pads_of(board)
    place = list(zip(found.layer.tolist(), found.island.tolist(), strict=True))
    area = dict(zip(place, found.area.tolist(), strict=True))
    partner = _partners(board)
    held = found.area.copy()
    for row, own in enumerate(place):
        # A lead holds by its pads on both sides: told once, and not where copper leaves the other.
        if (other := partner.get(own)) is not None:
            held[row] += area.get(other, inf) if own < other else inf
    return held


def _partners(board: Board) -> Mapping[tuple[int, int], tuple[int, int]]:
    """Layer and island of a lead's copper -> those of its copper on the other side."""
    joints = joints_of(board)
    index = {la.side: index for index, la in enumerate(board.copper)}
    pairs: dict[tuple[int, int], tuple[int, int]] = {}
    for top, bottom in joints.island[(joints.island >= 0).all(axis=1)].tolist():
        ends = [(index[side], island) for side, island in zip(SIDES, (top, bottom), strict=True)]
        pairs |= {ends[0]: ends[1], ends[1]: ends[0]}
    return pairs


def _small(facts: Facts, found: Bare, row: int, areas: tuple[float, float]) -> Observation:
    labels, board = labels_of(facts.board), facts.board
    index, pad, island = int(found.layer[row]), int(found.pad[row]), int(found.island[row])
    layer, (area, limit) = board.copper[index], areas
    both = bool(area > found.area[row])  # of one lead
    whose, keep, them = ("Pads", "they keep", "them") if both else ("Pad", "it keeps", "it")
    net, pin = int(layer.net[island]), labels.pin(index, pad)
    joins = sum(int(np.count_nonzero(la.net == net)) for la in board.copper) > 1 + both
    (x, y), size = found.at[row].tolist(), float(found.hole[row])
    return Observation(
        message=f"{whose} of {area:.2f} mm2{' on both sides' * both} that no trace holds, "
        f"from {limit:.2f} mm2 {keep} to the board: {labels.standing(index, pad, island)}",
        remedy=f"Give {them} {up(limit - area):.2f} mm2 more copper, or a stub of a trace",
        cause="small lone pads " + (f"with a hole of {size:.2f} mm" if size else "without a hole"),
        state=State.MARGINAL if joins else State.REMARK,
        side=layer.side,
        x=x,
        y=y,
        nets=(labels.net(index, island),),
        pins=(pin,) if pin else (),
    )
