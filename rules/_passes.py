"""How many passes clear the width that a process clears round its nets, and how long they are."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from checker.measure.whole.way import way_of

if TYPE_CHECKING:
    from checker.board import Board
    from checker.process.model import Process

_MM_PER_M = 1000
_EXACT = 1e-9


@dataclass(frozen=True, slots=True)
class Passes:
    """Isolation of a board: how many passes, and at most how many metres of cut."""

    count: int
    metres: float

    @property
    def spoken(self) -> str:
        """As in "up to 12.3 m in 3 passes"."""
        return f"up to {self.metres:.1f} m in {self.count} pass{'es'[: 2 * (self.count > 1)]}"


def passes(board: Board, process: Process) -> Passes | None:
    """The passes of a process that cuts; None for one that does not."""
    if process.cut is None or process.clears is None:
        return None
    width, more = process.cut.nominal, process.clears.nominal - process.cut.nominal
    count = 1 + math.ceil(more / (width * (1 - process.feeds.overlap)) - _EXACT)
    step = more / (count - 1) if count > 1 else 0
    way = way_of(board).most(width / 2 + number * step for number in range(count))
    return Passes(count, way / _MM_PER_M)
