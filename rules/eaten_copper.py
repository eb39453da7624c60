"""Copper that is too narrow once a bite or the etchant has taken its edges.

Measures
--------
Where a gap opens only because the path may run into the copper (``bite``), the cut is simulated:
it takes from both sides alike as much as the narrowest spot of the gap asks for. What is left is
measured as drawn copper is, against ``minimum_trace``. For etching, copper is narrower than drawn
by ``undercut`` on both edges.

Why
---
A trace that was wide enough in the layout peels once the cutter has taken its edges. An etchant
eats sideways below the resist as well.

Fix
---
Widen the trace on the side away from the gap by the amount told; use a narrower cut that needs no
bite; draw traces wider by what the etchant takes.

Limits
------
Simulated at the nominal width. Copper that is too narrow as drawn is told by another rule, copper
that is cut through by a third.

Sources
-------
``minimum_trace``, ``bite`` and ``undercut`` come from the profile.

See
---
``severed-net``, ``shrunk-pad``, ``thin-copper``, ``trimmed-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.labels import labels_of
from checker.losses import losses
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.measure.copper.bites import Loss
    from checker.process.model import Process


@rule(severity=Severity.WARNING, asks=("necks",))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every neck that the bite or the etchant makes too narrow."""
    if not (process.bite or process.undercut):
        return
    if process.minimum_trace is None:
        yield Unchecked("copper left by the cut", "the profile sets no minimum_trace")
        return
    for index, loss in losses(facts, process):
        yield from _bitten(facts, process, index, loss)
    if process.undercut:
        yield from _etched(facts, process)


def _bitten(facts: Facts, process: Process, index: int, loss: Loss) -> Iterator[Observation]:
    limit, drawn = process.minimum_trace or 0, facts.necks[index]
    narrow = limit - tie(facts.board)
    for row in np.flatnonzero(loss.neck_carries & (loss.neck_width < narrow)).tolist():
        at, island = loss.neck_at[row], int(loss.neck_island[row])
        near = (drawn.island == island) & (np.hypot(*(drawn.at - at).T) < limit)
        if not (near & (drawn.width < narrow)).any():
            left = float(loss.neck_width[row])
            yield _narrow(facts, limit, (index, island), at.tolist(), left, "the bite")


def _etched(facts: Facts, process: Process) -> Iterator[Observation]:
    limit = process.minimum_trace or 0
    for index, necks in enumerate(facts.necks):
        narrow = limit - tie(facts.board)
        left = necks.width - 2 * process.undercut
        late = necks.carries & (necks.width >= narrow) & (left < narrow)
        for row in np.flatnonzero(late).tolist():
            island, at = int(necks.island[row]), necks.at[row].tolist()
            yield _narrow(facts, limit, (index, island), at, float(left[row]), "the etchant")


def _narrow(
    facts: Facts, limit: float, where: tuple[int, int], at: list[float], left: float, eater: str
) -> Observation:
    labels, side = labels_of(facts.board), facts.board.copper[where[0]].side
    near = labels.near(at[0], at[1], side)
    return Observation(
        message=f"Copper {left:.3f} mm wide after {eater}, it survives from {limit:.3f} mm"
        + (f", near {near}" if near else ""),
        remedy=f"Draw it {up(limit - left):.2f} mm wider",
        cause=f"copper that {eater} leaves too narrow",
        state=State.MARGINAL,
        measured=left,
        limit=limit,
        side=side,
        x=at[0],
        y=at[1],
        nets=(labels.net(*where),),
    )
