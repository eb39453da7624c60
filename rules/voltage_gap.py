"""Nets nearer to each other than the voltage between them asks for.

Measures
--------
The least distance of every net with a voltage (``nets`` in a board note or the profile) to every
other net on the same side, at the foot of the channel, where a cone leaves it narrowest. Undrawn
copper that stays conducts: by way of it only the copper-free bands round two nets count
(``cleared_width``, or ``cleared`` of the net), however far apart they are. The limit follows from
the voltage between the two. Above 42.4 V peak or 60 V steady a net is hazardous: towards any other
it needs reinforced creepage, to its like basic creepage, and the cut (``bit``) is taken at its
narrowest. Else the spacing of uncoated conductors holds, or that of leads between two pads, for the
nominal cut, and what fails it is marginal.

Why
---
A channel of 0.2 mm is good for 30 V. Dust, flux and damp creep along its rough floor, and an arc
along mains copper burns the board or passes the mains to what people touch.

Fix
---
Move the nets apart by what is told, or clear the copper round the net as wide as is told and write
that into the board note: ``LIVE: {voltage: 230 V ac, cleared: 5 mm}``. Of nets that need not carry
such a voltage, say so.

Limits
------
A net without a voltage is taken for common ground, 0 V. That a gap opens at all is told elsewhere.
Two alternating voltages are taken for one supply: between phases of a three-phase supply, or across
a motor's capacitor, stands more. Copper of a third net in between is judged on its own, not as a
step of the way. Ways round the board's edge, through holes or over slots, to the other side, to
screws and to the housing are not measured. Coating is not credited. Pollution degree 2, laminate of
group III, up to 2000 m. Neither a finding nor none is a safety approval: of dangerous voltage local
code and licensed practice decide.

Sources
-------
IPC-2221, Generic Standard on Printed Board Design, table 6-1, B2 and A6; IEC 60664-1, Insulation
Coordination, table F.4; IEC 62368-1, limits of ES1; all as reproduced elsewhere.

See
---
``hot-copper``, ``tight-gap``, ``uncut-foil``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Kind, Unchecked
from checker.electrical import spoken
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.copper.spacing import nearest_of
from checker.remedy import up
from checker.severity import Severity
from rules._bands import by_leftover
from rules._ratings import demand, narrowing, ratings_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Rating
    from checker.measure import Facts
    from checker.measure.copper.spacing import Nearest
    from checker.process.model import Process

_SHARED = 0.5  # mm; so coarsely nets are looked for, so that processes share what is measured


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every two nets too near, then leftover copper that brings nets too near."""
    ratings, missing = ratings_of(facts.board, process)
    yield from missing
    live = frozenset(net for net, rating in ratings.items() if rating.volts)
    if ratings and not live:
        yield Unchecked("voltages", "no net has one: a board note or the profile can name them")
    elif live and process.cut is None:
        yield Unchecked("voltages", "the process cuts no gaps of its own")
    elif live:
        known = [None, *ratings.values()]
        largest = max(demand(a, b, pads=True).limit for a in known for b in known)
        reach = up(largest + narrowing(process, worst=True), _SHARED)
        for nearest in nearest_of(facts.board, live, reach):
            for row in range(len(nearest)):
                yield from _straight(facts, process, ratings, nearest, row)
        yield from by_leftover(facts.board, process, ratings)


def _straight(
    facts: Facts, process: Process, ratings: dict[int, Rating], nearest: Nearest, row: int
) -> Iterator[Observation]:
    labels, layer = labels_of(facts.board), nearest.layer
    one, other = (ratings.get(net) for net in nearest.nets[row].tolist())
    ends = list(zip(nearest.objects[row].tolist(), nearest.islands[row].tolist(), strict=True))
    pads = all(labels.kind(layer, thing) == Kind.PAD for thing, _ in ends)
    asked, opened = demand(one, other, pads=pads), float(nearest.distance[row])
    if process.bit is not None and process.cut is not None:
        opened = max(opened, process.cut.nominal)
    gap = opened - narrowing(process, worst=asked.hazardous)
    if gap >= asked.limit - tie(facts.board):
        return
    x, y = ((nearest.a[row] + nearest.b[row]) / 2).tolist()
    between = " and ".join(sorted(labels.standing(layer, *end) for end in ends))
    low, high = sorted((one, other), key=lambda rating: abs(rating.volts or 0) if rating else 0)
    yield Observation(
        message=f"{max(gap, 0):.3f} mm left between {between}, {asked.words}",
        remedy=f"Move them {up(asked.limit - gap):.2f} mm farther apart",
        cause=f"{spoken(high)} nearer than {asked.limit:.2f} mm to {spoken(low)}",
        state=State.NOT_MAKEABLE if asked.hazardous else State.MARGINAL,
        measured=max(gap, 0),
        limit=asked.limit,
        side=facts.board.copper[layer].side,
        x=x,
        y=y,
        nets=tuple(sorted(labels.net(layer, island) for _, island in ends)),
        pins=tuple(sorted(filter(None, (labels.pin(layer, thing) for thing, _ in ends)))),
    )
