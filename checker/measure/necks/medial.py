"""Walks along the medial axis of copper: what becomes of a strip where its straight part ends.

The medial axis is the set of points with equally near boundary on both sides. A walker follows
it from a place of known width and stops where the copper turns out wider, narrower or the same.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.plane import dot

if TYPE_CHECKING:
    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments

REACH = 2.0
"""A walker gives up after this many widths: the strip runs on."""

_STEP = 0.2  # widths per step; below half a width, so that a step never leaves the copper
_STAGE = 0.6  # widths a walker may go before it looks at its surroundings anew
_STAGES, _LOOKS = 8, 40  # most stages a walk and looks around a stage, if it goes in circles
_CLIMBS, _MOVES = 40, 80  # most stages a climb and moves a stage, where walls part ever so slowly
_CHUNK, _CLIMBERS = 4_000, 16_000  # walkers and climbers at a time: bounds memory
_CENTRED = 2e-3  # of the width: how equal the two sides must be, a twelfth of the least change
_CORRECTIONS = 5  # Newton steps onto the axis before taking the point as it is
_SAME_SIDE = 0.3  # squared length of the difference of the two unit normals: about 30 degrees

_AHEAD = 0.5, 0.65  # of the limit: where a disc of that diameter ahead is looked for first
_LONGEST, _SHORTEST = 0.5, 2e-3  # radii: steps of a climb
_LONGER, _SHORTER = 2, 4  # factors of the next step after one that led on, and one that did not
_LEVEL = 1e-3  # slope of the clearance that counts as none
_DENT = 1e-3  # growth of a disc that shows it was not the largest
_HEEDED = 1.3  # steps: boundary farther beyond the disc than this does not keep it from growing
_ROOM = 0.6  # radii a disc may move before it looks at its surroundings anew


class Outcome(IntEnum):
    """What a walker found: the copper widens, narrows or ends, or stays as it is."""

    ON_WAY = 0
    WIDENS = 1
    ENDS = 2
    RUNS_ON = 3


class Walks(Struct, frozen=True, eq=False):
    """Columns of length n.

    Attributes:
        outcome: values of `Outcome`.
        run: mm walked in copper of about the width.
        stop, heading: (n, 2) where the walk stopped, and the unit vector onward.
        width: of the copper there, mm.
        top: (n, 2) the first place on the way from which the copper was not wider than there.
        most: its width there, mm.
    """

    outcome: Ints
    run: Floats
    stop: Floats
    heading: Floats
    width: Floats
    top: Floats
    most: Floats


def walk(
    segments: Segments,
    island: Ints,
    start: Floats,
    heading: Floats,
    width: Floats,
    less: Floats,
    more: Floats,
) -> Walks:
    """Follow the medial axis of an island from each start point.

    Args:
        segments: the boundary.
        island: (n,) the island each walker is in.
        start: (n, 2) points on the axis.
        heading: (n, 2) unit vectors along it.
        width: (n,) twice the distance to the boundary at the start, mm.
        less: (n,) width below which a walk is at an end, mm; at least half the width, so that no
            step leaves the copper.
        more: (n,) width above which it is in wide copper, mm.
    """
    count = len(width)
    walks = Walks(
        outcome=np.zeros(count, int),
        run=np.zeros(count),
        stop=start.copy(),
        heading=heading.copy(),
        width=width.copy(),
        top=start.copy(),
        most=width.copy(),
    )
    for first in range(0, count, _CHUNK):
        active = np.arange(first, min(first + _CHUNK, count))
        for _ in range(_STAGES):
            if not len(active):
                break
            _stage(segments, island, width, less, more, walks, active)
            active = active[walks.outcome[active] == Outcome.ON_WAY]
        walks.outcome[active] = Outcome.RUNS_ON
    return walks


def _stage(
    segments: Segments,
    island: Ints,
    width: Floats,
    less: Floats,
    more: Floats,
    walks: Walks,
    rows: Ints,
) -> None:
    """Walk the given rows until each is done or has left its surroundings, in place."""
    anchor = walks.stop[rows].copy()
    reach = (_STAGE + _STEP) * width[rows] + more[rows] / 2
    near = _Surroundings(segments, island[rows], anchor, 1.1 * reach)
    at = anchor.copy()
    corrections = np.zeros(len(rows), int)  # a start may lie beside the axis, by less than a slack
    here = np.arange(len(rows))
    for _ in range(_LOOKS):
        if not len(here):
            break
        row = rows[here]
        distance, away = near.sides(here, at[here], walks.heading[row])
        difference = distance[:, 0] - distance[:, 1]
        # gradient of the difference: the two unit vectors away from the boundary, subtracted
        unit = away / np.maximum(distance, 1e-12)[:, :, None]
        gradient = unit[:, 0] - unit[:, 1]
        square = dot(gradient, gradient)
        off_axis = (
            np.isfinite(difference)
            & (np.abs(difference) > _CENTRED * width[row])
            & (corrections[here] < _CORRECTIONS)
            & (square > 0.05)
        )
        off = here[off_axis]
        limit = distance[off_axis, 0] / 4
        move = np.clip(difference[off_axis] / square[off_axis], -limit, limit)
        at[off] -= move[:, None] * gradient[off_axis]
        corrections[off] += 1

        on, row = here[~off_axis], row[~off_axis]
        clearance = distance[~off_axis].min(1)
        run = walks.run[row] + np.hypot(*(at[on] - walks.stop[row]).T)
        walks.stop[row] = at[on]
        corrections[on] = 0
        gradient, square = gradient[~off_axis], square[~off_axis]
        there = 2 * clearance
        wide, ended = there > more[row], there < less[row]
        walks.outcome[row] = np.select(
            [wide, ended | ((square < _SAME_SIDE) & (run > 0)), run > REACH * width[row]],
            [Outcome.WIDENS, Outcome.ENDS, Outcome.RUNS_ON],
            Outcome.ON_WAY,
        )
        walks.width[row] = there
        more_than_before = there > walks.most[row]
        higher = row[more_than_before]
        walks.top[higher], walks.most[higher] = at[on[more_than_before]], there[more_than_before]
        walks.run[row] = np.where(wide | ended, walks.run[row], run)
        on_way = walks.outcome[row] == Outcome.ON_WAY
        on, row = on[on_way], row[on_way]
        tangent = np.column_stack([-gradient[on_way, 1], gradient[on_way, 0]])
        tangent /= np.sqrt(square[on_way])[:, None]
        backward = dot(tangent, walks.heading[row]) < 0
        tangent[backward] *= -1
        walks.heading[row] = tangent
        inside = np.hypot(*(at[on] - anchor[on]).T) < _STAGE * width[row]
        at[on] += tangent * (_STEP * width[row])[:, None]
        here = np.sort(np.concatenate([off, on[inside]]))


class Summits(Struct, frozen=True, eq=False):
    """Where inscribed discs end that grow as they move; columns of length n.

    Attributes:
        at: (n, 2) middle of the disc.
        width: its diameter, mm; inf where it reached what was enough.
    """

    at: Floats
    width: Floats


def climb(
    segments: Segments, island: Ints, start: Floats, heading: Floats, width: Floats, enough: Floats
) -> Summits:
    """Move inscribed discs to where they are largest.

    A disc moves into the middle of the widest arc over which it touches no boundary, until that
    is less than half of it. It grows all the way, so it passes no neck.

    Args:
        segments: the boundary.
        island: (n,) the island of each disc.
        start: (n, 2) its middle.
        heading: (n, 2) unit vector to where it is likely to grow.
        width: (n,) about its diameter there, mm.
        enough: (n,) diameter at which it stops, mm.
    """
    summits = Summits(start.copy(), width.astype(float))
    small = np.arange(len(width))
    for share in _AHEAD:  # most are soon done: a disc that is wide enough and holds the start
        ahead = shapely.points(start[small] + share * enough[small, None] * heading[small])
        crowded = segments.tree.query(ahead, "dwithin", distance=share * enough[small])[0]
        rest = np.unique(crowded)
        summits.width[np.delete(small, rest)] = np.inf
        small = small[rest]
    for first in range(0, len(small), _CLIMBERS):
        active = small[first : first + _CLIMBERS]
        step = np.full(len(active), _LONGEST)
        for _ in range(_CLIMBS):
            active, step = _climb_on(segments, island, enough, summits, active, step)
            if not len(active):
                break
    return summits


def _climb_on(
    segments: Segments,
    island: Ints,
    enough: Floats,
    summits: Summits,
    rows: Ints,
    step: Floats,
) -> tuple[Ints, Floats]:
    """Move the given discs in place; returns those that left their surroundings and their steps.

    Steps are in radii. Where a disc can grow no more one long step shows whether that is but a
    dent in the boundary: over so short a way no neck lies that is narrower by the slack.
    """
    anchor, radius = summits.at[rows].copy(), summits.width[rows] / 2
    room = _ROOM * radius
    half = room + (1 + _HEEDED * _LONGEST) * (1 + _ROOM) * radius
    near = _Surroundings(segments, island[rows], anchor, half)
    here = np.arange(len(rows))
    at, top, probes = anchor.copy(), np.zeros(len(rows)), np.zeros(len(rows), int)
    going, way = np.zeros(len(rows), bool), np.zeros((len(rows), 2))
    for _ in range(_MOVES):
        if not len(here):
            break
        row = rows[here]
        radius, free, slope = near.free(here, at[here], _HEEDED * step[here])
        lower = (probes[here] > 0) & (radius < (1 + _DENT) * top[here])
        again = here[lower & (probes[here] == 1)]
        at[again] = summits.at[rows[again]] + _LONGEST * top[again, None] * way[again]
        probes[again] = 2
        wide = ~lower & (2 * radius >= enough[row])
        there = here[~lower]
        summits.at[rows[there]] = at[there]
        summits.width[rows[there]] = np.where(wide, np.inf, 2 * radius)[~lower]
        goes = ~lower & ~wide
        going[here] = goes & (np.hypot(*(at[here] - anchor[here]).T) > room[here])
        goes &= ~going[here]
        here, radius, free, slope = here[goes], radius[goes], free[goes], slope[goes]
        grows = slope > _LEVEL
        way[here[grows]] = free[grows]  # the last way it grew leads on along a corridor
        stops = ~grows & (step[here] < _SHORTER * _SHORTEST)
        top[here], probes[here] = radius, stops
        stride = np.where(grows, step[here], np.where(stops, _LONGEST, 0))
        at[here] += (stride * radius)[:, None] * free
        step[here] = np.where(
            grows, np.minimum(_LONGER * step[here], _LONGEST), step[here] / _SHORTER
        )
        step[here[stops]] = _LONGEST
        here = np.concatenate([here, again])
    return rows[going], step[going]


class _Surroundings:
    """The boundary of its own island within a box around each walker."""

    def __init__(self, segments: Segments, island: Ints, centre: Floats, half: Floats) -> None:
        low, high = centre - half[:, None], centre + half[:, None]
        walker, row = segments.tree.query(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
        own = segments.island[row] == island[walker]
        walker, row = walker[own], row[own]
        order = np.argsort(walker, kind="stable")
        walker, row = walker[order], row[order]
        self._start = np.searchsorted(walker, np.arange(len(centre)))
        self._count = np.searchsorted(walker, np.arange(len(centre)), "right") - self._start
        self._a, self._direction = segments.a[row].T.copy(), segments.direction[row].T.copy()
        self._length = segments.length[row]

    def sides(self, walker: Ints, at: Floats, heading: Floats) -> tuple[Floats, Floats]:
        """Distance to the boundary on the left and on the right of each walker's heading.

        Returns:
            (n, 2) distances, inf where there is none, and (n, 2, 2) the vectors from there.
        """
        of, offset, some, (x, y), square = self._away(walker, at)
        left = heading[of, 0] * y - heading[of, 1] * x <= 0
        distance = np.full((len(walker), 2), np.inf)
        vector = np.zeros((len(walker), 2, 2))
        for side, here in enumerate((left, ~left)):
            if len(some):
                squares = np.where(here, square, np.inf)
                distance[some, side] = np.minimum.reduceat(squares, offset[some])
                nearest = np.flatnonzero(here & (squares == distance[of, side]))
                vector[of[nearest], side, 0] = x[nearest]
                vector[of[nearest], side, 1] = y[nearest]
        return np.sqrt(distance), vector

    def free(self, walker: Ints, at: Floats, margin: Floats) -> tuple[Floats, Floats, Floats]:
        """Where a disc round each walker has no boundary near it.

        Returns:
            (n,) the distance to the boundary, (n, 2) the unit vector into the middle of the widest
            arc without boundary within a ``margin`` (in distances) beyond it, and (n,) how much
            the distance grows per length that way, at most 0 where the arc is less than half.
        """
        of, offset, some, (x, y), square = self._away(walker, at)
        clearance = self._least(walker, offset, some, square)
        touching = np.flatnonzero(square <= (((1 + margin) * clearance) ** 2)[of])
        of, angle = of[touching], np.arctan2(-y[touching], -x[touching])
        order = np.lexsort((angle, of))
        of, angle = of[order], angle[order]
        new = np.r_[True, of[1:] != of[:-1]][: len(of)]
        first, last = np.flatnonzero(new), np.flatnonzero(np.roll(new, -1))
        following = np.roll(angle, -1)
        following[last] = angle[first] + 2 * np.pi
        gap = following - angle
        widest = np.lexsort((-gap, of))[first]
        middle = angle[widest] + gap[widest] / 2
        free, slope = np.zeros((len(walker), 2)), np.zeros(len(walker))
        free[of[first]] = np.column_stack([np.cos(middle), np.sin(middle)])
        slope[of[first]] = -np.cos(gap[widest] / 2)
        return clearance, free, slope

    @staticmethod
    def _least(walker: Ints, offset: Ints, some: Ints, square: Floats) -> Floats:
        least = np.full(len(walker), np.inf)
        if len(some):
            least[some] = np.minimum.reduceat(square, offset[some])
        distance: Floats = np.sqrt(least)
        return distance

    def _away(self, walker: Ints, at: Floats) -> tuple[Ints, Ints, Ints, Floats, Floats]:
        """The vectors from the boundary to each walker, walker after walker.

        Returns:
            (k,) the walker of each, (n,) the first of each walker, the walkers that have any,
            (2, k) the vectors and (k,) their squares.
        """
        count = self._count[walker]
        offset = np.cumsum(count) - count
        of = np.repeat(np.arange(len(walker)), count)
        row = np.arange(len(of)) + np.repeat(self._start[walker] - offset, count)
        along_x, along_y = self._direction[:, row]
        away = at.T[:, of] - self._a[:, row]
        along = np.clip(away[0] * along_x + away[1] * along_y, 0, self._length[row])
        away[0] -= along * along_x
        away[1] -= along * along_y
        return of, offset, np.flatnonzero(count), away, away[0] ** 2 + away[1] ** 2
