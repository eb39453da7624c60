"""Thermal reliefs whose slots the tool does not open, so that the pad stays joined all round.

Measures
--------
The slot between a pad and the pour of its own net, the median round the pad, against the nominal
width of the cut (``bit``, for etching ``minimum_gap``). A pad has a relief where a quarter
of its edge or more faces the pour across a slot of at most 1.5 mm and most of the rest is joined.

Why
---
The slots of a relief are there so that the pour does not draw the heat off the joint. A cutter that
does not fit leaves the copper whole: the solder will not flow, the iron stays long, the pad lifts.

Fix
---
Set the relief's gap in the layout to the width of the cut or more, by the amount told, with spokes
of 0.5 mm or wider; or use a narrower cut; or heat the whole board from below while soldering.

Limits
------
Spokes that are too narrow are told as thin copper. The pads that ``solid-joint`` leaves out are
left out here. A slot narrower in one place than the median is not seen.

Sources
-------
The width of the cut follows from the profile. Gaps of a cut's width and spokes from 0.5 mm are
common practice, without a published source.

See
---
``solid-joint``, ``thin-copper``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.copper.reliefs import reliefs_of
from checker.remedy import up
from checker.severity import Severity
from rules._pours import at_pad

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_FACED = 0.25  # share of its edge that a pad with a relief turns to the pour at least
_ENCLOSED = 0.75  # share that is joined or faces it


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every relieved pad whose slot is narrower than the cut."""
    if process.cut is None:
        return
    limit, narrow = process.cut.nominal, process.cut.nominal - tie(facts.board)
    for reliefs in reliefs_of(facts.board):
        enclosed = reliefs.joined + reliefs.faced >= _ENCLOSED
        relieved = enclosed & (reliefs.joined > 0) & (reliefs.faced >= _FACED)
        rows = np.flatnonzero(relieved & (reliefs.slot < narrow))
        for _, members in alike(np.zeros(len(rows), dtype=np.int64), reliefs.slot[rows]):
            slots = reliefs.slot[rows[members]]
            for row, slot in zip(rows[members].tolist(), slots.tolist(), strict=True):
                yield at_pad(
                    facts.board,
                    reliefs.layer,
                    int(reliefs.pad[row]),
                    f"Slot of a thermal relief {slot:.3f} mm, the cut is {limit:.3f} mm",
                    f"Set the relief's gap to {up(process.cut.most):.2f} mm",
                    f"thermal reliefs with slots of {spoken(slots)}",
                    State.MARGINAL,
                    slot,
                    limit,
                )
