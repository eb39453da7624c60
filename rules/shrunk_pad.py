"""Pads that lose too much of their copper where the path bites into them.

Measures
--------
Where a gap opens only because the path may run into the copper (``bite``), the cut is simulated:
it takes from both sides alike as much as the narrowest spot of the gap asks for. The copper that is
left of each pad is measured against four fifths of what was drawn.

Why
---
A pad holds to the laminate by its area. A narrowed one lifts under the iron, and a lead that no
longer lies on copper with both edges is hard to solder.

Fix
---
Take a footprint with narrower pads and wider gaps, or a narrower cut that needs no bite.

Limits
------
Simulated at the nominal width. The hole of a pad is not taken off its area.

Sources
-------
``bite`` comes from the profile. That a pad should keep four fifths of its copper is common
practice, without a published source.

See
---
``eaten-copper``, ``severed-net``, ``trimmed-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.losses import losses
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_KEPT = 0.8  # least share of a pad's copper; common practice
_PERCENT = 100


@rule(severity=Severity.WARNING, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every pad that the bite leaves too little of."""
    labels = labels_of(facts.board)
    for index, loss in losses(facts, process):
        layer = facts.board.copper[index]
        for row, left in zip(loss.pad.tolist(), loss.pad_left.tolist(), strict=True):
            if left >= _KEPT:
                continue
            island, pin = int(layer.island_of[row]), labels.pin(index, row)
            x, y = layer.objects.shape[row].centroid.coords[0]
            part = f" of {pin.partition('.')[0]}" if pin else ""
            yield Observation(
                message=f"{_PERCENT * left:.0f} % of {pin or 'a pad'} is left after the bite, "
                f"{_PERCENT * _KEPT:.0f} % are to stay",
                remedy=f"Make the pads{part} narrower or use a finer cut, so that at most "
                f"{_PERCENT * (1 - _KEPT):.0f} % of a pad goes",
                cause=f"pads{part} that the bite makes too small",
                state=State.MARGINAL,
                side=layer.side,
                x=x,
                y=y,
                nets=(labels.net(index, island),) if island >= 0 else (),
                pins=(pin,) if pin else (),
            )
