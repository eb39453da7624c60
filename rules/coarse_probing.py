"""Surfaces probed too coarsely for the depth to hold between the points.

Measures
--------
How far a blank that bows evenly by ``machine.bow`` over 100 mm lies off the flat patches between
probed points ``machine.probe_spacing`` apart, against the ``bed_error`` that the profile counts
with. Without probing, the bow over the board's longer side itself.

Why
---
Between the points the machine follows a plane or a twisted patch, the board a curve. Where the
board lies lower the foil stays uncut, where it lies higher a cone cuts wide.

Fix
---
Probe a closer grid, hold the blank flatter, or count with the larger bed error and see what it does
to the cut.

Limits
------
The bow is taken as even in both directions; a kink, a chip under the blank or a warped bed are not
foreseen. The probe's own scatter comes on top.

Sources
-------
A curve of even curvature with a bow s over a length L lies s h²/L² off its chord over h, in both
directions together twice that: geometry of the circle. Bow and grid come from the profile.

See
---
``tight-gap``, ``uncut-foil``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.process.bed import PER, off_chord, off_flat
from checker.remedy import down, probe_grid
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process

_EXACT = 1e-9


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    machine, error = process.machine, process.bed_error
    if process.method != "milling":
        return
    if machine.bow is None:
        yield Unchecked("flatness between probed points", "the profile sets no machine.bow")
        return
    longer = max(facts.board.size)
    patch = min(machine.probe_spacing or longer, longer)
    # Over patches both directions add up, over the whole board the longer one decides.
    lies_off = off_chord if machine.probe_spacing is None else off_flat
    off = lies_off(machine.bow, patch)
    if off <= error + _EXACT:
        return
    closer = probe_grid(machine.bow, error)
    flatter = down(error / lies_off(1, patch))
    probe = f"Probe a grid of {closer:.1f} mm, or hold" if closer > 0 else "Hold"
    yield Observation(
        message=f"The surface may lie {off:.3f} mm off between points {patch:.1f} mm apart, "
        f"{error:.3f} mm is counted with",
        remedy=f"{probe} the blank to a bow of {flatter:.2f} mm over {PER} mm",
        cause="the probed grid is too coarse for the blank's bow",
        state=State.MARGINAL,
        measured=off,
        limit=error,
    )
