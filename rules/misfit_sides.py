"""Files that lie mirrored or moved against each other.

Measures
--------
How many holes meet a pad of each outer side as the files stand, and whether one mirroring, turn or
displacement of them all brings far more of them onto pads; without holes, the pads of the two sides
against each other; and whether a closed edge lies beside the copper.

Why
---
Each file is cut as it is. A bottom that is mirrored twice, or holes with another origin, give a
board in which nothing meets: the blank is lost when the first hole is drilled.

Fix
---
Export the file that is off again, all files seen from the top and with one origin; or move or
mirror it by what is told. Check two holes far apart before anything is cut.

Limits
------
A misfit is told where at least six more holes meet a pad after the motion, and four in five of all.
Where fewer do, but three or more and then every hole, it is a guess: marginal, and not checked.
Files that agree in half of six holes or more are believed. Screw holes, wider than 2.1 mm, are left
out. A side may have no pads at holes, or holes may be few: then it is told as not checked.

Sources
-------
The bounds were measured on 27 open boards: 82 to 100 % of the holes meet a pad as they should, and
at most 57 % where one file is mirrored, moved or turned.

See
---
``misread-size``, ``flooded-layer``
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.board import Unchecked
from checker.findings import Observation, State, rule
from checker.measure.whole.cover import outer
from checker.measure.whole.fit import Motion, fit_of
from checker.methods import METHODS
from checker.severity import Severity
from rules._fit import at_fault, guesses, meeting, misfits, named, then

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board
    from checker.measure import Facts
    from checker.measure.whole.fit import Match
    from checker.process.model import Process


@rule(severity=Severity.ERROR, methods=METHODS)
def check(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
    """One observation for each file that is off, or may be."""
    board = facts.board
    yield from (_seen(board, *found) for found in misfits(board, scaled=False))
    for found in guesses(board):
        seen = _seen(board, *found)
        remedy = seen.remedy[0].lower() + seen.remedy[1:]
        yield replace(
            seen,
            message=f"{seen.message}: so few may do so by chance",
            remedy=f"Lay the files over each other; if it is so, {remedy}",
            cause=f"{seen.cause}, as far as few holes tell",
            state=State.MARGINAL,
        )
    matches = fit_of(board).matches
    why = [match.undecided for match in matches if match.undecided]
    if not matches and len(outer(board)) == 1:
        why = ["no holes, and no second side to compare with"]
    if why:
        yield Unchecked("the fit of the files to each other", "; ".join(why))


def _seen(board: Board, match: Match, sides: tuple[str, ...]) -> Observation:
    assert match.motion is not None
    return Observation(
        message=_message(match, sides),
        remedy=_remedy(at_fault(match, sides), match),
        cause=f"{named(match.what)} {match.motion.turn or 'moved'}",
        state=State.NOT_MAKEABLE,
        side=match.what if match.what in board.sides else None,
    )


def _message(match: Match, sides: tuple[str, ...]) -> str:
    motion = match.motion
    assert motion is not None
    if match.what == "edge":
        return f"{meeting(match, sides)}, whose middle lies {_far(motion)} from the copper's"
    how = motion.turn or f"moved by {_far(motion)}"
    return f"{meeting(match, sides)}, {then(match)} would if {named(match.what)} were {how}"


def _remedy(who: str, match: Match) -> str:
    motion = match.motion
    assert motion is not None
    if not motion.turn:
        about = ", middle to middle" if match.what == "edge" else ""
        return f"Move {who} by {_far(motion)}{about}, or export all files with one origin"
    if motion.turn.startswith("mirrored"):
        axis = f"x = {motion.dx / 2:.2f}" if "left" in motion.turn else f"y = {motion.dy / 2:.2f}"
        return f"Mirror {who} about {axis} mm, or export all files as seen from the top"
    return f"Export {who} again, {motion.turn}"


def _far(motion: Motion) -> str:
    return f"{motion.dx + 0.0:.3f}, {motion.dy + 0.0:.3f} mm".replace("-0.000", "0.000")
