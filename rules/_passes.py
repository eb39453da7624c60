"""How many passes clear the width that a process clears round its nets, and how long they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from checker.work import isolation, offsets_of

if TYPE_CHECKING:
    from checker.board import Board
    from checker.process.model import Process


@dataclass(frozen=True, slots=True)
class Passes:
    """Isolation of a board: how many passes, and how many metres of cut."""

    count: int
    metres: float

    @property
    def spoken(self) -> str:
        """As in "12.3 m in 3 passes"."""
        return f"{self.metres:.1f} m in {self.count} pass{'es'[: 2 * (self.count > 1)]}"


def passes(board: Board, process: Process) -> Passes | None:
    """The passes of a process that cuts; None for one that does not."""
    work = isolation(board, process)
    if work is None or work.metres is None:
        return None
    return Passes(len(offsets_of(process)), work.metres)
