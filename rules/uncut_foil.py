"""Depths of cut that do not go through the copper foil everywhere.

Measures
--------
The shallowest depth the tool reaches, which is the least of the depth's spread less the error of
the bed (``bit.depth``, ``bed_error``), against the most of the foil's thickness (``foil``). Where
only that worst case fails the board is marginal; where the nominal depth does not clear the nominal
foil it is not makeable, and a profile that sets it so is refused as soon as it is loaded.

Why
---
Where the surface lies lower than the machine believes, the tool scratches the copper and does not
part it. A film at the foot of a slot is hard to see and joins the nets along the whole slot.

Fix
---
Cut deeper, minding that a cone then cuts wider: the width at that depth is told. Or hold the
surface closer to where the machine believes it: face the bed, probe the surface, tape it flat.

Limits
------
Judged for the whole board; no map of the surface is read. A beam's depth follows from power and
passes, which no profile gives, so it is not checked. Bow of the laminate counts only as far as the
profile's ``bed_error`` holds it.

Sources
-------
Thickness of foil and its tolerance by weight: IPC-4562, Metal Foil for Printed Board Applications.
Depth, spread and bed error come from the profile.

See
---
``tight-gap``, ``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.process.width import width_at
from checker.remedy import down, least_depth, up
from checker.severity import Severity
from rules._gaps import either

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    bit, reached, foil = process.bit, process.reached, process.foil
    if bit is not None and bit.shape == "beam":
        yield Unchecked(
            "depth of the cut",
            "a beam's depth follows from power and passes, which the profile does not give",
        )
    if bit is None or reached is None or reached.least >= foil.most:
        return
    nominal = bit.depth.nominal < foil.nominal
    depth = up(least_depth(process))
    flat = down(bit.depth.least - foil.most)
    yield Observation(
        message=f"Shallowest cut {max(0.0, reached.least):.3f} mm, the foil is up to "
        f"{foil.most:.3f} mm thick: copper stays uncut "
        + ("everywhere" if nominal else "where the surface lies low"),
        remedy=either(
            f"set the depth to {depth:.2f} mm, where the cut is {width_at(bit, depth):.3f} mm wide",
            f"hold the surface to ±{flat:.2f} mm" if flat > 0 else None,
        ),
        cause="the cut is shallower than the foil is thick",
        state=State.NOT_MAKEABLE if nominal else State.MARGINAL,
        measured=reached.least,
        limit=foil.most,
    )
