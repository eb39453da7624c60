"""A board with two sides and no two holes by which to find the first side again.

Measures
--------
The two round holes of ``machine.dowels`` or wider that lie farthest apart, from middle to middle,
against 60 % of the longer side of the board. Holes outside the outline count too.

Why
---
The board is turned over for its second side. Pins through two holes into the bed bring it back to
where it was; laid against an edge or by eye, the second side is off by 0.2 mm and more, which is
more than most rings have. The nearer the pins, the more a little play turns the board.

Fix
---
Add two holes in the waste beside the board at the places told, or two mounting holes on it. Drill
them through the board into the bed before it is turned.

Limits
------
Whether a hole is drilled before the board is turned is up to the maker, and nothing is plated at
home, so every hole of that size counts. That pins want to lie mirrored about the axis of turning is
not judged: pins of their own may be set for the second side.

Sources
-------
``machine.dowels`` comes from the profile, which names its source. The 60 % and the 5 mm beside the
board are common trade practice.

See
---
``excess-layers``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.holes.uses import uses_of
from checker.measure.holes.webs import extent_of, widest_apart
from checker.remedy import up
from checker.severity import Severity
from rules._holes import EXACT, rounds, two_sided, unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.process.model import Process

_SHARE = 0.6  # of the longer side, between the two pins (common trade practice)
_BESIDE = 5.0  # mm from the board's edge to a pin in the waste (common trade practice)


@rule(severity=Severity.WARNING)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for the whole board."""
    board, least = facts.board, process.machine.dowels
    if not two_sided(board) or process.layer_count < len(("top", "bottom")):
        return
    if least is None:
        yield Unchecked("holes for dowels", "the profile sets no machine.dowels")
        return
    if (missing := unread(board, "holes for dowels")) is not None:
        yield missing
        return
    fit = [index for index, hole in rounds(board) if hole.diameter >= least - EXACT]
    apart, wanted = widest_apart(uses_of(board).at[fit]), _SHARE * max(board.size)
    if apart >= wanted:
        return
    found = f"no two lie farther apart than {apart:.1f} mm" if len(fit) > 1 else f"{len(fit)} found"
    yield Observation(
        message=f"Two sides want two holes of {least:.2f} mm or more, {wanted:.1f} mm apart or "
        f"more, to be lined up by: {found}",
        remedy=_remedy(board, process, least),
        cause="no holes for dowels",
        state=State.MARGINAL,
        # How far two holes lie apart can fall short; of holes that aren't there no length tells.
        measured=apart if len(fit) > 1 else None,
        limit=wanted if len(fit) > 1 else None,
        last=True,
    )


def _remedy(board: Board, process: Process, least: float) -> str:
    """Two holes in the waste beside the ends of the longer side."""
    size = min((one for one in process.drills.sizes or () if one >= least - EXACT), default=least)
    low, high = extent_of(board)
    middle, long = (low + high) / 2, int(np.argmax(high - low))
    ends = [middle.copy(), middle.copy()]
    ends[0][long], ends[1][long] = low[long] - _BESIDE, high[long] + _BESIDE
    places = " and ".join(f"{x:.1f}, {y:.1f}" for x, y in ends)
    return f"Add two holes of {up(size):.2f} mm beside the board, at {places}"
