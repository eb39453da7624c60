"""A pass of the outline cutter that is too deep for its diameter.

Measures
--------
``outline.pass_depth`` against half of ``outline.cutter``.

Why
---
Thin cutters bend and clog with glass dust: the deeper the pass, the more the cutter is pushed aside
in its own slot, and one of a millimetre snaps long before it is blunt.

Fix
---
Cut in passes no deeper than the depth told; the number of passes is told with it where the profile
gives ``stock.thickness``.

Limits
------
Feed and spindle speed are not weighed, nor the length of the cutter's flutes. Passes of three
quarters of the diameter have been reported to work with a cutter of 0.8 mm.

Sources
-------
Common trade practice: half the diameter in a full slot. Reported for FR-4 and paper laminate:
0.3 mm with a cutter of 1 mm, 0.6 mm with one of 0.8 mm. All values come from the profile.

See
---
``heavy-chip``
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.remedy import down
from checker.severity import Severity
from rules._edge import unset

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "depth of the outline's passes"
_EXACT = 1e-9


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    cutter, deep = process.outline.cutter, process.outline.pass_depth
    if cutter is None or deep is None:
        yield unset(_SUBJECT, "outline.cutter" if cutter is None else "outline.pass_depth")
        return
    limit, thick = cutter / 2, process.stock.thickness
    if thick is not None:
        deep = min(deep, thick)  # one pass goes through, and no deeper
    if deep <= limit + _EXACT:
        return
    step = max(down(limit), limit / 2)
    passes = "" if thick is None else f", that is in {math.ceil(thick / step - _EXACT)} passes"
    yield Observation(
        message=f"Passes {deep:.2f} mm deep, a cutter of {cutter:.2f} mm takes {limit:.2f} mm",
        remedy=f"Cut no deeper than {step:.2f} mm at a time{passes}",
        cause="passes deeper than half the cutter",
        state=State.MARGINAL,
        measured=deep,
        limit=limit,
    )
