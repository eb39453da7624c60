"""Nets that the cut parts where its path bites into their copper.

Measures
--------
Where a gap opens only because the path may run into the copper (``bite``), the cut is simulated on
that path with the width it has at its widest. An island of copper that is left in two pieces or
more with a pad each is told, with the place where it was parted.

Why
---
The path is led for the planned width. When the tip is blunt or the surface lies high the cut comes
out wider on the same path, and a trace that has given its share on both edges is gone. The board
then fails in use, and the fault is hard to see.

Fix
---
Widen the trace where it is parted, use a narrower cut, or solder a wire across.

Limits
------
The path is taken to run in the middle of the narrow gap. Pieces without a pad don't count, nor does
a net that another island or a wire of the same name still joins.

Sources
-------
``bite`` and the spread of the cut (``bit``, ``bed_error``) come from the profile; that a net is to
be in one piece is what a netlist says.

See
---
``eaten-copper``, ``thin-copper``, ``trimmed-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.losses import losses
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.ERROR, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for each island that falls apart."""
    if process.cut is None:
        return
    labels = labels_of(facts.board)
    # Both edges lose no more than the bite that the path may take and what the cut widens.
    wider = up(2 * process.bite + process.cut.most - process.cut.nominal)
    for index, loss in losses(facts, process):
        side = facts.board.copper[index].side
        for island, (x, y) in zip(loss.parted.tolist(), loss.parted_at.tolist(), strict=True):
            net, near = labels.net(index, island), labels.near(x, y, side)
            yield Observation(
                message=f"A cut of {process.cut.most:.3f} mm, the widest it comes out, parts "
                f"{net}" + (f", near {near}" if near else ""),
                remedy=f"Make it {wider:.2f} mm wider here, or solder a wire across",
                cause="copper that a bite cuts through",
                state=State.NOT_MAKEABLE,
                side=side,
                x=x,
                y=y,
                nets=(net,),
            )
