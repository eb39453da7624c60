"""Runs: a few segments of a ring each, to tell soon what cannot face what.

Most of a boundary faces nothing within reach. Boxes and normals of whole runs show that for an
eighth of what asking each segment takes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.measure.boundary.boxes import Boxes, Grouped, first_rows
from checker.measure.plane import dot

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]

_APART = 1e-4  # mm between boxes: so far apart a normal's direction is known to 0.1 degrees
_UNSURE = 0.01  # of an angle, more than that at both ends
_GENTLE = (
    2 * np.pi / 3
)  # all that follows goes on by half its length: no more than 1e-7 mm is unsure


class Runs(Struct, frozen=True, eq=False):
    """Runs of segments; columns of length m.

    Attributes:
        of: (n,) the run of each segment.
        first: the first row; ``next`` the run that follows on the ring; ``length`` in mm.
        island: index of the polygon; ``ring`` number of the ring.
        boxes: (n,) round the segments, in groups (m,).
        normal: (m, 2) unit vector, the mean of the normals of the segments and of the one before.
        spread: the largest angle between it and one of them, pi from a right angle on.
    """

    of: Ints
    first: Ints
    next: Ints
    length: Floats
    island: Ints
    ring: Ints
    boxes: Grouped
    normal: Floats
    spread: Floats

    @classmethod
    def of_segments(cls, segments: Segments) -> Runs:
        """The runs of a boundary of at least one segment."""
        first = first_rows(segments.ring)
        last = np.append(first[1:], len(segments)) - 1
        of = np.repeat(np.arange(len(first)), last - first + 1)
        each = Boxes.of(np.minimum(segments.a, segments.b), np.maximum(segments.a, segments.b))
        before = segments.normal[segments.prev[first]]
        normal = _of_each(np.add, segments.normal, first) + before
        normal /= np.maximum(np.hypot(*normal.T), 1e-12)[:, None]
        cosine = np.minimum.reduceat(dot(segments.normal, normal[of]), first)
        cosine = np.minimum(cosine, dot(before, normal))
        return cls(
            of=of,
            first=first,
            next=of[segments.next[last]],
            length=np.add.reduceat(segments.length, first),
            island=segments.island[first],
            ring=segments.ring[first],
            boxes=Grouped.of(each, first),
            normal=normal,
            spread=np.where(cosine > 0, np.arccos(np.clip(cosine, 0, 1)), np.pi),
        )

    def pairs(
        self, rows: slice, ahead: Boxes, may: Callable[[Ints, Ints], Bools]
    ) -> tuple[Ints, Ints]:
        """Pairs of segments, the first in ``rows``, the second ahead of it.

        The rows begin at a multiple of `MOST`; ``ahead`` (rows,) are boxes round what is ahead of
        each. ``may`` tells which pairs of runs may hold a pair that is wanted.
        """
        begin, end = int(self.of[rows][0]), int(self.of[rows][-1]) + 1
        asking = Grouped.of(ahead, self.first[begin:end] - rows.start)
        i, j = asking.meeting(self.boxes, lambda one, other: may(one + begin, other))
        return i + rows.start, j

    def follow(self, i: Ints, j: Ints, turn: float) -> Bools:
        """Which are one run, or follow each other, and turn by less than ``turn`` in all.

        If that is less than pi they do not double back: what lies between two points of them is at
        most 1 / cos (turn / 2) times as long as these are apart.
        """
        near = (i == j) | (self.next[i] == j) | (self.next[j] == i)
        found: Bools = near & (self._turn(i, j) < turn)
        return found

    def opposed(self, i: Ints, j: Ints) -> Bools:
        """Which may hold a double normal: somewhere their normals point opposite ways.

        Where two stretches all but touch a normal has no sure direction, so that all may. Those
        that follow each other gently keep off each other, but for neighbours, which touch.
        """
        askew = (self.boxes.box.apart(i, j) > _APART) & (self._turn(i, j) < np.pi - _UNSURE)
        return ~(askew | self.follow(i, j, _GENTLE))

    def _turn(self, i: Ints, j: Ints) -> Floats:
        """The largest angle between a normal of one and a normal of the other, or more."""
        between = np.arccos(np.clip(dot(self.normal[i], self.normal[j]), -1, 1))
        turn: Floats = between + self.spread[i] + self.spread[j]
        return turn


def _of_each(reduce: np.ufunc, values: Floats, first: Ints) -> Floats:
    """(m, 2) what rows (n, 2) come to from each first one to the next."""
    return np.column_stack([reduce.reduceat(values[:, axis], first) for axis in (0, 1)])
