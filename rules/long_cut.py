"""Boards whose isolation takes longer than an evening at the machine.

Measures
--------
The way of all isolating passes on the outer sides, as many as ``cleared_width`` takes with
``feeds.overlap``, at the feed ``feeds.cut``; against ``feeds.evening``. Drilling, the outline,
probing and moves in the air come on top.

Why
---
Every pass follows every edge of the copper, and a fine bit moves slowly. A job that does not end
before bedtime is broken off, and a board set up anew next day does not meet its own cuts.

Fix
---
Clear less width round nets that nobody solders at, feed faster if chips stay small, draw simpler
copper such as solid pours instead of hatched ones, or clear with a wider bit after the fine one.

Limits
------
The way is right to 2 %. Every net's own passes count, also where they run over those of its
neighbour; a pass for which there is no room between two nets is not cut. The wider clearance that a
profile asks for round single nets is left out. Feeds in corners are slower than told.

Sources
-------
Feed, overlap and patience come from the profile. A pass is the parallel curve of the copper, by
Steiner's formula 2 pi r longer than the edge of a convex figure: any handbook of geometry.

See
---
``blunt-tip``, ``heavy-chip``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.remedy import up
from checker.severity import Severity
from rules._passes import FEED, TURNS, passes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_METRE, _HOUR = 1000, 60


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    feed, evening = process.feeds.cut, process.feeds.evening
    if process.bit is None:
        return
    if feed is None or evening is None:
        missing = "feeds.cut" if feed is None else "feeds.evening"
        yield Unchecked("time of the cut", f"the profile sets no {missing}")
        return
    work = passes(facts.board, process, above=evening * _HOUR * feed / _METRE)
    if work is None:
        return
    hours = work.metres * _METRE / feed / _HOUR
    if hours <= evening:
        return
    faster = up(work.metres * _METRE / evening / _HOUR, FEED)
    fewer = f", or clear less than {process.clears.nominal:.2f} mm" if process.clears else ""
    yield Observation(
        message=f"Isolating cuts {work.spoken}, {hours:.1f} h at {feed:.0f} mm/min, "
        f"{evening:.1f} h are there",
        remedy=f"Feed at {faster:.0f} mm/min{_turning(process, faster)}"
        + (fewer if work.count > 1 else ""),
        cause="isolation takes longer than the time there is",
        state=State.REMARK,
    )


def _turning(process: Process, feed: float) -> str:
    """What a feed asks for: turns that keep the chips small, or a beam that is strong enough."""
    feeds = process.feeds
    if process.method == "laser":
        return " where the beam still goes through"
    if feeds.spindle is None or feeds.chip is None:
        return " where chips allow it"
    turns = up(feed / (feeds.chip * feeds.flutes), TURNS)
    return f" and turn at {turns:.0f} rpm" * (turns > feeds.spindle)
