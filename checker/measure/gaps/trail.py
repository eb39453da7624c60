"""What the walkers of `checker.measure.gaps.walk` see, and the trail they leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.plane import dot, larger, lesser

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]


JUST_BELOW = 1e-6  # mm: less than a bisection leaves open


class Surroundings:
    """The boundary segments within half a window of the middle of each place.

    Rows of a place follow each other (CSR), and within them those of an island: groups.
    """

    def __init__(self, segments: Segments, middle: Floats, half: Floats) -> None:
        x, y = middle.T
        place, row = segments.tree.query(shapely.box(x - half, y - half, x + half, y + half))
        order = np.lexsort((segments.island[row], place))
        self.segments = segments
        self.row, place = row[order], place[order]
        numbers = np.arange(len(middle))
        self.start = np.searchsorted(place, numbers)
        self.end = np.searchsorted(place, numbers, "right")
        # Looked at again and again, so in columns that lie as they are read.
        a, along = segments.a[self.row], segments.direction[self.row]
        self.a_x, self.a_y = a[:, 0].copy(), a[:, 1].copy()
        self.along_x, self.along_y = along[:, 0].copy(), along[:, 1].copy()
        self.length, island = segments.length[self.row], segments.island[self.row]
        changes = (np.diff(place, prepend=-1) != 0) | (np.diff(island, prepend=-1) != 0)
        group = np.flatnonzero(changes)
        self.island, self.size = island[group], np.diff(group, append=len(place))
        self.first_group = np.searchsorted(place[group], numbers)
        self.groups = np.searchsorted(place[group], numbers, "right") - self.first_group

    def look(
        self, place: Ints, at: Floats, first: Ints, second: Ints, *, named: bool = False
    ) -> Sight:
        """What walkers see: distances to their two islands and to any other, and the feet.

        The nearest other island is told where it is to be ``named``.
        """
        sight = Sight.nothing(len(place))
        start, count = self.start[place], self.end[place] - self.start[place]
        if not count.any():
            return sight
        offset = np.cumsum(count) - count
        near = np.repeat(start - offset, count)
        near += np.arange(len(near))
        x = np.repeat(at[:, 0], count)
        y = np.repeat(at[:, 1], count)
        x -= self.a_x[near]
        y -= self.a_y[near]
        along_x, along_y = self.along_x[near], self.along_y[near]
        t = x * along_x
        t += y * along_y
        np.maximum(t, 0, out=t)
        np.minimum(t, self.length[near], out=t)
        along_x *= t
        along_y *= t
        x -= along_x
        y -= along_y
        np.multiply(x, x, out=along_x)
        np.multiply(y, y, out=along_y)
        square = along_x
        square += along_y
        # The least of each group, then of the groups of each walker.
        groups = self.groups[place]
        begin = np.cumsum(groups) - groups
        group = np.repeat(self.first_group[place] - begin, groups)
        group += np.arange(len(group))
        walker = np.repeat(np.arange(len(place)), groups)
        size, island = self.size[group], self.island[group]
        begin_row = np.cumsum(size) - size
        least = np.minimum.reduceat(square, begin_row)
        is_first, is_second = island == first[walker], island == second[walker]
        others = np.where(is_first | is_second, np.inf, least)
        seen = np.flatnonzero(groups)
        sight.distance[seen, 2] = np.minimum.reduceat(others, begin[seen])
        if named:
            hit = np.flatnonzero((others == sight.distance[walker, 2]) & np.isfinite(others))[::-1]
            sight.third[walker[hit]] = island[hit]  # the first of equals, written last
        hit = np.flatnonzero(square == np.repeat(least, size))[::-1]
        nearest = np.zeros(len(group), dtype=np.int64)
        nearest[np.searchsorted(begin_row, hit, "right") - 1] = hit
        s = self.segments
        for k, mine in enumerate((np.flatnonzero(is_first), np.flatnonzero(is_second))):
            w, hit = walker[mine], nearest[mine]
            row = self.row[near[hit]]
            sight.distance[w, k] = least[mine]
            sight.away[w, k, 0], sight.away[w, k, 1] = x[hit], y[hit]
            sight.ring[w, k] = s.ring[row]
            sight.along[w, k] = s.along[row] + t[hit]
            sight.girth[w, k] = s.girth[row]
        np.sqrt(sight.distance, out=sight.distance)
        return sight


class Sight(Struct, frozen=True, eq=False):
    """What (w,) walkers see of their islands (columns 0, 1) and of others (column 2).

    ``distance`` (w, 3); ``away`` (w, 2, 2) from the foot to the walker; ``ring``, ``along`` and
    ``girth`` (w, 2) where on which ring the foot lies; ``third`` (w,) nearest other island.
    """

    distance: Floats
    away: Floats
    ring: Ints
    along: Floats
    girth: Floats
    third: Ints

    @classmethod
    def nothing(cls, count: int) -> Sight:
        """Walkers that see nothing."""
        return cls(
            np.full((count, 3), np.inf),
            np.zeros((count, 2, 2)),
            np.full((count, 2), -1),
            np.zeros((count, 2)),
            np.ones((count, 2)),
            np.full(count, -1),
        )

    def gradient(self) -> tuple[Floats, Floats]:
        """Gradient (w, 2) of the difference of the two distances, and its square (w,)."""
        unit = self.away / np.maximum(self.distance[:, :2], 1e-12)[:, :, None]
        gradient: Floats = unit[:, 0] - unit[:, 1]
        return gradient, dot(gradient, gradient)

    def tangent(self, heading: Floats) -> Floats:
        """Unit vector (w, 2) along the bisector, on the side of ``heading`` (w, 2)."""
        gradient, square = self.gradient()
        tangent = np.column_stack([-gradient[:, 1], gradient[:, 0]])
        tangent /= np.sqrt(np.maximum(square, 1e-9))[:, None]
        tangent *= np.where(dot(tangent, heading) < 0, -1.0, 1.0)[:, None]
        return tangent


class Trail(Struct, eq=False):
    """Recorded points of (w,) walkers, up to K each.

    ``at`` (w, K, 2); ``clearance`` (w, K) NaN where not walked; ``slope`` (w, K) of the clearance
    along the walk; ``first``, ``second`` (w, K) islands walked between; ``pocket`` (w, K) length
    of boundary skipped since the point before, inf where the walk changed rings or islands.
    """

    at: Floats
    clearance: Floats
    slope: Floats
    first: Ints
    second: Ints
    pocket: Floats

    @classmethod
    def blank(cls, walkers: int, steps: int) -> Trail:
        """A trail of no points yet."""
        size = (walkers, steps)
        return cls(
            np.full((*size, 2), np.nan),
            np.full(size, np.nan),
            np.full(size, np.nan),
            np.zeros(size, int),
            np.zeros(size, int),
            np.zeros(size),
        )

    def columns(self) -> tuple[NDArray[np.generic], ...]:
        """All columns, in order."""
        return (self.at, self.clearance, self.slope, self.first, self.second, self.pocket)

    def cut(self, rows: Ints, steps: int) -> Trail:
        """A copy of the given rows with room for ``steps`` points."""
        new = Trail.blank(len(rows), steps)
        for target, source in zip(new.columns(), self.columns(), strict=True):
            width = min(steps, source.shape[1])
            target[:, :width] = source[rows, :width]
        return new

    @property
    def climbed(self) -> Floats:
        """(w, K) running maximum of the clearance, -inf before the first point."""
        known = np.where(np.isnan(self.clearance), -np.inf, self.clearance)
        climbed: Floats = np.maximum.accumulate(known, axis=1)
        return climbed

    @property
    def last(self) -> Ints:
        """(w,) number of the last recorded point, 0 where there is none."""
        last: Ints = np.maximum(self.walked - 1, 0)
        return last

    @property
    def walked(self) -> Ints:
        """(w,) number of recorded points."""
        walked: Ints = (~np.isnan(self.clearance)).sum(1)
        return walked

    def front_step(self, climbed: Floats, clearance: Floats) -> Ints:
        """(w,) first step at which the running maximum reaches a clearance, else the last."""
        return first_step(climbed, clearance, self.last)

    def front(self, climbed: Floats, clearance: Floats) -> Floats:
        """(w, 2) the point of that step, interpolated."""
        step = self.front_step(climbed, clearance)
        return self.stretch(np.arange(len(climbed)), step).at(clearance)

    def stand(self, climbed: Floats, clearance: Floats) -> Floats:
        """(n, 2, 2) where a cutter of a clearance, or barely less, first stands to both sides."""
        front = self.front(climbed, np.repeat(clearance, 2) - JUST_BELOW)
        return front.reshape(-1, 2, 2)

    def stretch(self, rows: Ints, step: Ints) -> Stretch:
        """The ways of (n,) walkers to a step of each."""
        i = np.maximum(step - 1, 0)
        low, high = self.clearance[rows, i], self.clearance[rows, step]
        rises, start = high > low, self.at[rows, i]
        return Stretch(
            np.where(rises, low, -np.inf),
            np.where(rises, high - low, 1.0),
            start,
            self.at[rows, step] - start,
        )

    def bays(self, level: Floats) -> tuple[Ints, Floats, Floats]:
        """The highest that a step may hide before each walker (w,) reaches a clearance, if it does.

        The step, the share of it at which that is, and how high (-inf where there is no step). A
        step that rises at its start and falls at its end hides a bay below its tangents.
        """
        climbed = self.climbed
        length = np.hypot(*np.moveaxis(np.diff(self.at, axis=1), 2, 0))
        c0, c1 = self.clearance[:, :-1], self.clearance[:, 1:]
        s0, s1 = self.slope[:, :-1], self.slope[:, 1:]
        index = np.arange(1, self.clearance.shape[1])
        before = index < self.front_step(climbed, level)[:, None]
        before |= (climbed[:, -1] <= level)[:, None]
        with np.errstate(invalid="ignore", divide="ignore"):
            t = np.clip((c1 - c0 - s1 * length) / (s0 - s1), 0, length)
            bay = (s0 > 1e-3) & (s1 < -1e-3)
            height = np.where(bay, c0 + s0 * t, np.fmax(c0, c1))
            share = np.where(bay, np.clip(t / length, 0.1, 0.9), 0.5)
        height = np.where(before & ~np.isnan(height), height, -np.inf)
        walker, step = np.arange(len(level)), height.argmax(1)
        return step + 1, share[walker, step], height[walker, step]

    def farthest(self) -> tuple[Floats, Floats]:
        """The clearance that both walkers of each pair have passed, and how far apart they stand.

        A walker that has passed no more than that stands, or will, at or beyond its last point.
        """
        climbed = self.climbed
        top = climbed[:, -1]
        level = lesser(top.reshape(-1, 2))
        each = np.repeat(level, 2)
        last = self.at[np.arange(len(top)), np.maximum(self.walked - 1, 0)]
        held = top <= each * (1 + 1e-9)
        stand = np.where(held[:, None], last, self.front(climbed, each)).reshape(-1, 2, 2)
        return level, np.hypot(*(stand[:, 0] - stand[:, 1]).T)


class Stretch(Struct, frozen=True, eq=False):
    """The way of (n,) walkers from one step to the next.

    ``low`` (n,) clearance at its start, and ``rise`` to its end; ``start`` and ``along`` (n, 2).
    Where the clearance does not rise ``low`` is -inf: any is reached at the end.
    """

    low: Floats
    rise: Floats
    start: Floats
    along: Floats

    def at(self, clearance: Floats) -> Floats:
        """(n, 2) the points where a clearance is reached, the ends where it lies beyond."""
        t = np.minimum(np.maximum((clearance - self.low) / self.rise, 0), 1)
        points: Floats = self.start + t[:, None] * self.along
        return points


def first_step(climbed: Floats, clearance: Floats, last: Ints) -> Ints:
    """(w,) first step at which the running maximum reaches a clearance, else the last."""
    step = (climbed >= clearance[:, None]).argmax(1)
    step[climbed[:, -1] < clearance] = climbed.shape[1]
    first: Ints = np.minimum(step, last)
    return first


def boundary_skipped(sight: Sight, seen: Bools, foot: list[Floats], w: Ints, k: Ints) -> Floats:
    """(w,) boundary skipped since the walkers' last look, the longer of the two islands' sides."""
    ring, along, girth = sight.ring[seen], sight.along[seen], sight.girth[seen]
    moved = np.abs(along - foot[1][w])
    moved = np.minimum(moved, girth - moved)
    moved = larger(np.where(ring == foot[0][w], moved, np.inf))
    foot[0][w], foot[1][w] = ring, along
    return np.where(k == 0, 0.0, moved)
