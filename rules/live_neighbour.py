"""Leads on a perfboard nearer to each other than the voltage between them asks for.

Measures
--------
For every net with a voltage (``nets`` in a board note or the profile): the least laminate between
the pad of one of its leads and that of a lead of another net, against what the voltage between the
two asks for. Pads between them are passed for nothing, as copper that floats is.

Why
---
From pad to pad a perfboard leaves half a millimetre, and every hole has a pad, wanted or not. That
is little for more than a battery, and nothing for mains: flux and dust do the rest.

Fix
---
Leave as many holes free as told, or take the pads between off with a large drill or a knife.
Better keep dangerous voltages off perfboard.

Limits
------
Only leads count, where they end up once their parts are on the grid; wires and solder run over
further pads. Slots cut into the board are not known. Neither a finding nor none is a safety
approval: of mains local code and licensed practice decide.

Sources
-------
IPC-2221, Generic Standard on Printed Board Design, table of spacings; IEC 60664-1 for creepage with
a voltage that must not be touched, pollution degree 2, material group III, and for floating copper.
``grid.pitch`` and ``grid.pad`` come from the profile.

See
---
``voltage-gap``
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.electrical import spoken
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of, natural
from checker.measure.whole.grid import clear_way
from checker.methods import PERFBOARD
from rules._edge import unset
from rules._holes import names
from rules._perfboard import grid_or_why
from rules._ratings import demand, ratings_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "voltages between leads"


@rule(methods=(PERFBOARD,))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """The nearest leads of every two nets too near each other."""
    ratings, missing = ratings_of(facts.board, process)
    yield from missing
    if ratings and not any(rating.volts for rating in ratings.values()):
        yield Unchecked("voltages", "no net has one: a board note or the profile can name them")
        return
    if not ratings:
        return
    board, pad = facts.board, process.grid.pad
    grid = grid_or_why(board, process, _SUBJECT)
    if isinstance(grid, Unchecked) or pad is None:
        yield grid if isinstance(grid, Unchecked) else unset(_SUBJECT, "grid.pad")
        return
    leads, label = grid.leads, labels_of(board).net_at
    nets = sorted(set(leads.net[leads.net >= 0].tolist()), key=lambda net: natural(label(net)))
    for pair in (two for two in combinations(nets, 2) if not ratings.keys().isdisjoint(two)):
        one, other = (ratings.get(net) for net in pair)
        asked = demand(one, other, pads=True)
        if not asked.limit:
            continue
        rows, columns = (np.flatnonzero(leads.net == net) for net in pair)
        steps = (grid.cell[rows, None] - grid.cell[columns]).reshape(-1, 2)
        gaps = clear_way(steps, grid.pitch, pad)
        if (gap := float(gaps.min())) >= asked.limit - tie(board):
            continue
        near = np.flatnonzero(gaps <= gap + tie(board)).tolist()
        ends = [(int(rows[k // len(columns)]), int(columns[k % len(columns)])) for k in near]
        a, b = min(ends, key=lambda two: [natural(leads.pin[row]) for row in two])
        x, y = ((leads.at[a] + leads.at[b]) / 2).tolist()
        low, high = sorted((one, other), key=lambda own: abs(own.volts or 0) if own else 0)
        free = math.ceil(asked.limit / (grid.pitch - pad)) - 1
        bare = math.ceil((asked.limit + pad) / grid.pitch) - 1
        called = [leads.pin[row] or label(int(leads.net[row])) for row in (a, b)]
        yield Observation(
            message=f"{gap:.3f} mm of laminate from pad to pad between {called[0]} and "
            f"{called[1]}, {asked.words}",
            remedy=f"Leave {_holes(free)} free between them in a row"
            + f", or {bare} with their pads off" * (bare < free),
            cause=f"{spoken(high)} nearer than {asked.limit:.2f} mm to {spoken(low)}",
            state=State.NOT_MAKEABLE if asked.hazardous else State.MARGINAL,
            measured=gap,
            limit=asked.limit,
            x=x,
            y=y,
            nets=tuple(label(net) for net in pair),
            pins=names(board, [int(leads.hole[row]) for row in (a, b)])[1],
        )


def _holes(count: int) -> str:
    return f"{count} hole{'s'[: count != 1]}"
