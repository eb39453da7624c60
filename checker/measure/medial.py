"""Walks along the medial axis of copper: what becomes of a strip where its straight part ends.

The medial axis is the set of points with equally near boundary on both sides. A walker follows
it from a place of known width and stops where the copper turns out wider, narrower or the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from checker.board import Floats, Ints
    from checker.measure.segments import Segments

REACH = 2.0
"""A walker gives up after this many widths: the strip runs on."""

_STEP = 0.2  # widths per step; below half a width, so that a step never leaves the copper
_STAGE = 0.6  # widths a walker may go before it looks at its surroundings anew
_STAGES, _LOOKS = 8, 40  # most stages a walk and looks around a stage, if it goes in circles
_CHUNK = 4_000  # walkers at a time: bounds memory
_CENTRED = 2e-3  # of the width: how equal the two sides must be, a twelfth of the least change
_CORRECTIONS = 5  # Newton steps onto the axis before taking the point as it is
_SAME_SIDE = 0.3  # squared length of the difference of the two unit normals: about 30 degrees


class Outcome(IntEnum):
    """What a walker found: the copper widens, narrows or ends, or stays as it is."""

    ON_WAY = 0
    WIDENS = 1
    ENDS = 2
    RUNS_ON = 3


@dataclass(frozen=True, slots=True, eq=False)
class Walks:
    """Columns of length n.

    Attributes:
        outcome: values of `Outcome`.
        run: mm walked in copper of about the width.
        stop, heading: (n, 2) where the walk stopped, and the unit vector onward.
        width: of the copper there, mm.
    """

    outcome: Ints
    run: Floats
    stop: Floats
    heading: Floats
    width: Floats


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
    walks = Walks(np.zeros(count, int), np.zeros(count), start.copy(), heading.copy(), width.copy())
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
    corrections = np.full(len(rows), _CORRECTIONS)  # the anchor is on the axis
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
        square = (gradient * gradient).sum(1)
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
        walks.run[row] = np.where(wide | ended, walks.run[row], run)
        on_way = walks.outcome[row] == Outcome.ON_WAY
        on, row = on[on_way], row[on_way]
        tangent = np.column_stack([-gradient[on_way, 1], gradient[on_way, 0]])
        tangent /= np.sqrt(square[on_way])[:, None]
        backward = (tangent * walks.heading[row]).sum(1) < 0
        tangent[backward] *= -1
        walks.heading[row] = tangent
        inside = np.hypot(*(at[on] - anchor[on]).T) < _STAGE * width[row]
        at[on] += tangent * (_STEP * width[row])[:, None]
        here = np.sort(np.concatenate([off, on[inside]]))


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
        self._a, self._direction = segments.a[row], segments.direction[row]
        self._length = segments.length[row]

    def sides(self, walker: Ints, at: Floats, heading: Floats) -> tuple[Floats, Floats]:
        """Distance to the boundary on the left and on the right of each walker's heading.

        Returns:
            (n, 2) distances, inf where there is none, and (n, 2, 2) the vectors from there.
        """
        count = self._count[walker]
        offset = np.cumsum(count) - count
        of = np.repeat(np.arange(len(walker)), count)
        row = np.arange(len(of)) + np.repeat(self._start[walker] - offset, count)
        direction = self._direction[row]
        away = at[of] - self._a[row]
        along = np.clip((away * direction).sum(1), 0, self._length[row])
        away -= along[:, None] * direction
        square = (away * away).sum(1)
        ahead = heading[of]
        left = ahead[:, 0] * away[:, 1] - ahead[:, 1] * away[:, 0] <= 0
        distance = np.full((len(walker), 2), np.inf)
        vector = np.zeros((len(walker), 2, 2))
        some = np.flatnonzero(count)
        for side, here in enumerate((left, ~left)):
            if len(some):
                squares = np.where(here, square, np.inf)
                distance[some, side] = np.minimum.reduceat(squares, offset[some])
                nearest = np.flatnonzero(here & (squares == distance[of, side]))
                vector[of[nearest], side] = away[nearest]
        return np.sqrt(distance), vector
