"""Laminate between two holes that is too thin to stay.

Measures
--------
The distance from edge to edge of every two holes or slots, against ``web``. Holes that touch or
overlap are left to ``overlapping-holes``.

Why
---
A drill pushes the laminate aside before it cuts it. A thin wall between two holes breaks out, the
second drill then runs into the first hole, bends and snaps, and the copper over the wall is gone.

Fix
---
Move the holes apart by the distance told, drill one of them smaller, or make both one slot.

Limits
------
Diameters are those of the files: how far a drill at hand differs from them is not counted, nor how
far one wanders. Rows of holes at the edge to break the board off along are meant to be weak and
left out.

Sources
-------
``web`` comes from the profile, which names its source; 0.3 to 0.4 mm is common trade practice.

See
---
``overlapping-holes``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.edge.perforations import perforations_of
from checker.measure.holes.uses import Use, uses_of
from checker.measure.holes.webs import webs_of
from checker.remedy import up
from checker.severity import Severity
from rules._holes import names, unread, where

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_BETWEEN: dict[int, str] = {Use.VIA: "vias", Use.COMPONENT: "holes for leads"}


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every two holes with less laminate between them than wished."""
    board, limit = facts.board, process.web
    if limit is None:
        yield Unchecked("laminate between holes", "the profile sets no web")
        return
    if (missing := unread(board, "laminate between holes")) is not None:
        yield missing
        return
    webs, use, band = webs_of(board), uses_of(board).use, tie(board)
    if webs.reach < limit:
        yield Unchecked("laminate between holes", "too many holes lie within each other")
        return
    thin = (webs.between >= band) & (webs.between < limit - band)
    rows = np.flatnonzero(thin & ~perforations_of(board)[webs.holes].all(axis=1))
    kinds = use[webs.holes[rows]]
    pattern = np.where(kinds[:, 0] == kinds[:, 1], kinds[:, 0], -1).astype(np.int64)
    for code, members in alike(pattern, webs.between[rows]):
        what = _BETWEEN.get(code, "holes")
        cause = f"webs {spoken(webs.between[rows[members]])} wide between {what}"
        for row in rows[members].tolist():
            width, pair = float(webs.between[row]), webs.holes[row].tolist()
            nets, pins = names(board, pair)
            called = sorted({name for name in (where(board, one)[2:] for one in pair) if name})
            yield Observation(
                message=f"Laminate {width:.3f} mm wide between two holes, it stays from "
                f"{limit:.3f} mm" + (f": {' and '.join(called)}" if called else ""),
                remedy=f"Move them {up(limit - width):.2f} mm apart",
                cause=cause,
                state=State.MARGINAL,
                measured=width,
                limit=limit,
                x=float(webs.at[row, 0]),
                y=float(webs.at[row, 1]),
                nets=nets,
                pins=pins,
            )
