"""Hatched fills that the tool grinds to powder, or that it leaves as solid as a sheet.

Measures
--------
Islands of copper with a dozen or more openings of one size: the pitch of the hatch, opening plus
bar, against twice the widest cut (``bit``, ``bed_error``); and the bar between two openings against
``minimum_trace``.

Why
---
The tool goes round every opening. Where two of its ways lie closer than it is wide, bars come out
thin as hairs and curl off; and a hatch of hundreds of openings keeps a fine bit busy for hours.

Fix
---
Fill solid: on a milled board a solid pour costs nothing, as its copper is there already. Or make
the hatch as coarse as told.

Limits
------
A hatch is known by openings of much the same size; one that is cut up by many traces may not be.
Openings into which the cut does not fit stay copper, which does no harm.

Sources
-------
``minimum_trace`` comes from the profile. That a pitch below two cuts turns to powder is common
practice, without a published source.

See
---
``long-cut``, ``thin-copper``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.measure.copper.fills import hatches_of
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_MM_PER_M = 1000


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for each hatch that is too fine."""
    if process.cut is None or process.bit is None:
        return
    bars = process.minimum_trace or 0
    labels, band = labels_of(facts.board), tie(facts.board)
    for hatches in hatches_of(facts.board):
        side = facts.board.copper[hatches.layer].side
        for row, island in enumerate(hatches.island.tolist()):
            bar, opening = float(hatches.bar[row]), float(hatches.opening[row])
            limit = max(2 * process.cut.most, process.cut.most + bars)
            if opening + bar >= limit - band or opening < process.cut.least - band:
                continue
            net, pitch = labels.net(hatches.layer, island), opening + bar
            x, y = hatches.at[row].tolist()
            yield Observation(
                message=f"Hatch with a pitch of {pitch:.3f} mm, it survives from {limit:.3f} mm: "
                f"{hatches.openings[row]} openings of {net} {opening:.3f} mm wide with bars of "
                f"{bar:.3f} mm, {hatches.edge[row] / _MM_PER_M:.1f} m of cut",
                remedy=f"Fill solid, or hatch at a pitch of {up(limit):.2f} mm or more",
                cause="hatches finer than the cut",
                state=State.MARGINAL,
                measured=pitch,
                limit=limit,
                side=side,
                x=x,
                y=y,
                nets=(net,),
            )
