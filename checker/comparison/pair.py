"""Two bits for one board: a fine one where it must be, a coarse one for the rest.

A coarse bit clears the same width in fewer passes, and faster; where it does not fit between copper
the fine bit runs. Both set to their own depth, one change of tool in between.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.comparison.model import Pair
from checker.findings import Verdict
from checker.work import isolation

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Board
    from checker.comparison.model import Row
    from checker.process.model import Process

_MIN_PER_H = 60
_WORTH = 1.0  # minutes; less is not worth a second bit


def best_pair(board: Board, rows: Sequence[Row]) -> Pair | None:
    """The pair of the compared bits that isolates in the least time.

    The fine bit is one that makes the board alone; so the pair opens what the fine one opens, and
    the coarse one runs only where its widest cut fits. None where no pair is quicker by a minute
    than the quickest single bit that makes the board.
    """
    milling = [row for row in rows if row.process.method == "milling"]
    alone = {
        row.process.name: minutes
        for row in milling
        if row.verdict in (Verdict.MAKEABLE, Verdict.MARGINAL)
        and (minutes := row.work.tools[0].minutes) is not None
    }
    if not alone:
        return None
    # A bit that makes the board only with luck is no match for one that makes it with margin.
    able = [row for row in milling if row.process.name in alone]
    best = (able[0].verdict, able[0].opens)
    fine = [row.process for row in able if (row.verdict, row.opens) == best]
    pairs = _pairs(board, fine, [row.process for row in milling], alone)
    quickest = min(pairs, key=lambda pair: (pair.minutes, pair.fine, pair.coarse), default=None)
    if quickest is None:
        return None
    single = min(alone[process.name] for process in fine)
    return quickest if quickest.minutes + _WORTH <= single else None


def widest_room(processes: Iterable[Process]) -> float:
    """Radius (mm) of the widest disc that any pair of them asks room for."""
    cuts = (process.cut.most for process in processes if process.cut is not None)
    return max(cuts, default=0.0) / 2


def _pairs(
    board: Board,
    fine: Sequence[Process],
    coarse: Sequence[Process],
    alone: dict[str, float],
) -> Iterable[Pair]:
    for other in coarse:
        if other.cut is None or other.reached is None or other.reached.least < other.foil.most:
            continue  # it would not go through the copper everywhere
        room = other.cut.most / 2
        by_coarse = isolation(board, other, beyond=room)
        if by_coarse is None or by_coarse.minutes is None:
            continue
        for one in fine:
            if one.cut is None or other.cut.nominal <= one.cut.nominal or one.hand.change is None:
                continue
            by_fine = isolation(board, one, below=room)
            if by_fine is None or by_fine.minutes is None:
                continue
            minutes = by_fine.minutes + by_coarse.minutes + one.hand.change * _MIN_PER_H
            yield Pair(
                fine=one.name,
                coarse=other.name,
                fine_metres=by_fine.metres or 0.0,
                coarse_metres=by_coarse.metres or 0.0,
                minutes=minutes,
                saved=alone[one.name] - minutes,
            )
