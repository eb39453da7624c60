"""Slots within one net that are narrower than the cut, so that current no longer goes round them.

Measures
--------
Long slots between two parts of the same copper that the nominal cut does not fit: twenty cuts long
and more, where the way round is ten times as long as that copper is wide on the average. Width of
the slot against that cut (``bit``, for etching ``minimum_gap``).

Why
---
Between two nets such a gap would be a short. Within one net copper that should have been parted
stays whole: turns of a coil are shorted, an antenna is tuned elsewhere, a shunt reads too little
and a line that senses a voltage takes it from the wrong place.

Fix
---
Widen the slot by the amount told, or cut it with a finer bit.

Limits
------
A slot in a pour, at a thermal spoke or in a letter alters nothing that matters and is not told, nor
is one between two pieces of one net, or one that a through cut of another side bridges.

Sources
-------
The width of the cut follows from the profile. Lengths from which a slot counts are our own: current
that saves less than ten squares of copper changes a resistance by less than what foil varies.

See
---
``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.copper.slots import reach_beside, slots_of
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_LONG = 20  # cuts
_SQUARES = 10  # the way round in widths of the copper


@rule(severity=Severity.NOTE)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every long slot that the cut leaves closed."""
    if process.cut is None:
        return
    board, labels, cut = facts.board, labels_of(facts.board), process.cut.nominal
    reach = reach_beside(max(facts.reach.cut, facts.reach.widest))
    slots = slots_of(board, cut, _LONG * cut, _SQUARES, reach)
    for row in range(len(slots)):
        index, island = int(slots.layer[row]), int(slots.island[row])
        width, net = float(slots.width[row]), labels.net(index, island)
        x, y = slots.at[row].tolist()
        yield Observation(
            message=f"Slot {width:.3f} mm wide and {slots.length[row]:.1f} mm long within one net "
            f"stays copper, the cut is {cut:.3f} mm wide: {net}, {slots.way[row]:.1f} mm round it",
            remedy=f"Widen it by {up(cut + tie(board) - width):.2f} mm",
            cause=f"slots within {net} narrower than the cut",
            state=State.MARGINAL,
            measured=width,
            limit=cut,
            side=board.copper[index].side,
            x=x,
            y=y,
            nets=(net,),
        )
