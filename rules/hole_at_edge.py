"""A hole or slot too near to the edge of the board.

Measures
--------
Laminate between each hole or slot and the nearest edge, cut-outs included, against
``outline.hole_clearance``; negative where the hole crosses the edge.

Why
---
The rim between a hole and the edge is thin glass and resin with the drill pushing from one side and
the outline cutter from the other: it breaks out, at the latest when a screw or a lead pulls at it.
Where a hole crosses the edge the second tool runs into a void and is pulled aside.

Fix
---
Move the hole inwards by the length told, or drill it smaller.

Limits
------
Holes outside the edge as a whole are tooling and left out, and so are those that the edge shows as
a cut-out too, and holes set on a sharp inside corner to relieve it. Plated holes across the edge
are left to ``plated-edge``. Rows of holes to break the board off along are meant to be weak: bare
ones of 1 mm or less, 1.5 mm or less from the next of their size, are left out.

Sources
-------
``outline.hole_clearance`` comes from the profile, which names its source; 0.5 to 1 mm is common
trade practice.

See
---
``thin-web``, ``plated-edge``, ``copper-at-edge``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.edge.clearances import holes_of
from checker.measure.edge.perforations import perforations_of
from checker.measure.holes.uses import Use, uses_of
from checker.remedy import up
from checker.severity import Severity
from rules._edge import half_holes, no_edge, unset
from rules._holes import names, unread, where, word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "holes at the edge"
_WORDS: dict[int, str] = {Use.VIA: "vias", Use.COMPONENT: "holes for leads"}


@rule(severity=Severity.WARNING, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole with less laminate to the edge than wished."""
    board, limit = facts.board, process.outline.hole_clearance
    if limit is None:
        yield unset(_SUBJECT, "outline.hole_clearance")
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    edge = holes_of(board)
    if edge is None:
        if board.holes:
            yield no_edge(board, _SUBJECT)
        return
    band, use = tie(board), uses_of(board).use
    near = edge.crosses(band) & ~edge.corner | (edge.distance >= -band)
    near &= (edge.distance < limit - band) & ~perforations_of(board)
    near[half_holes(board)] = False
    rows = np.flatnonzero(near)
    over = edge.distance[rows] < -band
    for code, members in alike(2 * use[rows].astype(np.int64) + over, edge.distance[rows]):
        kind, crosses = divmod(code, 2)
        words = "across the edge by" if crosses else "with laminate to the edge of"
        sizes = spoken(np.abs(edge.distance[rows[members]]))
        cause = f"{_WORDS.get(kind, 'holes')} {words} {sizes}"
        for row in rows[members].tolist():
            distance, hole = float(edge.distance[row]), board.holes[row]
            nets, pins = names(board, [row])
            how = (
                f"crosses the edge by {-distance:.3f} mm"
                if crosses
                else f"leaves {distance:.3f} mm of laminate to the edge"
            )
            yield Observation(
                message=f"{word(board, row)} of {hole.diameter:.2f} mm {how}, it breaks out below "
                f"{limit:.3f} mm" + where(board, row),
                remedy=f"Move it {up(limit - distance):.2f} mm inwards",
                cause=cause,
                state=State.MARGINAL,
                measured=distance,
                limit=limit,
                x=float(edge.at[row, 0]),
                y=float(edge.at[row, 1]),
                nets=nets,
                pins=pins,
            )
