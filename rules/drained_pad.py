"""Holes inside the pads of parts that lie flat.

Measures
--------
Every hole within a pad for a surface-mounted part, by the pad's function; in layers that state no
functions, pads that a hole with a pad of its own lies in, off their middle. How far it is inside
decides the remedy. A wide hole in the middle of a part that cools through the board is meant to be
filled from the other side and is not told.

Why
---
A hole without plating is open: the solder of the pad runs off through it and leaves the joint dry.
A wire in it ends in a lump on which the part does not sit, and many small holes under a cooling pad
carry no heat, as there is no copper in them.

Fix
---
Move the hole out of the pad by the length told and join it with a trace; under a part that cools
through the board make one hole of 1 mm or more and fill it with solder from the other side.

Limits
------
Holes are judged wherever they are in the pad; one much larger than what is soldered to it may well
have room for them. Pads of test points (TP1 and so on) take no solder and are left out.

Sources
-------
Common trade practice; one hole of 1 to 2 mm under cooling pads likewise. The size of the lump comes
from the profile (``joints.head``).

See
---
``hidden-joint``
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.holes.pads import held_holes_of
from checker.measure.holes.uses import uses_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import unread
from rules._joints import lump

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_FILLED = 1.0  # mm; holes from here on are filled with solder from the other side
_MANY = 3  # so many holes in one pad carry heat
_TEST_POINT = re.compile(r"TP\d")  # class letters of IEEE 315, from memory
_HEAT = "HeatsinkPad"  # .AperFunction of the Gerber layer format


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every pad with holes in it, at their middle."""
    board = facts.board
    if (missing := unread(board, "holes in pads of parts that lie flat")) is not None:
        yield missing
        return
    held, uses, labels = held_holes_of(board), uses_of(board), labels_of(board)
    for index, row in np.unique(np.stack([held.layer, held.pad], axis=1), axis=0).tolist():
        layer = board.copper[index]
        here = np.flatnonzero((held.layer == index) & (held.pad == row)).tolist()
        heat = layer.objects.name(layer.objects.function, row) == _HEAT or len(here) >= _MANY
        size = {one: board.holes[int(held.hole[one])].diameter for one in here}
        here = [one for one in here if not heat or size[one] < _FILLED]
        if not here:
            continue
        x, y = uses.at[held.hole[here]].mean(axis=0).tolist()
        inside, diameter = float(held.inside[here].max()), max(size[one] for one in here)
        island = int(layer.island_of[row])
        pin, net = labels.pin(index, row), labels.net(index, island)
        if _TEST_POINT.match(pin or ""):
            continue
        count = f"{len(here)} holes" if len(here) > 1 else "Hole"
        out = up(inside + lump(process, diameter))
        yield Observation(
            message=f"{count} of {diameter:.2f} mm inside a pad that is soldered flat, "
            f"{inside:.2f} mm from its edge: {labels.standing(index, row, island)}",
            remedy=f"Make it one hole of {_FILLED:.2f} mm, filled with solder from the other side"
            if heat
            else f"Move the hole{'s'[: len(here) > 1]} {out:.2f} mm, out of the pad",
            cause="holes in cooling pads" if heat else "holes in pads of parts that lie flat",
            state=State.MARGINAL,
            side=layer.side,
            x=x,
            y=y,
            nets=(net,),
            pins=(pin,) if pin else (),
        )
