"""How far a tool travels to isolate a side: a bound that needs no toolpath."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.board import Board, Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """Boundaries of the outer sides; columns with a row per side.

    Attributes:
        side: names of the sides.
        boundary: (n,) length of the boundary of the side's copper, mm.
        islands: (n,) how many islands it is.
    """

    side: tuple[str, ...]
    boundary: Floats
    islands: Ints

    def most(self, offsets: Iterable[float]) -> float:
        """Upper bound in mm on the length of passes at these distances (mm) from the copper.

        The boundary of everything within a distance r of connected copper is at most 2 pi r longer
        than the copper's own (equal for convex copper); where passes of neighbours meet it is less.
        """
        ways = (self.boundary + 2 * np.pi * offset * self.islands for offset in offsets)
        return float(sum(way.sum() for way in ways))


@lru_cache(maxsize=1)
def way_of(board: Board) -> Way:
    """Measure a board's outer sides."""
    outer = [layer for layer in board.copper if layer.side in ("top", "bottom")]
    return Way(
        side=tuple(layer.side for layer in outer),
        boundary=np.array([float(shapely.length(layer.islands).sum()) for layer in outer]),
        islands=np.array([len(layer.islands) for layer in outer], dtype=np.int64),
    )
