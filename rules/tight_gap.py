"""Gaps that open at the nominal cut but not when the cut comes out as wide as it may.

Measures
--------
The widest cut that separates two nets, against the most of the cut's spread: a tip at its bluntest,
the deepest setting where the surface lies high, all of the runout (``bit``, ``bed_error``). A place
is told where the nominal cut passes and the widest does not.

Why
---
A cone cuts wider as it goes deeper, so a high spot of the board or a worn tip closes such a gap on
one board and not on the next. The nets then stay joined, or the tool bites into the copper.

Fix
---
Cut shallower if the foil is still cut through; hold the width closer, with a flatter bed, a probed
surface or a measured bit; or give the copper more room.

Limits
------
The most is taken with every term at its worst at once, which is rare; a width measured from a
coupon narrows it. The depth is judged for the whole board, not for the place.

Sources
-------
The spread comes from the profile, each term with the source the profile names.

See
---
``uncuttable-gap``, ``trimmed-gap``, ``uncut-foil``
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
    needs = f"{tool(process)} {cut.nominal:.3f} mm, at worst {cut.most:.3f} mm"

    def of(place: Place) -> Observation:
        bites = place.fits + 2 * process.bite >= cut.most
        outcome = "may open only by biting into copper" if bites else "may stay joined"
        return place.seen(needs, f"{place.between} {outcome}", cut.most)

    return Speech({Fate.TIGHT: cut.most}, of)


def tally(facts: Facts, process: Process) -> Iterator[tuple[Observation, int]]:
    """The causes of what `check` says, and how many gaps have each."""
    return tallied(facts, process, _speech(process))


@rule(severity=Severity.WARNING, tally=tally, of_gaps=True, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every gap of two nets that the widest cut of the spread does not open."""
    return told(facts, process, _speech(process))
