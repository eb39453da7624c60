"""Copper that a net's current makes warmer than allowed.

Measures
--------
For every net with a current (``nets`` in a board note or the profile): the narrowest copper between
its pads, against the width that carries the current at ``temperature_rise``. Ways side by side,
such as the spokes of a pad in a pour, count together. Width is that drawn, less ``undercut`` and
``bite`` on each edge; thickness is the least of the foil. Up to ``short_neck`` long a neck gives
its heat to the wide copper at its ends and is left out, unless it would run 100 K warmer. What runs
warmer than allowed is marginal; not makeable is what would run more than 100 K warmer in a net no
two pads of which have a way as wide as asked.

Why
---
A milled trace is trimmed, its foil is what the blank has, and nothing is plated onto it. Heat
loosens the foil, which holds by glue alone, and a neck burns through like a fuse.

Fix
---
Widen the copper to the width told, pour the net, or solder bare wire along the trace: 1 mm2 of wire
is as much copper as 28 mm of foil.

Limits
------
The current is taken to pass between all pads of the net: a thin branch to a pin that draws little
is told like the rest, and a net whose currents divide is judged by the whole. Copper is taken for
long: a neck of some millimetres between wide copper stays cooler than told. The chart holds up to
35 A and 100 K, in still air. Inner layers, joints, wires and leads are not judged. Neither a
finding nor none is a safety approval: of mains local code and licensed practice decide.

Sources
-------
IPC-2221, Generic Standard on Printed Board Design, chart of currents of outer layers in the fit I =
0.048 dT^0.44 A^0.725 (A in square mils), as reproduced elsewhere; International Annealed Copper
Standard for the resistance. ``temperature_rise``, ``foil`` and ``short_neck`` come from the
profile.

See
---
``thin-copper``, ``voltage-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.electrical import FIT_ENDS, resistance, rise_of, width_for
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.copper.carrying import links_of
from checker.methods import METHODS
from checker.remedy import up
from rules._ratings import ratings_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.measure.copper.carrying import Links
    from checker.process.model import Process

_MILLI = 1000


@rule(methods=METHODS)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every narrow link of every net with a current."""
    ratings, missing = ratings_of(facts.board, process)
    yield from missing
    loads = {net: rating.amperes for net, rating in ratings.items() if rating.amperes}
    if ratings and not loads:
        yield Unchecked("currents", "no net has one: a board note or the profile can name them")
    elif loads and not process.foil.least:
        yield Unchecked("currents", "the process has no copper of its own")
    elif loads and process.temperature_rise is None:
        yield Unchecked("currents", "the profile sets no temperature_rise")
    elif process.temperature_rise is not None:
        eaten, rise, foil = _eaten(process), process.temperature_rise, process.foil.least
        wanted = [(net, width_for(amperes, rise, foil)) for net, amperes in loads.items()]
        drawn = tuple((net, round(width + eaten - tie(facts.board), 6)) for net, width in wanted)
        for (net, width), links in zip(wanted, links_of(facts.board, drawn), strict=True):
            for row in range(len(links)):
                yield from _told(facts, process, loads[net], width, links, row)


def _eaten(process: Process) -> float:
    """How much narrower than drawn copper comes out, mm."""
    return 2 * (process.undercut + process.bite)


def _told(
    facts: Facts, process: Process, amperes: float, wanted: float, links: Links, row: int
) -> Iterator[Observation]:
    eaten = _eaten(process)
    index, island, ways = (int(c[row]) for c in (links.layer, links.island, links.ways))
    width, (x, y) = max(float(links.width[row]) - ways * eaten, 0), links.at[row].tolist()
    labels, side = labels_of(facts.board), facts.board.copper[index].side
    rise = rise_of(amperes, width, process.foil.least) if width else float("inf")
    if links.length[row] <= process.short_neck and rise <= FIT_ENDS:
        return  # the wide copper at both ends cools it
    ohms = resistance(float(links.length[row]), width, process.foil.least) if width else 0
    kelvin = f"{rise:.0f} K" if rise <= FIT_ENDS else f"more than {FIT_ENDS:.0f} K"
    name, near = labels.net(index, island), labels.near(x, y, side)
    beside = f" in {ways} ways side by side" if ways > 1 else ""
    yield Observation(
        message=f"Copper {width:.3f} mm wide{beside}, {amperes:.4g} A asks for {wanted:.3f} mm; it "
        f"would run {kelvin} warmer, {_MILLI * ohms:.1f} milliohm over {links.length[row]:.1f} mm: "
        f"{name}" + (f", near {near}" if near else ""),
        remedy=f"Widen it to {up(wanted + eaten):.2f} mm, or solder bare wire along it",
        cause=f"{name} too narrow for {amperes:.4g} A",
        state=State.NOT_MAKEABLE if links.split and rise > FIT_ENDS else State.MARGINAL,
        measured=width,
        limit=wanted,
        side=side,
        x=x,
        y=y,
        nets=(name,),
    )
