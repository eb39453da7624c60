"""How many passes clear the width that a process clears round its nets, and how long they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from checker.work import isolation, isolation_at_most, offsets_of

if TYPE_CHECKING:
    from checker.board import Board
    from checker.process.model import Process

FEED = 10  # feeds are set in steps of this, mm/min
TURNS = 500  # and spindles in steps of this, rpm


class Passes(Struct, frozen=True):
    """Isolation of a board: how many passes, and how many metres of cut."""

    count: int
    metres: float

    @property
    def spoken(self) -> str:
        """As in "12.3 m in 3 passes"."""
        return f"{self.metres:.1f} m in {self.count} pass{'es'[: 2 * (self.count > 1)]}"


_ROUNDING = 1e-9  # of a length


def passes(board: Board, process: Process, above: float = 0.0) -> Passes | None:
    """The passes of a process that cuts; None for one that does not.

    None also where it is plain without looking closer that they take no more than ``above`` metres.
    """
    if isolation_at_most(board, process) < above * (1 - _ROUNDING):
        return None
    work = isolation(board, process)
    if work is None or work.metres is None:
        return None
    return Passes(len(offsets_of(process)), work.metres)
