"""A hole for which no drill is at hand.

Measures
--------
The diameter of every round hole against ``drills.sizes``: a drill serves where it differs by no
more than ``drills.tolerance``. Holes wider than ``outline.cutter`` by 0.2 mm or more need no drill:
the cutter goes round in them. With a drill up to 0.3 mm wider the hole is marginal, otherwise not
makeable.

Why
---
A drill of another size is what ends up in the chuck: too small, and the lead doesn't go in; too
large, and the copper ring gets narrow and the lead stands in a hole that solder hardly bridges.

Fix
---
Draw the hole in a size that is at hand, or buy the drill.

Limits
------
Slots are left to ``narrow-slot``, vias that are too small for their wire to ``undersized-hole``.
Whether a lead fits is not judged: the files don't say how thick it is. What a wider drill takes of
the pad is told with it; where no drill at hand serves, the rules on rings reckon with the hole as
drawn.

Sources
-------
``drills.sizes`` and ``drills.tolerance`` come from the profile, which names their sources. That
holes 0.3 mm too wide make poor joints, and that a cutter wants 0.2 mm to go round: common practice.

See
---
``narrow-slot``, ``many-drills``, ``undersized-hole``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.uses import Use, uses_of
from checker.severity import Severity
from rules._holes import EXACT, drill_for, milled, names, rounds, two_sided, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_LOOSE = 0.3  # a hole wider than asked for by more makes a poor joint (common trade practice)


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every round hole that no tool at hand makes."""
    board, sizes = facts.board, process.drills.sizes
    if sizes is None:
        yield Unchecked("drills for the holes", "the profile sets no drills.sizes")
        return
    if (missing := unread(board, "drills for the holes")) is not None:
        yield missing
        return
    uses = uses_of(board)
    wired = (process.joints.wire or 0.0) + process.joints.play if two_sided(board) else 0.0
    for index, hole in rounds(board):
        size = hole.diameter
        if drill_for(process, size) is not None or milled(process, size):
            continue
        if uses.use[index] == Use.VIA and size < wired - tie(board):
            continue  # the via has to be drawn anew anyway
        below = max((one for one in sizes if one < size), default=None)
        above = min((one for one in sizes if one > size), default=None)
        near = [one for one in (below, above) if one is not None]
        listed = " and ".join(f"{one:.2f}" for one in near)
        wider = 0.0 if above is None else above - size
        fits = above is not None and wider <= _LOOSE + EXACT
        nets, pins = names(board, [index])
        ring = ""
        if fits and uses.use[index] != Use.MECHANICAL:
            ring = f", which takes {wider / 2:.3f} mm off its ring"
        yield Observation(
            message=f"Hole of {size:.2f} mm, the next drill{'s'[: len(near) > 1]} at hand "
            f"{'are' if len(near) > 1 else 'is'} {listed} mm" + where(board, index),
            remedy=f"Use a drill of {above:.2f} mm instead of {size:.2f} mm{ring}"
            if fits
            else f"Buy a drill of {size:.2f} mm",
            cause=f"no drill for holes of {size:.2f} mm",
            state=State.MARGINAL if fits else State.NOT_MAKEABLE,
            measured=size,
            limit=min(near, key=lambda one: abs(one - size)),
            x=float(uses.at[index, 0]),
            y=float(uses.at[index, 1]),
            nets=nets,
            pins=pins,
        )
