"""Boards that take more cutting than a tip lasts.

Measures
--------
The way of all isolating passes on the outer sides, as many as ``cleared_width`` takes with
``feeds.overlap``; against ``feeds.life``, how far a tip cuts before it is blunt, less what it had
cut before it was measured, ``measured.cut_before``.

Why
---
Glass in the laminate grinds a fine tip away. A blunt tip cuts wider, ploughs copper aside instead
of cutting it, and leaves burrs that short later; gaps that opened in the first half of the job stay
closed in the second.

Fix
---
Change the bit after the first side or after the metres told, and set the depth anew; cut the finest
gaps first; clear less width; cut paper laminate, which wears bits far less than glass.

Limits
------
The way is right to 2 %. Every net's own passes count, also where they run over those of its
neighbour; a pass for which there is no room is not cut. The wider clearance that a profile asks for
round single nets is left out. Wear within the life of a tip counts as the profile's spread of
``bit.tip_width``. What the bit cut since it was measured is not known here: keep
``measured.cut_before`` up to date.

Sources
-------
``feeds.life`` comes from the profile. No trustworthy figure was found in print; practitioners
report 5 to 20 m in glass laminate, common practice and contested.

See
---
``long-cut``, ``tight-gap``
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.severity import Severity
from rules._passes import passes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.NOTE, remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    life = process.feeds.life
    if process.method != "milling":
        return
    if life is None:
        yield Unchecked("wear of the bit", "the profile sets no feeds.life")
        return
    before = process.measurement.cut_before or 0.0
    left = max(0.0, life - before)
    work = passes(facts.board, process, above=left)
    if work is None or work.metres <= left:
        return
    tips = 1 + math.ceil((work.metres - left) / life)
    used = f", and this one had cut {before:.1f} m before it was measured" if before else ""
    first = f"change after {left:.1f} m" if left else "begin with a new one"
    yield Observation(
        message=f"Isolating cuts {work.spoken}, a tip lasts {life:.1f} m{used}",
        remedy=f"Plan for {tips} tips and {first}, setting the depth anew",
        cause="more to cut than one tip lasts",
        state=State.REMARK,
    )
