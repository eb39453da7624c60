"""Letters in copper with strokes too thin to stay.

Measures
--------
Copper drawn with a pen that has no pad, no hole and no net, taken for letters or marks; strokes
that lie near each other are one text. Its thinnest pen against ``lettering``.

Why
---
Every letter is an island of its own that the tool goes round, and nothing but its own width holds
it. Thin strokes peel, and the shreds lie in the slots between nets.

Fix
---
Write with the stroke told, or larger, or move the text to the legend or out of the copper. A mark
for which side is up is worth keeping: without one, sides get mixed up.

Limits
------
Letters filled as regions are not known as such, nor letters cleared out of a pour. Copper without a
net that is drawn with a pen is judged alike, whatever it is meant for, but for what strokes fill
side by side: bold letters, and scraps of a fill drawn so.

Sources
-------
``lettering`` comes from the profile.

See
---
``merged-lettering``, ``powdered-fill``, ``thin-copper``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.measure.copper.letters import letters_of
from checker.remedy import up
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for each text with a stroke that is too thin."""
    limit = process.lettering
    if process.cut is None:
        return
    if limit is None:
        yield Unchecked("letters in copper", "the profile sets no lettering")
        return
    for letters in letters_of(facts.board):
        side = facts.board.copper[letters.layer].side
        thin = ~letters.filled & (letters.stroke < limit - tie(facts.board))
        for row in np.flatnonzero(thin).tolist():
            stroke, pieces = float(letters.stroke[row]), int(letters.pieces[row])
            x, y = letters.at[row].tolist()
            yield Observation(
                message=f"Strokes {stroke:.3f} mm wide without a net, letters survive from "
                f"{limit:.3f} mm: {pieces} piece{'s'[: pieces > 1]} about here",
                remedy=f"Draw them {up(limit):.2f} mm wide, or leave them out of the copper",
                cause="letters or marks in copper with thin strokes",
                state=State.MARGINAL,
                measured=stroke,
                limit=limit,
                side=side,
                x=x,
                y=y,
            )
