"""Which ends of strips meet: by where their walks stop, and by the largest disc beyond them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import components
from checker.measure.necks.ends import TREND
from checker.measure.necks.medial import Outcome, climb
from checker.measure.necks.strips import near_pairs, slack
from checker.measure.plane import dot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments
    from checker.measure.necks.ends import Ends

WIDE = 2.0
"""Copper this many times as wide as a strip is no bend or junction of such strips."""

CROSSING = 1.5
"""Copper this many times as wide as the strips that meet there is a crossing: 1.41 where four
meet squarely, and a little for the fillets and chamfers of drawn corners.
"""

_MEETS = 0.6  # widths: walks that stop nearer than this meet; those of two parallel traces cannot
_SAME_SUMMIT = 0.125  # widths between the middles of one largest disc, reached from two ends
_OVERLAPS = 1.0  # widths from the end of a strip to a largest disc that it and nothing else meets
_NEARBY = 3.0  # widths about a disc within which other strips may lead there
_CLEARLY = 0.02  # widths ahead of a chord: what stops on it is not past it
_FACING = -0.7  # cosine of the headings of two ends of one path: it bends by 45 degrees at most
_SAME_PATH = 0.35  # widths off the straight line between two places on one bent path


class Meeting(Struct, eq=False):
    """What lies beyond each end, and which ends lead to the same place; columns of length n.

    Attributes:
        passing: (2, pairs) ends that pass each other: at a slight bend nothing lies between them.
        pairs: (2, pairs) ends that meet, in both orders.
        beyond: (n,) width of the largest disc, mm; inf where it is out of reach or of no matter.
        summit: (n, 2) its middle.
        growing: (n,) True where a disc grows beyond the end.
        level: the ends that another strip may meet right where they stop.
    """

    passing: Ints
    pairs: Ints
    beyond: Floats
    summit: Floats
    growing: NDArray[np.bool_]
    level: Ints

    @classmethod
    def of(cls, segments: Segments, ends: Ends, pad: NDArray[np.bool_]) -> Meeting:
        """Find what meets; ``pad`` (strips,) tells which strips are pads or the like.

        Only what a wider strip might be led to is looked into: ends of strips that others meet,
        and ends near a disc no wider than the widest strip that leads there.
        """
        meeting = cls._first(segments, ends)
        asked = np.zeros(len(pad))  # what width is looked for beyond each strip, 0 none
        looked_for = np.zeros(len(ends.strip))
        while True:
            enough = meeting._enough(ends, pad, asked)
            here = np.flatnonzero((enough > looked_for) & np.isinf(meeting.beyond))
            if not len(here):
                return meeting
            looked_for[here] = enough[here]
            found = climb(
                segments,
                ends.island[here],
                ends.top[here],
                ends.onward[here],
                ends.most[here],
                enough[here],
            )
            meeting.beyond[here], meeting.summit[here] = found.width, found.at
            both = np.concatenate(
                [meeting._at_summits(ends), meeting._at_ends(segments, ends)], axis=1
            )
            meeting.pairs = np.unique(np.concatenate([meeting.pairs, both, both[::-1]], 1), axis=1)

    @classmethod
    def _first(cls, segments: Segments, ends: Ends) -> Meeting:
        """What the walks alone tell."""
        passing = _passing_each_other(ends)
        e, f = _stopping_together(ends)
        apart = ~np.isin(e, passing) & ~np.isin(f, passing)
        e, f = e[apart], f[apart]
        direct = ~_parted(segments, ends, e, f, ends.stop[e], ends.stop[f])
        passes = np.isin(np.arange(len(ends.strip)), passing)
        open_ended = ends.heading.any(1)  # pads lead nowhere
        growing = open_ended & ~passes & (ends.most > (1 + TREND) * ends.width)
        return cls(
            passing=passing,
            pairs=np.concatenate([np.stack([e[direct], f[direct]]), passing], 1),
            beyond=np.where(growing | ~open_ended, np.inf, ends.width),
            summit=ends.start.copy(),
            growing=growing,
            level=np.flatnonzero((passes | (ends.outcome != Outcome.WIDENS)) & open_ended),
        )

    def _enough(self, ends: Ends, pad: NDArray[np.bool_], asked: Floats) -> Floats:
        """(n,) the width up to which the copper beyond each end matters, 0 where it does not.

        ``asked`` (strips,) is kept from one round to the next.
        """
        e, f = self.pairs
        network = components(len(pad), ends.strip[e], ends.strip[f])[ends.strip]
        widest = np.zeros(len(pad))
        np.maximum.at(widest, network, ends.width)
        most = widest[network] + slack(widest[network])
        joins = e[~(pad[ends.strip[e]] | pad[ends.strip[f]])]
        np.maximum.at(asked, ends.strip[joins], most[joins])
        by, near = self._leading_to(ends, self._unsettled(ends, pad, most))
        np.maximum.at(asked, ends.strip[near], most[by])
        sought = asked[ends.strip]
        matters = self.growing & (sought > 0)
        return np.where(matters, np.maximum(CROSSING * sought, WIDE * ends.width), 0)

    def _unsettled(self, ends: Ends, pad: NDArray[np.bool_], most: Floats) -> Ints:
        """Ends beyond which nothing wide is known and other strips may lead on."""
        unsettled = self.growing & (self.beyond < most)
        alone = np.isin(self.level, self.passing) | ~np.isin(self.level, self.pairs[0])
        unsettled[self.level] = alone & ~pad[ends.strip[self.level]]
        return np.flatnonzero(unsettled)

    def _leading_to(self, ends: Ends, at: Ints) -> tuple[Ints, Ints]:
        """Pairs of one of the ends ``at`` and an end near it that may lead to the same place."""
        free = np.flatnonzero(self.growing & np.isinf(self.beyond))
        about = np.where(np.isinf(self.beyond[at]), ends.width[at], self.beyond[at])
        by, near = shapely.STRtree(shapely.points(ends.stop[free])).query(
            shapely.points(self.summit[at]), "dwithin", distance=_NEARBY * about
        )
        by, near = at[by], free[near]
        leads = ends.island[by] == ends.island[near]
        leads &= dot(self.summit[by] - ends.middle[near], ends.heading[near]) > 0
        leads &= self.growing[by] | _ahead(ends, by, near)
        return by[leads], near[leads]

    def _at_summits(self, ends: Ends) -> Ints:
        """(2, pairs) ends from which one largest disc was reached."""
        climbed = np.flatnonzero(self.growing & np.isfinite(self.beyond))
        radius = _SAME_SUMMIT * self.beyond[climbed]
        e, f = near_pairs(self.summit[climbed], radius, ends.island[climbed])
        pairs = np.stack([climbed[e], climbed[f]])
        return pairs[:, ends.strip[pairs[0]] != ends.strip[pairs[1]]]

    def _at_ends(self, segments: Segments, ends: Ends) -> Ints:
        """(2, pairs) of an end whose largest disc lies at the end of another strip, and that."""
        climbed = np.flatnonzero(self.growing & np.isfinite(self.beyond))
        on, up = shapely.STRtree(shapely.points(self.summit[climbed])).query(
            shapely.points(ends.start[self.level]),
            "dwithin",
            distance=_OVERLAPS * ends.width[self.level],
        )
        up, on = climbed[up], self.level[on]
        arrives = (ends.strip[up] != ends.strip[on]) & (ends.island[up] == ends.island[on])
        arrives &= _ahead(ends, on, up)
        past = dot(ends.start[on] - ends.middle[up], ends.heading[up])
        arrives &= past > -_CLEARLY * ends.width[up]  # beyond the end, not behind it
        up, on = up[arrives], on[arrives]
        parted = _parted(segments, ends, up, on, self.summit[up], ends.start[on])
        return np.stack([up, on])[:, ~parted]


def alike(ends: Ends, e: Ints, f: Ints) -> NDArray[np.bool_]:
    """(pairs,) whether the strips of two ends are of one width."""
    same: NDArray[np.bool_] = np.abs(ends.width[e] - ends.width[f]) <= slack(ends.width[e])
    return same


def _stopping_together(ends: Ends) -> tuple[Ints, Ints]:
    """Ends of different strips whose walks stop near each other, each ahead of the other."""
    e, f = near_pairs(ends.stop, _MEETS * ends.width, ends.island)
    pairs = np.unique(np.concatenate([np.stack([e, f], 1), np.stack([f, e], 1)]), axis=0)
    e, f = pairs[:, 0], pairs[:, 1]
    meet = ends.strip[e] != ends.strip[f]
    for x, y in ((e, f), (f, e)):
        meet &= _ahead(ends, x, y)
        # Copper that narrows by more than the slack meets only what is narrower by about as much.
        narrower = ends.width[y] < ends.width[x] - slack(ends.width[x]) / 2
        meet &= (ends.outcome[x] != Outcome.ENDS) | narrower
    return e[meet], f[meet]


def _passing_each_other(ends: Ends) -> Ints:
    """(2, pairs) ends of different strips whose walks go past each other's start.

    At a slight bend the copper widens over too short a way to be noticed between two steps. Where
    two ends face each other it is enough that one walk goes so far.
    """
    path = ends.stop - ends.start
    e, f = shapely.STRtree(shapely.points(ends.start)).query(
        shapely.linestrings(np.stack([ends.start, ends.stop], 1)),
        predicate="dwithin",
        distance=_SAME_PATH * ends.width,
    )
    meet = (ends.strip[e] != ends.strip[f]) & (ends.island[e] == ends.island[f])
    meet &= alike(ends, e, f)
    meet &= dot(ends.start[f] - ends.stop[e], path[e]) < 0
    e, f = e[meet], f[meet]
    facing = dot(ends.heading[e], ends.heading[f]) < _FACING
    key, back = e * len(path) + f, f * len(path) + e
    mutual = facing | np.isin(back, key)
    e, f = e[mutual], f[mutual]
    pairs: Ints = np.unique(np.concatenate([np.stack([e, f]), np.stack([f, e])], 1), axis=1)
    return pairs


def _ahead(ends: Ends, e: Ints, f: Ints) -> NDArray[np.bool_]:
    """(pairs,) whether the walk from f stops clearly ahead of the end e."""
    by = dot(ends.stop[f] - ends.middle[e], ends.heading[e])
    ahead: NDArray[np.bool_] = by > _CLEARLY * ends.width[e]
    return ahead


def _parted(
    segments: Segments,
    ends: Ends,
    e: Ints,
    f: Ints,
    start: Floats,
    stop: Floats,
) -> NDArray[np.bool_]:
    """(pairs,) whether boundary or a third strip's last chord lies between two places each."""
    across = np.column_stack([-ends.heading[:, 1], ends.heading[:, 0]]) * ends.width[:, None] / 2
    chord = shapely.linestrings(np.stack([ends.middle - across, ends.middle + across], 1))
    way = shapely.linestrings(np.stack([start, stop], 1))
    pair, end = shapely.STRtree(chord).query(way, "intersects")
    third = (ends.strip[end] != ends.strip[e[pair]]) & (ends.strip[end] != ends.strip[f[pair]])
    parted = np.zeros(len(e), bool)
    parted[pair[third]] = True
    parted[segments.tree.query(way, "intersects")[0]] = True
    return parted
