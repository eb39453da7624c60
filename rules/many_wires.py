"""More wires than one cares to solder on a perfboard.

Measures
--------
The wires that join the leads of each net, against ``grid.most_wires``. A net of n leads takes n - 1
joints; leads in holes next to each other in a row or column are joined by solder or by a lead bent
over, all others by a wire.

Why
---
Each wire is cut, stripped, bent and soldered at both ends, two to three minutes for one, and each
may end in the wrong hole. Past a hundred or so the board takes more evenings than a milled one, and
faults in it are hard to find.

Fix
---
Place the parts so that leads of a net stand next to each other, or run bare wire along rows of
holes for ground and supply: it counts here as a wire from lead to lead, but goes in faster.

Limits
------
Leads count where they end up once their parts are moved onto the grid. Wires are taken for
insulated, so how many of them cross does not matter, nor how long they are.

Sources
-------
``grid.most_wires`` and ``grid.pitch`` come from the profile. Two to three minutes a wire are common
practice.

See
---
``off-grid-hole``, ``hand-joint``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker import plural
from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.labels import labels_of, natural
from checker.measure.whole.grid import wires_of
from checker.methods import PERFBOARD
from checker.severity import Severity
from rules._edge import unset
from rules._perfboard import grid_or_why

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "number of wires"
_MOST_NAMED = 3


@rule(severity=Severity.WARNING, methods=(PERFBOARD,))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    board, most = facts.board, process.grid.most_wires
    grid = grid_or_why(board, process, _SUBJECT)
    if isinstance(grid, Unchecked) or most is None:
        yield grid if isinstance(grid, Unchecked) else unset(_SUBJECT, "grid.most_wires")
        return
    joins = wires_of(board, grid.pitch, grid.reach)
    count, bridges = int(joins.wires.sum()), int(joins.bridges.sum())
    if count <= most:
        return
    labels = labels_of(board)
    named = zip(joins.wires.tolist(), map(labels.net_at, joins.net.tolist()), strict=True)
    largest = sorted(named, key=lambda one: (-one[0], natural(one[1])))[:_MOST_NAMED]
    told = ", ".join(f"{name} {number}" for number, name in largest)
    yield Observation(
        message=f"{plural.count(count, 'wire')} between leads besides "
        f"{plural.count(bridges, 'joint')} of neighbours, the profile allows {most}; "
        f"most have {told}",
        remedy=f"Place {plural.count(count - most, 'more lead')} {grid.pitch:.2f} mm beside one of "
        "their net",
        cause="more wires than the profile allows",
        state=State.MARGINAL,
        nets=tuple(np.unique([name for _, name in largest]).tolist()),
    )
