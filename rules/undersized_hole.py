"""A via hole too small for the wire or rivet that has to join its two sides.

Measures
--------
The drill of every via of a board with two sides, against ``joints.wire`` plus ``joints.play``: the
drill at hand that serves the hole, or its drawn diameter where none does. Marginal where the wire
goes in without play, not makeable where it doesn't.

Why
---
At home no hole is plated. What joins the two sides of a via is a wire, soldered on both, or a
rivet; into a hole drawn for a factory's plating it doesn't go.

Fix
---
Draw the via with the hole and the pad told: the pad holds the hole, the ring, and what drill and
sides may lie off. Or use thinner wire, down to 0.3 mm.

Limits
------
Only vias are judged: the files don't say how thick the lead of a component is. Which holes are vias
comes from the functions in the files, from a drill file of vias, from pads without a component or
from the netlist; where none of them tells, and the hole is that small, it is not checked.

Sources
-------
``joints.wire`` and ``joints.play`` come from the profile, which names their sources; so do
``ring``, ``drills.wander`` and the ``machine``'s errors, from which the pad follows. Wire
for vias is 0.3 to 0.6 mm thick by common trade practice.

See
---
``unowned-drill``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.uses import Use, uses_of
from checker.measure.holes.webs import repeated_of
from checker.remedy import down
from checker.severity import Severity
from rules._holes import EXACT, drill_for, names, rounds, two_sided, unread, where
from rules._rings import wired

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "holes for the wires of vias"
_THINNEST = 0.3  # wire that still goes in by hand, mm (common trade practice)


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every via that its wire hardly enters, or not at all."""
    board, wire = facts.board, process.joints.wire
    if not two_sided(board):
        return
    if wire is None:
        yield Unchecked(_SUBJECT, "the profile sets no joints.wire")
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    uses, band, limit = uses_of(board), tie(board), wire + process.joints.play
    remedy = wired(board, process)
    unknown, again = 0, repeated_of(board)
    for index, hole in rounds(board):
        size = drill_for(process, hole.diameter) or hole.diameter
        if size >= limit - band or index in again:
            continue
        if uses.use[index] != Use.VIA:
            unknown += uses.use[index] == Use.UNKNOWN
            continue
        nets, pins = names(board, [index])
        thinner = down(size - process.joints.play)
        other = process.joints.method == "wire" and thinner >= _THINNEST - EXACT
        yield Observation(
            message=f"Via hole of {size:.2f} mm, a {process.joints.method} of {wire:.2f} mm wants "
            f"{limit:.2f} mm" + where(board, index),
            remedy=remedy + (f", or use wire of {thinner:.2f} mm" if other else ""),
            cause=f"via holes of {size:.2f} mm",
            state=State.MARGINAL if size >= wire - band else State.NOT_MAKEABLE,
            measured=size,
            limit=limit,
            x=float(uses.at[index, 0]),
            y=float(uses.at[index, 1]),
            nets=nets,
            pins=pins,
        )
    if unknown:
        which = f"which of {unknown} small holes are vias"
        which = "whether 1 small hole is a via" if unknown == 1 else which
        yield Unchecked(_SUBJECT, f"the files don't say {which}")
