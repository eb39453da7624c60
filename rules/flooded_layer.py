"""Copper that covers a whole layer and joins all it should part, or no copper where holes are.

Measures
--------
The part of the board that copper covers, against 95 %, and how many holes for leads one piece of
copper holds, against nine in ten; and how many plated holes reach copper on any layer.

Why
---
A plane exported in negative, or a fill without its clearances, shorts every lead it meets. Holes
that nowhere meet copper tell of a layer that is missing or drawn the wrong way round.

Fix
---
Export the layer again as a positive, fills with their clearances; look whether every copper layer
is among the files.

Limits
------
A ground plane may well cover so much: it is told only where it holds so many of the leads'
holes and these belong to different copper elsewhere. Holes below 0.6 mm count as vias and those
along the edge as perforation. Fewer than six holes that all miss the copper may be meant so: they
are marginal, and told only where two or more are too small for screws.

Sources
-------
Common trade practice: fills cover up to 93 % of the 27 open boards this was measured on, and hold
at most 42 % of the holes for leads.

See
---
``misfit-sides``, ``uncuttable-gap``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State, rule
from checker.measure.whole.cover import covers_of, landing_of
from checker.measure.whole.fit import FEWEST, SCREW, fit_of
from checker.severity import Severity
from rules._holes import unread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Unchecked
    from checker.measure import Facts
    from checker.measure.whole.cover import Cover
    from checker.process.model import Process

_FLOODED = 0.95  # part of the board covered with copper
_HELD = 0.9  # part of the leads' holes in one piece of copper
_BARE = 0.1  # part of the holes that reach copper, where a layer is missing
_FEW = 2  # leads that are different nets for sure


@rule(severity=Severity.ERROR)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for a flooded side, one for holes without copper."""
    board = facts.board
    missing = unread(board, "copper that floods a layer")
    for cover in covers_of(board):
        if _floods(cover):
            yield Observation(
                message=f"Copper covers {100 * cover.share:.0f} % of the board in one piece with "
                f"{cover.together} of {cover.legs} holes for leads, on the {cover.side}",
                remedy=f"Export the {cover.side} as a positive, its fill with clearances round the "
                f"{cover.together} holes",
                cause=f"{cover.side} flooded with copper",
                state=State.NOT_MAKEABLE,
                side=cover.side,
                nets=cover.nets,
            )
    landing, moved = landing_of(board), any(match.motion for match in fit_of(board).matches)
    small = sum(hole.plated is not False and hole.diameter <= SCREW for hole in board.holes)
    if _FEW <= landing.holes < FEWEST and not landing.reaching and small >= _FEW:
        yield Observation(
            message=f"None of {landing.holes} holes meets copper on any side",
            remedy=f"Look whether the file of these {landing.holes} holes is of this board, and "
            "export it with the origin and the unit of the copper",
            cause="holes that meet no copper",
            state=State.MARGINAL,
        )
    if landing.holes >= FEWEST and landing.reaching <= _BARE * landing.holes and not moved:
        yield Observation(
            message=f"{landing.reaching} of {landing.holes} holes meet copper on any side",
            remedy=f"Add the copper layer that holds the pads of these {landing.holes} holes, or "
            "export it as a positive",
            cause="holes that meet no copper",
            state=State.NOT_MAKEABLE,
        )
    if missing is not None:
        yield missing


def _floods(cover: Cover) -> bool:
    """Whether one piece of copper holds nearly all leads, and these are not of one net."""
    return (
        cover.share > _FLOODED
        and cover.legs >= FEWEST
        and cover.together >= _HELD * cover.legs
        and cover.others >= _FEW
        and len(cover.nets) != 1
    )
