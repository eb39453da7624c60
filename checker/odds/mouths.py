"""The widest cut of a gap where less is cut through than the path is led for. Lengths in mm.

A path led for the width w stops where the copper stands nearer than w; a cone cuts less than w
through at the foot of the copper, so the two ends must come nearer each other to meet. That is the
widest cut with a negative bite: a cut of width f on a path that keeps f / 2 + less / 2 off.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from checker.measure.boundary.segments import Segments
from checker.measure.gaps.cuts import widest_cuts
from checker.measure.gaps.walk import Places
from checker.measure.gaps.window import Windows

if TYPE_CHECKING:
    from checker.board import Floats, Ints
    from checker.measure import Facts

_WINDOWS = 12  # so many gaps of a side are settled exactly where walking cannot tell: bounds time


_STEEP = 2.0
"""So many times the loss falls a widest cut that nobody measured; those measured fall by 1 to 2."""


class Mouths:
    """The gaps of one layer, measured when asked for."""

    def __init__(self, facts: Facts, index: int, bite: float, less: float) -> None:
        self.layer, self.gaps = facts.board.copper[index], facts.gaps[index]
        self.reach, self.bites = facts.reach.cut, (bite - less / 2, bite - less)
        self._width: Floats = np.full((2, len(self.gaps)), -1.0)
        self._settled = 0

    @cached_property
    def _segments(self) -> Segments:
        return Segments.of(self.layer.islands)

    @cached_property
    def _windows(self) -> Windows:
        return Windows(self._segments.polygons)

    def widest(self, rows: Ints) -> Floats:
        """(2, k) the widest cut of gaps for ``less`` and for twice that, the tightest gaps first.

        Nan where nobody knows.
        """
        new = rows[self._width[0, rows] == -1]
        if len(new):
            gaps = self.gaps
            places = Places(gaps.islands[new, 0], gaps.islands[new, 1], gaps.a[new], gaps.b[new])
            reach = np.full(len(new), self.reach)
            cuts = widest_cuts(self._segments, places, reach, (0.0, *self.bites))
            width, unsure = cuts.width[1:], np.flatnonzero(cuts.doubt[1:].any(axis=0))
            exact = unsure[: max(0, _WINDOWS - self._settled)]
            for known, bite in zip(width, self.bites, strict=True):
                known[exact] = self._windows.settle(
                    places.take(exact), known[exact], reach[exact], bite
                )
            width[:, unsure[len(exact) :]] = np.nan
            self._settled += len(exact)
            self._width[:, new] = width
        return self._width[:, rows]


@lru_cache(maxsize=16)  # two sides, and a few losses by taper among the profiles of a comparison
def mouths_of(facts: Facts, index: int, bite: float, less: float) -> Mouths:
    """The gaps of a layer at a bite, for a cut ``less`` narrower at its foot."""
    return Mouths(facts, index, bite, less)


def between(none: Floats, widest: Floats, loss: Floats, less: float) -> Floats:
    """(draws, k) the widest cut at a loss by taper.

    Args:
        none: (k,) the widest cut without loss, inf beyond what was looked for.
        widest: (2, k) that at the usual loss and at twice that; nan where nobody knows.
        loss: (draws, k) counted in usual losses; the parabola through the three is taken.
        less: the usual loss, mm.
    """
    known, far = ~np.isnan(widest).any(axis=0), np.isinf(none)
    open_ = far & (np.isinf(widest).any(axis=0) | ~known)  # nothing so wide was found joined
    usual = np.where(known & ~open_, widest[0], np.where(open_, 0.0, none) - _STEEP * less)
    twice = np.where(known & ~open_, widest[1], usual - _STEEP * less)
    start = np.where(far, 2 * usual - twice, none)
    bend = twice - 2 * usual + start
    found = start + loss * (usual - start) + loss * (loss - 1) / 2 * bend
    return np.where(open_, np.inf, found)
