"""A hole that breaks out of its pad.

Measures
--------
From the edge of each hole that is soldered to the nearest edge of its own copper. Not makeable
where nothing is left even if everything lies where it should; marginal where the hole comes out of
the pad once every error is at its worst, and where it comes out of a pour that holds it without a
pad over no more than a quarter of its rim. The errors are those of ``thin-ring``.

Why
---
A ring that is open is a C of copper: where a trace joins in the opening it is cut off, elsewhere
solder runs out of the joint. Over more than a quarter of the rim hardly a lead holds.

Fix
---
Make the pad wider or the hole smaller, that of a lead by no more than 0.1 mm; or, where the hole
lies off the middle of its pad and that is the smaller change, move the pad. Or draw a teardrop
where the trace joins. Where a via's wire doesn't enter its hole, both grow (``undersized-hole``).

Limits
------
As for ``thin-ring``: the side cut first is the one whose rings would suffer more as the second, and
pads that nothing leaves aren't judged. How far the hole comes out is told for a round pad as wide
as the copper is at its narrowest.

Sources
-------
``machine`` and ``drills`` come from the profile, which names their sources. A quarter of the rim is
what IPC-A-600 lets pass in class 2, from memory.

See
---
``thin-ring``, ``foreign-copper-at-hole``
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from checker.alike import alike, spoken
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.holes.drilling import drilling_of
from checker.severity import Severity
from rules._holes import names, unread, where, word
from rules._rings import OFF, ROUND, centred, counted, rings, wider

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_QUARTER = 90  # degrees of a hole's rim


@rule(severity=Severity.ERROR, asks=("drilling",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every hole that comes out of its pad, or may."""
    board = facts.board
    if (missing := unread(board, "holes that break out of their pads")) is not None:
        yield missing
        return
    found, band, drilling = rings(board, process), tie(board), drilling_of(board)
    broken = found.ring <= band
    rows = np.flatnonzero(broken | (found.left < -band))
    by = centred(board, found, rows, process.ring or 0.0)
    pattern = found.use[rows] * 8 + found.far[rows] * 4 + broken[rows] * 2 + by.off
    for code, members in alike(pattern, found.ring[rows]):
        use, far, out, off = code // 8, code // 4 % 2, bool(code // 2 % 2), bool(code % 2)
        cause = f"rings {spoken(found.ring[rows[members]])} wide round {ROUND[use]}"
        cause += " on the side cut second" * far
        cause = (f"holes of {ROUND[use]} that leave no ring" if out else cause) + OFF * off
        for member, row in zip(members.tolist(), rows[members].tolist(), strict=True):
            hole, ring, left = int(found.hole[row]), float(found.ring[row]), float(found.left[row])
            column = int(found.column[row])
            nets, pins = names(board, [hole])
            degrees = (
                float(drilling.breakout[hole, column])
                if out
                else _opening(float(found.drill[row]) / 2, ring, ring - left)
            )
            held = "pad" if found.bounded[row] else "copper"
            message = (
                f"{word(board, hole)} of {found.drill[row]:.2f} mm comes {max(-ring, 0):.3f} mm "
                f"out of its {held} over {degrees:.0f}°, may not at all"
                if out
                else f"Ring {ring:.3f} mm, the hole may come {-left:.3f} mm out of its {held} over "
                f"{degrees:.0f}° once {counted(process, bool(far))}"
            )
            yield Observation(
                message=message + where(board, hole),
                remedy=by.one(member) or wider(board, process, found, row, process.ring or 0.0),
                cause=cause,
                state=State.NOT_MAKEABLE
                if out and (found.bounded[row] or degrees > _QUARTER)
                else State.MARGINAL,
                measured=ring if out else left,
                limit=0.0,
                side=found.side(row),
                x=float(drilling.at[hole, 0]),
                y=float(drilling.at[hole, 1]),
                nets=nets,
                pins=pins,
                together=by.all(members),
            )


def _opening(radius: float, ring: float, off: float) -> float:
    """Degrees of a hole's rim outside a round pad, the hole ``off`` its middle."""
    pad = radius + ring
    if off >= pad + radius:
        return 360
    share = (pad * pad - radius * radius - off * off) / (2 * radius * off)
    return 2 * math.degrees(math.acos(max(-1, min(1, share))))
