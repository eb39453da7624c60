"""How strips of copper join at their ends: bends, junctions, steps in width, pads."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, fields
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.medial import Outcome, walk
from checker.measure.minima import components
from checker.measure.strips import near_pairs, numbered, ports, slack

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.medial import Walks
    from checker.measure.minima import Normals
    from checker.measure.segments import Segments
    from checker.measure.strips import Strips

WIDE = 2.0
"""Copper this many times as wide as a strip is no bend or junction of such strips."""

_MEETS = 0.6  # widths: walks that stop nearer than this meet; those of two parallel traces cannot
_SHARPEST = 0.1  # squared cosine of half a turn: beyond 143 degrees strips no longer meet
_TREND = 0.01  # of the width: a change that shows where a strip leads
_SAME_PATH = 0.35  # widths off the straight line between two places on one bent path


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """Open ends of strips and what a walk from there found; columns of length n.

    Attributes:
        strip, island: whose end it is.
        width: of the strip, mm.
        middle: (n, 2) of the last chord before the end.
        start, heading: (n, 2) where the chords stop, and the unit vector onward.
        outcome, run, stop, onward: what the walk found, see `Walks`.
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

    @classmethod
    def of(cls, strips: Strips, chords: Normals, island: Ints, walks: Walks) -> Ends:
        """Gather them; ``island`` is that of each chord."""
        width = chords.distance[strips.narrowest][strips.strip]
        # Where the reach of the walk did not settle it, the trend does.
        runs_on = walks.outcome == Outcome.RUNS_ON
        outcome = walks.outcome.copy()
        outcome[runs_on & (walks.width > (1 + _TREND) * width)] = Outcome.WIDENS
        outcome[runs_on & (walks.width < (1 - _TREND) * width)] = Outcome.ENDS
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
        )

    def take(self, rows: NDArray[np.bool_]) -> Ends:
        """The given rows."""
        return Ends(*(getattr(self, field.name)[rows] for field in fields(self)))

    def with_pads(self, strips: Strips, chords: Normals, island: Ints, pads: Floats) -> Ends:
        """These ends and one more for each pad no wider than the strip it lies on.

        Such a pad leaves no trace in the copper: a strip goes on in it as if it were not there.
        ``pads`` are (k, 2) points. One that an end of its strip widens into is known already.
        """
        chord, pad = _on_spines(chords, pads)
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
        )
        both = ((getattr(self, field.name), getattr(new, field.name)) for field in fields(self))
        return Ends(*(np.concatenate(columns) for columns in both))

    def way_round(self, e: Ints, f: Ints) -> Floats:
        """(pairs,) length of the centre line round the bend from one start to the other, mm."""
        chord = np.hypot(*(self.start[e] - self.start[f]).T)
        cosine = -(self.heading[e] * self.heading[f]).sum(1)  # of the turn
        way: Floats = chord / np.sqrt(np.maximum((1 + cosine) / 2, _SHARPEST))
        return way


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Which ends meet.

    Attributes:
        ends: the ends.
        wide: (ends,) True where the copper is far wider than the strip, as in a pad.
        e, f: (pairs,) ends that meet, each pair in both orders; not two that end in a pad.
    """

    ends: Ends
    wide: NDArray[np.bool_]
    e: Ints
    f: Ints

    @classmethod
    def of(cls, segments: Segments, ends: Ends) -> Network:
        """Find the ends that meet."""
        passing = _passing_each_other(ends)
        e, f = _stopping_together(ends)
        apart = ~np.isin(e, passing) & ~np.isin(f, passing)
        e, f = e[apart], f[apart]
        wide = np.zeros(len(ends.strip), bool)
        met = np.unique(e[ends.outcome[e] == Outcome.WIDENS])
        onward = walk(
            segments,
            ends.island[met],
            ends.stop[met],
            ends.onward[met],
            ends.width[met],
            ends.width[met] + slack(ends.width[met]) / 2,
            ends.width[met] * WIDE,
        )
        wide[met] = onward.outcome != Outcome.ENDS
        wide[e[ends.outcome[f] == Outcome.ENDS]] = False  # it widens into that strip, no further
        in_pad = wide[e] & wide[f]
        e, f = np.concatenate([np.stack([e, f])[:, ~in_pad], passing], 1)
        return cls(ends, wide, e, f)

    def carries(self, number: int) -> NDArray[np.bool_]:
        """(number,) whether wider copper can be reached from both ends of each strip.

        Where the copper widens and no strip meets it, or where it leads into a pad, it has no
        bound. Elsewhere as much is reached as the strips that meet there are wide, or as much as
        their other ends reach.
        """
        ends, e, f = self.ends, self.e, self.f
        reached = np.where(ends.outcome == Outcome.WIDENS, np.inf, 0.0)
        reached[e] = np.where(self.wide[e], np.inf, 0.0)
        np.maximum.at(reached, e, ends.width[f])
        meets, ends_of = defaultdict(list), defaultdict(list)
        for x, y in zip(e.tolist(), f.tolist(), strict=True):
            meets[x].append(y)
        for x, strip in enumerate(ends.strip.tolist()):
            ends_of[strip].append(x)
        widest_first = [(-reach, x) for x, reach in enumerate(reached.tolist()) if reach > 0]
        heapify(widest_first)
        while widest_first:
            reach, x = heappop(widest_first)
            if -reach < reached[x]:
                continue  # more was found meanwhile
            for other in ends_of[int(ends.strip[x])]:
                for beyond in meets[other] if other != x else ():
                    if reached[beyond] < -reach:
                        reached[beyond] = -reach
                        heappush(widest_first, (reach, beyond))
        wider = reached > ends.width + slack(ends.width)
        runs_on = (ends.outcome == Outcome.RUNS_ON) & ~wider
        runs_on[e] = False
        reaching = np.bincount(ends.strip[wider], minlength=number)
        open_ended = np.bincount(ends.strip[runs_on], minlength=number)
        carries: NDArray[np.bool_] = (reaching > 0) & (reaching + open_ended > 1)
        return carries

    def bends(self) -> tuple[Ints, Ints]:
        """Pairs of ends of one width that meet each other, nothing else, and no pad."""
        ends, e, f = self.ends, self.e, self.f
        partners = np.bincount(e, minlength=len(ends.strip))
        bend = (
            (partners[e] == 1)
            & (partners[f] == 1)
            & (ends.outcome[e] != Outcome.ENDS)
            & (ends.outcome[f] != Outcome.ENDS)
            & ~(self.wide[e] | self.wide[f])
            & _alike(ends, e, f)
        )
        return e[bend], f[bend]


def _on_spines(chords: Normals, pads: Floats) -> tuple[Ints, Ints]:
    """Pairs of a chord and a pad whose point lies on the copper along the chord's walls."""
    spine = shapely.linestrings(np.stack(np.split(ports(chords)[0], 2), 1))
    chord, pad = shapely.STRtree(shapely.points(pads)).query(
        spine, predicate="dwithin", distance=chords.distance / 2
    )
    return chord, pad


