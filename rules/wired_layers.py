"""Inner layers of copper that become wires on a perfboard.

Measures
--------
The layers between the two outer ones that hold copper. Their nets are counted with all others by
the rule on wires.

Why
---
Wires replace any number of layers: they join the same leads. They do not replace what layers are
often added for. A plane of ground or supply keeps the way back under each line, shields it and
carries current with little loss; through wires fast or faint signals ring, couple and pick up hum.

Fix
---
Run ground and supply in bare wire of 0.8 mm or more, as a grid, put capacitors at the supply pins,
and keep lines of fast or faint signals short. If the layout needs its planes, order the board.

Limits
------
No file says which signals need a plane. Pours on outer layers are lost too and not told, as layouts
for one or two sides are poured for the mill's sake.

Sources
-------
Common practice.

See
---
``many-wires``, ``excess-layers``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.methods import PERFBOARD
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.NOTE, methods=(PERFBOARD,), remarks=True)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for the whole board."""
    sides = [layer.side for layer in facts.board.copper if len(layer.islands)]
    inner = [side for side in sides if side.startswith("inner")]
    if inner:
        yield Observation(
            message=f"{len(sides)} layers of copper become wires, {len(inner)} of them inner ones: "
            "no plane shields or carries current",
            remedy="Run ground and supply in bare wire of 0.8 mm or more, or order the board",
            cause="inner layers that become wires",
            state=State.REMARK,
        )
