"""Pads joined all round to more copper than an iron heats.

Measures
--------
The share of a pad's edge that is copper just outside it, against nine tenths, and the area of the
copper it belongs to, against ``joints.plane_area``.

Why
---
Copper carries heat off faster than a hand iron brings it. The solder freezes before it wets the
pour, or the iron stays until the pad lets go of the laminate.

Fix
---
Give the pad a thermal relief: two to four spokes of 0.5 mm and a gap of the cut's width. Or heat
the board from below, or use a bigger iron and tip.

Limits
------
Pads of vias and of screws are left out, by their function or by a hole that takes no lead; so are
round pads below 0.9 mm, which are balls under a chip or vias, and what the files call a heat sink.
Where they don't say so, the heat sink of a part is told like any other pad.

Sources
-------
``joints.plane_area`` comes from the profile. That an iron of 40 W hardly heats more than about
1 cm2 is common practice, from memory.

See
---
``lost-relief``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.copper.reliefs import reliefs_of
from checker.remedy import up
from checker.severity import Severity
from rules._pours import at_pad

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_JOINED = 0.9  # share of a pad's edge from which it has no relief at all


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every pad without a relief in a large pour."""
    if process.cut is None:
        return
    limit = process.joints.plane_area
    if limit is None:
        yield Unchecked("pads in large pours", "the profile sets no joints.plane_area")
        return
    for reliefs in reliefs_of(facts.board):
        for row in np.flatnonzero((reliefs.joined >= _JOINED) & (reliefs.copper > limit)).tolist():
            yield at_pad(
                facts.board,
                reliefs.layer,
                int(reliefs.pad[row]),
                f"Joined all round to {reliefs.copper[row]:.0f} mm2 of copper, an iron heats "
                f"{limit:.0f} mm2",
                f"Give the pad a relief with a gap of {up(process.cut.most):.2f} mm, or heat the "
                "board from below",
                "pads joined all round to a large pour",
                State.REMARK,
            )
