"""Copper that carries current through less width than survives the process.

Measures
--------
Every neck of copper with wider copper at both ends: its narrowest width and how far the copper
stays about that narrow, against ``minimum_trace``. Necks no longer than ``short_neck`` are
marginal, and so are those that lead to no pad, no hole and no opening of the solder mask; other
longer ones are not makeable. Pads that are narrow themselves are left out.

Why
---
The tool pulls at the foil while it cuts, and heat of the iron weakens the bond: a narrow strip
peels, and the longer it is the less holds it. What is left carries less current and runs warmer.

Fix
---
Widen the trace by the amount told, give the pour a larger minimum width, or solder a wire along it.

Limits
------
Widths are those drawn: what a bite takes off is not counted here. Copper that ends in the open,
such as a stub, is not judged, nor a pad of a shape of its own that has a waist, nor, where a drill
file tells what has no hole, letters and tips of pours: copper without a pad or a hole, behind one
neck, and nowhere as wide as ``minimum_trace``.

Sources
-------
``minimum_trace`` and ``short_neck`` come from the profile, which names their sources. The trade
reports 0.2 to 0.4 mm for milled copper: PCB services, design rules (Michigan State University,
electrical and computer engineering); PCB milling (McMaster University student branch).

See
---
``eaten-copper``, ``fine-lettering``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.board import Kind, Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import UNKNOWN, kinds_of, labels_of
from checker.measure.copper.letters import carries_no_current
from checker.measure.copper.tips import lead_to_tips
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SPOT = 0.05  # mm; what is shorter has no length to tell
_WORD = {Kind.TRACE: "Trace", Kind.POUR: "Neck of a pour", UNKNOWN: "Neck of copper"}
_END = 2  # what a neck leads to ends in the open
_HOW = "", "short ", "dead-end "
_PLURAL = {Kind.TRACE: "traces", Kind.POUR: "necks of pours", UNKNOWN: "necks of copper"}


@rule(severity=Severity.ERROR, asks=("necks",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every neck narrower than the process's minimum."""
    limit = process.minimum_trace
    if limit is None:
        yield Unchecked("width of copper", "the profile sets no minimum_trace")
        return
    labels, narrow = labels_of(facts.board), limit - tie(facts.board)
    found, pattern, width = [], [], []
    for index, (layer, necks) in enumerate(zip(facts.board.copper, facts.necks, strict=True)):
        kind = kinds_of(layer, necks.object)
        short, ends = necks.length <= process.short_neck, np.zeros(len(kind), bool)
        rows = np.flatnonzero(necks.carries & (necks.width < narrow) & (kind != Kind.PAD))
        if len(rows) and facts.board.holes:  # letters carry nothing; without holes pads look alike
            rows = rows[~carries_no_current(facts.board, index)[necks.island[rows]]]
            poured = rows[kind[rows] == Kind.POUR]
            tips = lead_to_tips(facts.board, index, necks, poured, narrow)
            rows = rows[~np.isin(rows, tips)]
            ends[lead_to_tips(facts.board, index, necks, rows[~short[rows]])] = True
        found += [(index, row) for row in rows.tolist()]
        pattern += (3 * kind[rows] + np.where(ends, _END, short)[rows]).tolist()
        width += necks.width[rows].tolist()
    for code, members in alike(np.array(pattern), np.array(width)):
        kind_code, how = divmod(code, 3)
        name = _HOW[how] + _PLURAL[kind_code]
        cause = f"{name} {spoken(np.array(width)[members])} wide"
        for member in members.tolist():
            index, row = found[member]
            layer, necks = facts.board.copper[index], facts.necks[index]
            (x, y), island = necks.at[row].tolist(), int(necks.island[row])
            near = labels.near(x, y, layer.side)
            where = ", ".join(filter(None, (layer.net_name[island], near and f"near {near}")))
            yield Observation(
                message=f"{_WORD[kind_code]} {width[member]:.3f} mm wide"
                + (f" over {length:.1f} mm" if (length := necks.length[row]) >= _SPOT else "")
                + f", copper survives from {limit:.3f} mm"
                + ", it leads nowhere" * (how == _END)
                + (f": {where}" if where else ""),
                remedy=f"Give the pour a minimum width of {up(limit):.2f} mm"
                if kind_code == Kind.POUR
                else f"Widen it by {up(limit - width[member]):.2f} mm",
                cause=cause,
                state=State.MARGINAL if how else State.NOT_MAKEABLE,
                measured=width[member],
                limit=limit,
                side=layer.side,
                x=x,
                y=y,
                nets=(labels.net(index, island),),
            )
