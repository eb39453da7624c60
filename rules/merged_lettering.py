"""Letters in copper that the cut does not part.

Measures
--------
Between copper drawn with a pen that has no pad, no hole, no opening in the mask and no net, taken
for letters or marks, the widest cut that passes, against the nominal cut (``bit``, for etching
``minimum_gap``): once for each text.

Why
---
No net is joined by it, so that the board works. But the letters run together, and a bit that is
sent between them where it does not fit is worn for nothing.

Fix
---
Space the letters, write them larger, or move the text to the legend or out of the copper.

Limits
------
Should they be no letters but pads drawn with a pen, of pins that nothing is joined to, then those
pins are joined to each other: that is why it is told as more than a remark. A letter that stays
joined to a net is told by the rules on gaps, for it makes that net larger.

Sources
-------
The cut's width is the process's.

See
---
``fine-lettering``, ``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.exact import tie
from checker.findings import Observation, State, rule
from checker.isolation import fates, joined_nets, parts_nets
from checker.measure.copper.letters import letters_of
from checker.remedy import up
from checker.severity import Severity
from rules._gaps import tool

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.measure import Facts
    from checker.process.model import Process


@rule(severity=Severity.WARNING, asks=("gaps",))
def check(facts: Facts, process: Process) -> Iterator[Observation]:
    """One observation for each text whose letters stay joined to each other."""
    if process.cut is None:
        return
    board, limit = facts.board, process.cut.nominal
    judged, joined = fates(facts, process), joined_nets(facts, process).size
    for letters in letters_of(board):
        gaps, fits = facts.gaps[letters.layer], judged[letters.layer].fits
        net = board.copper[letters.layer].net[gaps.islands]
        between = (net[:, 0] != net[:, 1]) & ~parts_nets(board, letters.layer, gaps.islands)
        shut = np.flatnonzero(between & (fits < limit - tie(board)))
        for islands in letters.islands:
            rows = shut[np.isin(gaps.islands[shut], islands).all(axis=1)]
            if not len(rows):
                continue
            worst = rows[np.lexsort((*gaps.a[rows].T, np.round(fits[rows], 6)))[0]]
            x, y = ((gaps.a[worst] + gaps.b[worst]) / 2).tolist()
            fit, many = float(fits[worst]), len(rows)
            apart = not joined.keys() & net[rows].ravel().tolist()
            yield Observation(
                message=f"Between letters or marks without a net a cut of {fit:.3f} mm passes, "
                f"{tool(process)} {limit:.3f} mm: they stay joined at {many} "
                f"place{'s'[: many > 1]}{', and no net with them' if apart else ''}",
                remedy=f"Move them {up(limit - fit):.2f} mm further apart, or leave them out of "
                "the copper",
                cause="letters or marks in copper that run together",
                state=State.MARGINAL,
                measured=fit,
                limit=limit,
                side=board.copper[letters.layer].side,
                x=x,
                y=y,
            )
