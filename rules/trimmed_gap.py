"""Gaps that open only where the tool bites into the copper beside them.

Measures
--------
The widest cut that separates two nets without touching drawn copper, against the nominal width of
the cut (``bit``). A place is told where that cut is too wide, but passes when the path may run into
copper as far as the profile's ``bite``. The bite told is what the place needs at most, per side.

Why
---
What the tool bites off is gone: pads and traces come out narrower than drawn by the bite on each
side that faces such a gap, and narrow copper lifts more easily when it is soldered.

Fix
---
Cut shallower if the tool is a cone and the foil is still cut through; take a finer bit; or give the
copper more room. To refuse such places, set ``bite`` to 0 in the profile.

Limits
------
The bite is an upper bound: where the tool can clear part of a neck from outside it takes less. What
is left of the copper is not judged here.

Sources
-------
``bite`` comes from the profile. That a cut through a gap narrower than itself takes half the excess
from either side is plain geometry.

See
---
``uncuttable-gap``, ``tight-gap``, ``thin-copper``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import rule
from checker.isolation import Fate
from checker.severity import Severity
from rules._gaps import Speech, tallied, told, tool

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.findings import Observation
    from checker.measure import Facts
    from checker.process.model import Process
    from rules._gaps import Place


def _speech(process: Process) -> Speech | None:
    cut = process.cut
    if cut is None:
        return None
    width = cut.nominal
    needs = f"{tool(process)} {width:.3f} mm"

    def of(place: Place) -> Observation:
        bite = min(process.bite, (width - place.fits) / 2)
        outcome = f"it opens by biting up to {bite:.3f} mm into {place.between}"
        return place.seen(needs, outcome, width)

    return Speech({Fate.TRIMMED: width}, of)


def tally(facts: Facts, process: Process) -> Iterator[tuple[Observation, int]]:
    """The causes of what `check` says, and how many gaps have each."""
    return tallied(facts, process, _speech(process))


@rule(severity=Severity.WARNING, tally=tally, of_gaps=True, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every gap of two nets that opens by biting alone."""
    return told(facts, process, _speech(process))
