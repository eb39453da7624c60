"""Gaps between two nets that no pass of the tool opens, so that the nets stay joined.

Measures
--------
For each place where copper of two nets comes near, the widest cut that still separates them: the
distance where the sides run along each other, more where the tool clears the neck from both sides.
It is compared with the nominal width of the cut (``bit``), after biting as far into copper as the
profile allows (``bite``). For etching the distance is compared with ``minimum_gap``. Widths nearer
to each other than drawing and measuring are exact are told as "at the limit" and weigh less. Nets
that end up in one piece through copper of third nets are counted together. A gap that runs on at
one width is one place, told at its narrowest and by one rule on gaps only.

Why
---
The tool cannot leave a slot narrower than itself. A path generator skips such a gap without a word
or cuts into the copper; either way the board comes off the machine with a short, or without a pad.

Fix
---
Cut shallower if the tool is a cone and the foil is still cut through; take a sharper or finer bit;
narrow the pads, widen the pour's clearance, or move the copper apart. Each remedy names the length
at which the place opens with margin.

Limits
------
Nets are known from layer attributes, else from a netlist, else from what is drawn; in the last case
two nets that the layout joins are one here. Poured copper without a net's name that no pad, no hole
and no opening of the mask stands on joins nothing, so it counts to the net it lies nearest to: that
it stays joined to that one is not told. A cutter may stand in any pocket that holds it, also where
it would have to be set down from above.

Sources
-------
The widths come from the profile, each with the source the profile names. Separation by a round tool
is the opening of the free space by a disc, a standard operation of mathematical morphology.

See
---
``trimmed-gap``, ``tight-gap``, ``uncut-foil``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import rule
from checker.isolation import Fate, joined_nets
from checker.severity import Severity
from rules._gaps import Speech, tallied, told, tool

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.findings import Observation
    from checker.measure import Facts
    from checker.process.model import Process
    from rules._gaps import Place


def _speech(facts: Facts, process: Process) -> Speech | None:
    cut = process.cut
    if cut is None:
        return None
    group_size = joined_nets(facts, process).size
    needs = f"{tool(process)} {cut.nominal:.3f} mm"
    bite = f" even when biting {process.bite:.3f} mm into copper" if process.bite else ""

    def of(place: Place) -> Observation:
        outcome = f"at the limit, {place.between} may stay joined"
        if place.fate is Fate.JOINED:
            size = group_size[place.net_numbers[0]]
            others = f", {size} nets in one piece" if size > 2 else ""
            outcome = f"{place.between} stay joined{bite}{others}"
        return place.seen(needs, outcome, limits[place.fate])

    # Short of the width that surely opens, so that of places at the limit the narrowest is worst.
    limits = {Fate.JOINED: cut.nominal, Fate.AT_LIMIT: cut.nominal + tie(facts.board)}
    return Speech(limits, of)


def tally(facts: Facts, process: Process) -> Iterator[tuple[Observation, int]]:
    """The causes of what `check` says, and how many gaps have each."""
    return tallied(facts, process, _speech(facts, process))


@rule(severity=Severity.ERROR, tally=tally, of_gaps=True, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """Every gap of two nets that stays shut at the nominal cut."""
    return told(facts, process, _speech(facts, process))
