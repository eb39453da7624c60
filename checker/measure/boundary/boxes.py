"""Boxes round segments, and round runs of them, to tell soon what cannot meet."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Callable

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


MOST = 8
"""Boxes of a group."""


def first_rows(ring: Ints) -> Ints:
    """First rows of groups: one ends where the ring does, or the row is a multiple of `MOST`."""
    begins = np.arange(len(ring)) % MOST == 0
    begins[1:] |= ring[1:] != ring[:-1]
    return np.flatnonzero(begins)


class Grouped(Struct, frozen=True, eq=False, dict=True):
    """Boxes (n,) in groups (m,) of such as lie side by side.

    Attributes:
        each: the boxes, group by group.
        first: (m,) the first row of each group.
        box: (m,) round all of each group.
    """

    each: Boxes
    first: Ints
    box: Boxes

    @classmethod
    def of(cls, each: Boxes, first: Ints) -> Grouped:
        """The groups that begin at the given rows, the first of them at 0."""
        return cls(each, first, each.joined(first))

    @cached_property
    def tree(self) -> Any:
        """An STRtree over the groups."""
        return shapely.STRtree(self.box.lines)

    def meeting(
        self, others: Grouped, may: Callable[[Ints, Ints], NDArray[np.bool_]] | None = None
    ) -> tuple[Ints, Ints]:
        """Pairs (i, j) of a box and one of the others that it meets.

        ``may`` tells of pairs of groups which may hold a pair that is wanted; all where None.
        """
        one, other = others.tree.query(self.box.lines)
        if may is not None:
            asked = may(one, other)
            one, other = one[asked], other[asked]
        i, place = self._rows(one)
        other = other[place]
        met = self.each.meet(i, others.box, other)
        i, other = i[met], other[met]
        j, place = others._rows(other)
        i = i[place]
        met = self.each.meet(i, others.each, j)
        return i[met], j[met]

    def _rows(self, groups: Ints) -> tuple[Ints, Ints]:
        """The rows of groups one after the other, and for each the place in ``groups`` of its."""
        begins = np.append(self.first, len(self.each.x0))
        first, count = self.first[groups], begins[groups + 1] - begins[groups]
        place = np.repeat(np.arange(len(groups)), count)
        return (first - np.cumsum(count) + count)[place] + np.arange(len(place)), place
