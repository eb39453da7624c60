"""What a calibration changes for given boards: the verdict before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from checker.board import Board, Unchecked

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from checker.findings import Verdict
    from checker.measure import Facts
    from checker.process.model import Process


class Change(Struct, frozen=True):
    """One board.

    Attributes:
        name: of the board.
        before, after: the verdicts.
        unchecked_before, unchecked_after: what each verdict leaves open.
        closed_before, closed_after: places between two nets that the nominal cut does not open.
    """

    name: str
    before: Verdict
    after: Verdict
    closed_before: int
    closed_after: int
    unchecked_before: tuple[Unchecked, ...] = ()
    unchecked_after: tuple[Unchecked, ...] = ()


def changes(
    boards: Iterable[Board | str | Path], before: Process, after: Process
) -> tuple[Change, ...]:
    """Judge boards, or the paths of some, by two processes; each board is measured once.

    Raises:
        CheckerError: a board cannot be read.
    """
    return tuple(_change(board, before, after) for board in boards)


def _change(given: Board | str | Path, before: Process, after: Process) -> Change:
    from checker.engine import check, reach_for
    from checker.measure import measure
    from checker.read import read_board

    board = given if isinstance(given, Board) else read_board([given])
    facts = measure(board, reach_for([before, after]))
    old, new = (check(board, process, facts=facts) for process in (before, after))
    return Change(
        board.name,
        old.verdict,
        new.verdict,
        _closed(facts, before),
        _closed(facts, after),
        old.unchecked,
        new.unchecked,
    )


def _closed(facts: Facts, process: Process) -> int:
    """Places that no rule calls open, as the comparison of processes counts them."""
    from checker.isolation import Fate, fates

    closed = (Fate.JOINED, Fate.AT_LIMIT)
    return sum(int((one.fate == fate).sum()) for one in fates(facts, process) for fate in closed)
