"""Open ends of strips: where the chords stop, what a walk found beyond, and pads on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import astuple

from checker.measure.boundary.minima import components
from checker.measure.necks.medial import Outcome
from checker.measure.necks.strips import near_pairs, numbered, ports
from checker.measure.plane import dot

if TYPE_CHECKING:
    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals
    from checker.measure.necks.medial import Walks
    from checker.measure.necks.strips import Strips

TREND = 0.01
"""Of the width: a change that shows where a strip leads."""

_SHARPEST = 0.1  # squared cosine of half a turn: beyond 143 degrees strips no longer meet


class Ends(Struct, frozen=True, eq=False):
    """Open ends of strips and what a walk from there found; columns of length n.

    Attributes:
        strip, island: whose end it is.
        width: of the strip, mm.
        middle: (n, 2) of the last chord before the end.
        start, heading: (n, 2) where the chords stop, and the unit vector onward.
        outcome, run, stop, onward, top, most: what the walk found, see `Walks`.
    """

    strip: Ints
    island: Ints
    width: Floats
    middle: Floats
    start: Floats
    heading: Floats
    outcome: Ints
    run: Floats
    stop: Floats
    onward: Floats
    top: Floats
    most: Floats

    @classmethod
    def of(cls, strips: Strips, chords: Normals, island: Ints, walks: Walks) -> Ends:
        """Gather them; ``island`` is that of each chord."""
        width = chords.distance[strips.narrowest][strips.strip]
        # Where the reach of the walk did not settle it, the trend does.
        runs_on = walks.outcome == Outcome.RUNS_ON
        outcome = walks.outcome.copy()
        outcome[runs_on & (walks.width > (1 + TREND) * width)] = Outcome.WIDENS
        outcome[runs_on & (walks.width < (1 - TREND) * width)] = Outcome.ENDS
        return cls(
            strip=strips.strip,
            island=island[strips.chord],
            width=width,
            middle=chords.middle[strips.chord],
            start=strips.start,
            heading=strips.heading,
            outcome=outcome,
            run=walks.run,
            stop=walks.stop,
            onward=walks.heading,
            top=walks.top,
            most=walks.most,
        )

    def with_pads(self, strips: Strips, chords: Normals, island: Ints, pads: Floats) -> Ends:
        """These ends and one more for each pad no wider than the strip it lies on.

        Such a pad leaves no trace in the copper: a strip goes on in it as if it were not there.
        ``pads`` are (k, 2) points. One that an end of its strip widens into is known already.
        """
        chord, pad = _on_spines(chords, pads)
        _, one = np.unique(strips.of[chord] * len(pads) + pad, return_index=True)
        chord, pad = chord[one], pad[one]
        strip, at = strips.of[chord], pads[pad]
        width = chords.distance[strips.narrowest[strip]]
        once, _ = numbered(components(len(pad), *near_pairs(at, width, strip)))
        first = np.unique(once, return_index=True)[1]
        end, row = shapely.STRtree(shapely.points(at[first])).query(
            shapely.points(self.stop), predicate="dwithin", distance=self.width
        )
        known = (self.outcome[end] == Outcome.WIDENS) & (self.strip[end] == strip[first[row]])
        first = np.delete(first, row[known])
        strip, at, count = strip[first], at[first], len(first)
        ahead = np.zeros((count, 2))  # a pad lies ahead of nothing: it meets no other end
        new = Ends(
            strip=strip,
            island=island[chord[first]],
            width=width[first],
            middle=at,
            start=at,
            heading=ahead,
            outcome=np.full(count, int(Outcome.WIDENS)),
            run=np.zeros(count),
            stop=at,
            onward=ahead,
            top=at,
            most=width[first],
        )
        both = zip(astuple(self), astuple(new), strict=True)
        return Ends(*(np.concatenate(columns) for columns in both))

    def way_round(self, e: Ints, f: Ints) -> Floats:
        """(pairs,) length of the centre line round the bend from one start to the other, mm."""
        chord = np.hypot(*(self.start[e] - self.start[f]).T)
        cosine = -dot(self.heading[e], self.heading[f])  # of the turn
        way: Floats = chord / np.sqrt(np.maximum((1 + cosine) / 2, _SHARPEST))
        return way


def _on_spines(chords: Normals, pads: Floats) -> tuple[Ints, Ints]:
    """Pairs of a chord and a pad whose point lies on the copper along the chord's walls."""
    spine = shapely.linestrings(np.stack(np.split(ports(chords)[0], 2), 1))
    chord, pad = shapely.STRtree(shapely.points(pads)).query(
        spine, predicate="dwithin", distance=chords.distance / 2
    )
    return chord, pad
