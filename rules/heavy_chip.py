"""Feeds that make the bit take more at a time than it stands.

Measures
--------
The chip that each cutting edge takes, ``feeds.cut`` over ``feeds.spindle`` times ``feeds.flutes``,
against ``feeds.chip``.

Why
---
The fine tip of an engraving bit bends with the chip it has to take. Too much of it and the tip
breaks, usually unseen, and the rest of the board is scratched instead of cut; a little less and the
cut wanders and comes out wide.

Fix
---
Feed slower or turn faster until the chip is small enough; use a bit with more edges or a wider tip.

Limits
------
Judged for the whole board from the profile alone. Plunging is not judged, nor a chip so small that
the edge rubs.

Sources
-------
Chip load is feed over speed and number of edges, any handbook of machining. Its limit comes from
the profile; 0.01 to 0.03 mm for engraving bits is common practice.

See
---
``blunt-tip``, ``long-cut``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.remedy import down, up
from checker.severity import Severity
from rules._passes import FEED, TURNS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_EXACT = 1e-9


@rule(severity=Severity.WARNING)
def check(_: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    feeds = process.feeds
    if process.method != "milling":
        return
    if feeds.cut is None or feeds.spindle is None or feeds.chip is None:
        yield Unchecked("chip load", "the profile lacks feeds.cut, feeds.spindle or feeds.chip")
        return
    chip = feeds.cut / (feeds.spindle * feeds.flutes)
    if chip <= feeds.chip + _EXACT:
        return
    slower = down(feeds.chip * feeds.spindle * feeds.flutes, FEED)
    faster = up(feeds.cut / (feeds.chip * feeds.flutes), TURNS)
    yield Observation(
        message=f"Each edge takes {chip:.3f} mm at {feeds.cut:.0f} mm/min and "
        f"{feeds.spindle:.0f} rpm, {feeds.chip:.3f} mm is the most",
        remedy=f"Feed at {slower:.0f} mm/min, or turn at {faster:.0f} rpm",
        cause="the feed is too fast for the spindle",
        state=State.MARGINAL,
        measured=chip,
        limit=feeds.chip,
    )
