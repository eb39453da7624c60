"""More layers of copper than the process can make.

Measures
--------
The layers that hold copper, against ``layer_count``. A layer file without copper does not count.
Inner layers count as too many where the process makes no more than two.

Why
---
A cutter reaches the two outer faces of a board and nothing between them; a process for one side has
no way to line up a second. What is on the other layers is simply not there on the board made.

Fix
---
Lay the board out on the layers the process makes, with wires for what does not fit; or have this
board made by a board house.

Limits
------
Only what the files hold is counted: a layer whose file is missing or unreadable is told as not
checked, not as absent.

Sources
-------
``layer_count`` comes from the profile.

See
---
``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_OUTER = 2


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for the whole board."""
    sides = [layer.side for layer in facts.board.copper if len(layer.islands)]
    inner = [side for side in sides if side.startswith("inner")]
    makes = process.layer_count
    if len(sides) <= makes and not (inner and makes <= _OUTER):
        return
    limit = f"{makes} layer{'s'[: makes > 1]}"
    if makes <= _OUTER and inner:
        outer = "one outer side" if makes == 1 else "the two outer sides"
        remedy = f"Lay it out on {outer} alone, or have this board made by a board house"
    else:
        remedy = f"Lay it out on {limit}, with wires for what does not fit"
    yield Observation(
        message=f"{len(sides)} layer{'s'[: len(sides) > 1]} of copper ({', '.join(sides)}), "
        f"the process makes {limit}",
        remedy=remedy,
        cause="more layers than the process makes",
        state=State.NOT_MAKEABLE,
    )
