"""What the rules on perfboard share: the grid a profile tells of, and ways in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.measure.whole.grid import grid_of, leads_of
from rules._edge import unset
from rules._holes import unread

if TYPE_CHECKING:
    from checker.board import Board, Floats
    from checker.measure.whole.grid import Grid
    from checker.process.model import Process

_TOLD = 0.005  # mm; less rounds to nothing


def grid_or_why(board: Board, process: Process, subject: str) -> Grid | Unchecked:
    """The board's leads on the grid of the profile, or why there is none to look at."""
    grid = process.grid
    if grid.pitch is None or grid.bend is None:
        return unset(subject, "grid.pitch" if grid.pitch is None else "grid.bend")
    if (missing := unread(board, subject)) is not None:
        return missing
    if not len(leads_of(board)):
        return Unchecked(subject, "no hole of the board takes a lead")
    return grid_of(board, grid.pitch, grid.bend)


def way(shift: Floats) -> str:
    """A way to move, as seen in the coordinates of the files: "0.30 mm right and 0.12 mm up"."""
    words = (("right", "left"), ("up", "down"))
    steps = [
        f"{abs(length):.2f} mm {word[length < 0]}"
        for length, word in zip(shift.tolist(), words, strict=True)
        if abs(length) >= _TOLD
    ]
    return " and ".join(steps)
