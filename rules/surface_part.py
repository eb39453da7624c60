"""A part that lies flat on its pads, on a perfboard.

Measures
--------
The parts two pins of which or more have a pad and no hole for a lead. One with two such pads can
lie across two holes next to each other where its pads are about ``grid.pitch`` apart, from half of
it to half as much again; any other has nothing to stand on.

Why
---
Perfboard takes leads. Its pads are rounds of 2 mm on a grid of 2.54 mm: a chip resistor or diode
can be soldered from one to the next with care, the leads of a small-outline package would all end
on one pad.

Fix
---
Take the same part with leads where it is made so, or put it on an adapter board with pins 2.54 mm
apart.

Limits
------
Where no file names parts, two pads that stand alone so far apart are taken for such a part, and
others without a hole are counted for each side, test points among them. What a solder mask covers
is none. Parts of one pad, such as test points and marks, need no hole and are left out.

Sources
-------
``grid.pitch`` comes from the profile. That chips from 1.6 to 3.2 mm long are soldered across
neighbouring pads is common practice.

See
---
``off-grid-hole``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.findings import Observation, State, rule
from checker.measure.whole.surface import pairs, surface_of
from checker.methods import PERFBOARD
from checker.severity import Severity
from rules._edge import unset
from rules._holes import unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.process.model import Process

_SUBJECT = "parts without leads"
_ACROSS = (0.5, 1.5)  # pads apart, in pitches, of a part that lies across two holes


@rule(severity=Severity.ERROR, methods=(PERFBOARD,))
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """Every part, then the nameless pads of each side."""
    board, pitch = facts.board, process.grid.pitch
    if pitch is None:
        yield unset(_SUBJECT, "grid.pitch")
        return
    if (missing := unread(board, _SUBJECT)) is not None:
        yield missing
        return
    found, least, most = surface_of(board), _ACROSS[0] * pitch, _ACROSS[1] * pitch
    holes = f"perfboard has holes {pitch:.2f} mm apart"
    for row, (part, side) in enumerate(zip(found.part, found.side, strict=True)):
        x, y = found.at[row].tolist()
        count, apart = int(found.pins[row]), float(found.apart[row])
        across = least <= apart <= most
        if across:
            message = f"{part} lies flat on 2 pads {apart:.2f} mm apart, {holes}"
            remedy, cause = "solder {} across two holes", "chips across two holes"
        else:
            message = f"{part} lies flat on {count} pads, {holes}"
            remedy = "put {} on an adapter board with pins " + f"{pitch:.2f} mm apart"
            cause = "parts that lie flat"
        yield Observation(
            message=message,
            remedy=f"Use {part} with leads, or {remedy.format('it')}",
            cause=cause,
            state=State.MARGINAL if across else State.NOT_MAKEABLE,
            side=side,
            x=x,
            y=y,
            pins=(part,),
            together=f"Use parts with leads, or {remedy.format('them')}",
        )
    for column, side in enumerate(("top", "bottom")):
        at = found.nameless[found.nameless_side == column]
        chips = [at[pair] for pair in pairs(at, most).tolist()]
        chips = [ends for ends in chips if np.hypot(*(ends[1] - ends[0])) >= least]
        for ends in chips:
            x, y = ends.mean(axis=0).tolist()
            yield Observation(
                message=f"2 pads without a hole lie {np.hypot(*(ends[1] - ends[0])):.2f} mm apart, "
                + holes,
                remedy="Use a part with leads, or solder it across two holes",
                cause="chips across two holes",
                state=State.MARGINAL,
                side=side,
                x=x,
                y=y,
                together="Use parts with leads, or solder them across two holes",
            )
        if count := len(at) - 2 * len(chips):
            yield Observation(
                message=f"{count} pad{'s'[: count > 1]} without a hole, {holes}",
                remedy="Use parts with leads, or put them on adapter boards with pins "
                f"{pitch:.2f} mm apart",
                cause="pads without a hole",
                state=State.NOT_MAKEABLE,
                side=side,
            )
