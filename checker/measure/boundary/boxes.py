"""Boxes round segments, and round runs of them, to tell soon what cannot meet."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes


class Boxes(NamedTuple):
    """Boxes, a column (n,) for each side; mm."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats

    @classmethod
    def of(cls, low: Floats, high: Floats) -> Boxes:
        """From their lower and upper corners, (n, 2) each."""
        return cls(*map(np.ascontiguousarray, (*low.T, *high.T)))

    def joined(self, first: Ints) -> Boxes:
        """(m,) one box round all from each of the first rows to the next."""
        return Boxes(
            np.minimum.reduceat(self.x0, first),
            np.minimum.reduceat(self.y0, first),
            np.maximum.reduceat(self.x1, first),
            np.maximum.reduceat(self.y1, first),
        )

    @property
    def lines(self) -> Shapes:
        """(n,) their diagonals: trees look at boxes only, and these are sooner made."""
        lines: Shapes = shapely.linestrings(np.column_stack(self).reshape(-1, 2, 2))
        return lines

    def meet(self, i: Ints, others: Boxes, j: Ints) -> NDArray[np.bool_]:
        """(k,) which boxes i meet the others j."""
        met = self.x0[i] <= others.x1[j]
        met &= self.x1[i] >= others.x0[j]
        met &= self.y0[i] <= others.y1[j]
        met &= self.y1[i] >= others.y0[j]
        return met

    def apart(self, i: Ints, j: Ints) -> Floats:
        """(k,) how far boxes i are from j along the axis that parts them more."""
        x = np.maximum(self.x0[i] - self.x1[j], self.x0[j] - self.x1[i])
        y = np.maximum(self.y0[i] - self.y1[j], self.y0[j] - self.y1[i])
        return np.maximum(x, y)
