"""How near two widths of a board may be before they cannot be told apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.board import Board

TIE = 0.003  # bound on the error of a measured critical width, mm


def tie(board: Board) -> float:
    """Two widths of a board nearer to each other than this (mm) cannot be told apart."""
    return 2 * board.tolerance + TIE
