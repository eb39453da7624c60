"""Holes drilled into each other.

Measures
--------
Round hits whose edges touch or overlap, and hits and slots named twice. Hits that overlap in a
chain are one place, told with their number and length.

Why
---
A drill that enters half in laminate and half in air is pushed aside: it bends, cuts crooked, and
a thin one snaps. A hit at the same place again does no harm but takes time, and wears what it
rubs.

Fix
---
Draw a chain of hits as a slot, which a cutter mills; move two holes apart; leave out what stands
there twice.

Limits
------
A hit that runs into a slot is not told: slots are milled after drilling, and a cutter stands a side
load. Repeated holes leave the verdict alone.

Sources
-------
Common trade practice: no drill is led into a hole's edge.

See
---
``thin-web``, ``narrow-slot``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.holes.uses import Use, uses_of
from checker.measure.holes.webs import clusters_of, webs_of
from checker.remedy import STEP, up
from checker.severity import Severity
from rules._holes import EXACT, names, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.measure.holes.webs import Cluster
    from checker.process.model import Process


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every cluster of holes once."""
    board = facts.board
    if (missing := unread(board, "overlapping holes")) is not None:
        yield missing
        return
    if webs_of(board).reach < 0:
        yield Unchecked("overlapping holes", "too many holes lie within each other")
        return
    for cluster in clusters_of(board):
        sizes = sorted({board.holes[one].diameter for one in cluster.holes})
        size = " and ".join(dict.fromkeys(f"{one:.2f}" for one in (sizes[0], sizes[-1]))) + " mm"
        nets, pins = names(board, cluster.holes)
        nets = tuple(sorted(nets))
        called = ", ".join(pins or nets)
        overlap = max(STEP, -cluster.deepest)
        if cluster.repeats:
            message = f"{len(cluster.holes)} hits of {size} within each other, 1 makes the hole"
            cause = "holes drilled more than once"
        else:
            message = (
                f"{len(cluster.holes)} hits of {size} overlap by {overlap:.2f} mm, may not at all"
            )
            cause = f"overlapping hits of {size}"
        yield Observation(
            message=message + (f": {called}" if called else ""),
            remedy=_remedy(board, cluster, process.web or 0.0),
            cause=cause,
            state=State.REMARK if cluster.repeats else State.MARGINAL,
            measured=None if cluster.repeats else overlap,
            limit=None if cluster.repeats else 0.0,
            x=cluster.at[0],
            y=cluster.at[1],
            nets=nets,
            pins=pins,
        )


def _remedy(board: Board, cluster: Cluster, web: float) -> str:
    """What takes the place of the hits."""
    count, uses = len(cluster.holes), uses_of(board)
    if cluster.repeats:
        sizes = [board.holes[one].diameter for one in cluster.holes]
        kept = f", keep that of {max(sizes):.2f} mm" * (max(sizes) > min(sizes) + EXACT)
        return f"Leave out {count - 1} of the {count} hits" + kept
    if count > 2 and cluster.straight:
        width = board.holes[cluster.holes[0]].diameter
        return f"Draw a slot {width:.2f} mm wide and {cluster.length:.2f} mm long instead"
    if count > 2:
        return f"Draw one cut-out of {cluster.length:.2f} mm in place of the {count} hits"
    vias = {Use(uses.use[one]) for one in cluster.holes} == {Use.VIA}
    if vias and len({uses.nets[one] for one in cluster.holes}) == 1:
        return "Leave out 1 of the 2 vias"
    return f"Move them {up(web - cluster.deepest):.2f} mm apart"