def _alike(ends: Ends, e: Ints, f: Ints) -> NDArray[np.bool_]:
    alike: NDArray[np.bool_] = np.abs(ends.width[e] - ends.width[f]) <= slack(ends.width[e])
    return alike


def _stopping_together(ends: Ends) -> tuple[Ints, Ints]:
    """Ends of different strips whose walks stop near each other, each ahead of the other."""
    e, f = near_pairs(ends.stop, _MEETS * ends.width, ends.island)
    pairs = np.unique(np.concatenate([np.stack([e, f], 1), np.stack([f, e], 1)]), axis=0)
    e, f = pairs[:, 0], pairs[:, 1]
    meet = ends.strip[e] != ends.strip[f]
    for x, y in ((e, f), (f, e)):
        meet &= ((ends.stop[y] - ends.middle[x]) * ends.heading[x]).sum(1) > 0
        # Copper that narrows by more than the slack meets only what is narrower by about as much.
        narrower = ends.width[y] < ends.width[x] - slack(ends.width[x]) / 2
        meet &= (ends.outcome[x] != Outcome.ENDS) | narrower
    return e[meet], f[meet]


def _passing_each_other(ends: Ends) -> Ints:
    """(2, pairs) ends of different strips whose walks go past each other's start.

    At a slight bend the copper widens over too short a way to be noticed between two steps.
    """
    path = ends.stop - ends.start
    e, f = shapely.STRtree(shapely.points(ends.start)).query(
        shapely.linestrings(np.stack([ends.start, ends.stop], 1)),
        predicate="dwithin",
        distance=_SAME_PATH * ends.width,
    )
    meet = (ends.strip[e] != ends.strip[f]) & (ends.island[e] == ends.island[f])
    meet &= _alike(ends, e, f)
    meet &= ((ends.start[f] - ends.stop[e]) * path[e]).sum(1) < 0
    pairs = set(zip(e[meet].tolist(), f[meet].tolist(), strict=True))
    both = sorted(pair for pair in pairs if pair[::-1] in pairs)
    return np.array(both, dtype=np.int64).reshape(-1, 2).T
