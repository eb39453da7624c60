"""An edge with too few free stretches for the tabs that hold the board.

Measures
--------
The stretches between corners of each board's outer edge that keep copper and holes at least
``outline.edge_clearance`` away, and how many tabs go there: a tab takes ``outline.tab_width`` and
``outline.cutter``, and two tabs in one stretch are apart by half of what they are when spread
evenly. Their number is held against ``outline.tab_count``.

Why
---
Without tabs the board comes loose in the last pass, jams and breaks the cutter. A tab is broken and
filed, and tears laminate and copper behind it.

Fix
---
Keep copper and holes away from the edge at as many places as told, or hold the board with tape or
glue over its full area and cut without tabs.

Limits
------
Whether a connector or a case needs an edge without the stub of a tab is not known. Tabs within
cut-outs are not counted. An edge drawn in copper takes no room: the cutter takes it.

Sources
-------
``outline.tab_width`` and ``outline.tab_count`` come from the profile, which names their sources.
Common trade practice: three or four tabs of 2 to 4 mm, none near copper or holes.

See
---
``copper-at-edge``, ``hole-at-edge``, ``outline-in-copper``
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.edge.clearances import free_stretches
from checker.severity import Severity
from rules._edge import no_edge, unset

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "room for tabs"


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for each board of a panel."""
    work = process.outline
    for key in ("cutter", "edge_clearance", "tab_width", "tab_count"):
        if getattr(work, key) is None:
            yield unset(_SUBJECT, f"outline.{key}")
            return
    assert work.cutter is not None
    assert work.edge_clearance is not None
    assert work.tab_width is not None
    assert work.tab_count is not None
    if facts.board.outline is None:
        yield no_edge(facts.board, _SUBJECT)
        return
    away, long, band = work.edge_clearance, work.tab_width + work.cutter, tie(facts.board)
    for board in free_stretches(facts.board, away - band):
        apart = max(long, board.girth / (2 * work.tab_count))
        fit = sum(
            1 + math.floor((length - long + band) / apart)
            for length in board.length.tolist()
            if length >= long - band
        )
        if fit >= work.tab_count:
            continue
        yield Observation(
            message=f"Room for {fit} tab{'s'[: fit != 1]} of {work.tab_width:.1f} mm with copper "
            f"and holes {away:.2f} mm away, {work.tab_count} hold the board",
            remedy=f"Keep {work.tab_count - fit} more stretch"
            f"{'es'[: 2 * (work.tab_count - fit > 1)]} of {long:.1f} mm free, or hold the board "
            "with tape over its full area",
            cause="edges without room for tabs",
            state=State.REMARK,
            x=board.at[0],
            y=board.at[1],
        )
