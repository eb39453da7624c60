"""Several processes on one board, side by side."""

from checker.comparison.judge import compare
from checker.comparison.model import Change, Comparison, Pair, Row

__all__ = ["Change", "Comparison", "Pair", "Row", "compare"]
