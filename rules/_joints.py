"""What the rules on joints by hand share: who can be asked, and in which words places are told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.measure.holes.uses import uses_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.board import Board
    from checker.process.model import Process

_MOST_NAMED = 3


def no_parts(board: Board) -> Unchecked | None:
    """What a rule on parts over joints says where the files do not tell where parts sit."""
    if board.parts is not None:
        return None
    return Unchecked("joints under parts", "no component layer names the parts' bodies")


def few(names: Iterable[str]) -> str:
    """The first names and how many more there are."""
    listed = list(dict.fromkeys(names))
    more = len(listed) - _MOST_NAMED
    return ", ".join(listed[:_MOST_NAMED]) + f" and {more} more" * (more > 0)


def lump(process: Process, hole: float) -> float:
    """Radius in mm of what a joint is on the board: the lump or head, no less than its hole."""
    return max(process.joints.head or 0.0, hole) / 2


def called(board: Board, hole: int) -> str:
    """A hole's nets after a colon; "" where none is named."""
    nets = ", ".join(uses_of(board).nets[hole])
    return f": {nets}" if nets else ""
