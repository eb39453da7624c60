"""How strips of copper join at their ends: bends, junctions, steps in width, pads."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.boundary.minima import components
from checker.measure.necks.beyond import most_beyond
from checker.measure.necks.medial import Outcome, climb
from checker.measure.necks.strips import near_pairs, numbered, ports, slack

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.segments import Segments
    from checker.measure.necks.medial import Walks
    from checker.measure.necks.strips import Strips

WIDE = 2.0
"""Copper this many times as wide as a strip is no bend or junction of such strips."""

_MEETS = 0.6  # widths: walks that stop nearer than this meet; those of two parallel traces cannot
_SHARPEST = 0.1  # squared cosine of half a turn: beyond 143 degrees strips no longer meet
_TREND = 0.01  # of the width: a change that shows where a strip leads
_CROSSING = 1.42  # widths of the disc where strips cross squarely; a fillet there makes no part
_SAME_SUMMIT = 0.125  # widths between the middles of one largest disc, reached from two ends
_OVERLAPS = 1.0  # widths from the end of a strip to a largest disc that it and nothing else meets
_NEARBY = 3.0  # widths about a disc within which other strips may lead there
_TOUCHES = 0.01  # widths: boundary this near to a disc touches it
_SAME_PATH = 0.35  # widths off the straight line between two places on one bent path


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
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
            top=walks.top,
            most=walks.most,
        )

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
            top=at,
            most=width[first],
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
        pad: (strips,) True where a strip is a pad or the like: no neck, but it joins others.
        part: (ends,) True where the copper beyond is a part of its own, as a pad is, and not just
            where strips meet.
        beyond: (ends,) width of the largest disc there, mm; inf where it is out of reach.
        node: (ends,) the least of the ends that meet there.
        e, f: (pairs,) ends of different strips that meet, each pair in both orders.
    """

    ends: Ends
    pad: NDArray[np.bool_]
    part: NDArray[np.bool_]
    beyond: Floats
    node: Ints
    e: Ints
    f: Ints

    @classmethod
    def of(
        cls,
        segments: Segments,
        ends: Ends,
        pad: NDArray[np.bool_],
        reach: float,
        pads: Floats | None,
    ) -> Network:
        """Find the ends that meet.

        Args:
            segments: the boundary.
            ends: the ends of all strips.
            pad: (strips,) which of them are pads or the like.
            reach: of the census, mm.
            pads: (k, 2) middles of pads and holes, if known.
        """
        passing = _passing_each_other(ends)
        e, f = _stopping_together(ends)
        apart = ~np.isin(e, passing) & ~np.isin(f, passing)
        e, f = e[apart], f[apart]
        direct = ~_parted(segments, ends, e, f, ends.stop[e], ends.stop[f])
        pairs = np.concatenate([np.stack([e[direct], f[direct]]), passing], 1)

        pairs, summit, beyond = _climbing(segments, ends, pad, passing, pairs)
        node = components(len(ends.strip), *pairs)
        e, f = _all_pairs(node, ends.strip)
        widens = ends.outcome == Outcome.WIDENS
        part = widens & ~np.isin(np.arange(len(widens)), passing)
        strips = ~pad[ends.strip[f]]
        met = np.unique(e[strips & widens[e] & np.isfinite(beyond[e])])
        part[met] = ~_explained(segments, ends, summit, beyond, met, e[strips], f[strips], reach)
        if pads is not None:
            row = shapely.STRtree(shapely.points(pads)).query(
                shapely.points(summit[met]), "dwithin", distance=beyond[met] / 2
            )[0]
            part[met[row]] = True
        part[passing] = False
        return cls(ends, pad, part, beyond, node, e, f)

    def carries(self) -> NDArray[np.bool_]:
        """(strips,) whether wider copper can be reached from both ends of each strip.

        That is a part or a wider strip, found beyond an end without passing the strip itself.
        """
        ends, number = self.ends, len(self.pad)
        met = np.zeros(len(ends.strip), bool)
        met[self.e] = True
        part = np.where(self.part, self.beyond, 0)
        most = np.zeros(number + len(met))
        most[ends.strip] = ends.width
        np.maximum.at(most, np.where(met, number + self.node, ends.strip), part)
        wider = self.part.copy()
        found = most_beyond(ends.strip[met], number + self.node[met], most)
        wider[met] |= found > (ends.width + slack(ends.width))[met]
        runs_on = (ends.outcome == Outcome.RUNS_ON) & ~wider
        runs_on[self.e] = False
        reaching = np.bincount(ends.strip[wider], minlength=number)
        open_ended = np.bincount(ends.strip[runs_on], minlength=number)
        carries: NDArray[np.bool_] = (reaching > 0) & (reaching + open_ended > 1)
        return carries

    def bends(self) -> tuple[Ints, Ints]:
        """Pairs of ends of one width that meet each other, nothing else, and no pad."""
        ends, e, f = self.ends, self.e, self.f
        strips = ~(self.pad[ends.strip[e]] | self.pad[ends.strip[f]])
        e, f = e[strips], f[strips]
        partners = np.bincount(e, minlength=len(ends.strip))
        bend = (
            (partners[e] == 1)
            & (partners[f] == 1)
            & (ends.outcome[e] != Outcome.ENDS)
            & (ends.outcome[f] != Outcome.ENDS)
            & ~(self.part[e] | self.part[f])
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


def _ahead(ends: Ends, e: Ints, f: Ints) -> NDArray[np.bool_]:
    """(pairs,) whether the walk from f stops ahead of the end e."""
    ahead: NDArray[np.bool_] = ((ends.stop[f] - ends.middle[e]) * ends.heading[e]).sum(1) > 0
    return ahead


def _parted(
    segments: Segments, ends: Ends, e: Ints, f: Ints, start: Floats, stop: Floats
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


def _all_pairs(node: Ints, strip: Ints) -> tuple[Ints, Ints]:
    """Ordered pairs of ends at one node that belong to different strips."""
    order = np.argsort(node, kind="stable")
    first = np.searchsorted(node[order], node)
    count = np.searchsorted(node[order], node, "right") - first
    e = np.repeat(np.arange(len(node)), count)
    f = order[np.arange(len(e)) + np.repeat(first - np.cumsum(count) + count, count)]
    other = strip[e] != strip[f]
    return e[other], f[other]


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
        meet &= _ahead(ends, x, y)
        # Copper that narrows by more than the slack meets only what is narrower by about as much.
        narrower = ends.width[y] < ends.width[x] - slack(ends.width[x]) / 2
        meet &= (ends.outcome[x] != Outcome.ENDS) | narrower
    return e[meet], f[meet]


def _climbing(
    segments: Segments, ends: Ends, pad: NDArray[np.bool_], passing: Ints, pairs: Ints
) -> tuple[Ints, Floats, Floats]:
    """More pairs of ends that meet, and the largest disc beyond each end.

    Only what a wider strip might be led to is looked into: ends of strips that others meet, and
    ends near a disc no wider than the widest strip that leads there.

    Returns:
        (2, pairs) ends that meet, (ends, 2) middle of the largest disc, (ends,) its width or inf.
    """
    open_ended = ends.heading.any(1)  # pads lead nowhere
    passes = np.isin(np.arange(len(ends.strip)), passing)
    growing = open_ended & ~passes & (ends.most > (1 + _TREND) * ends.width)
    level = np.flatnonzero((passes | (ends.outcome != Outcome.WIDENS)) & open_ended)
    beyond = np.where(growing | ~open_ended, np.inf, ends.width)
    summit = ends.start.copy()
    asked = np.zeros(len(pad))  # what width is looked for beyond each strip, 0 none
    looked_for = np.zeros(len(ends.strip))
    while True:
        e, f = pairs
        necks = ~(pad[ends.strip[e]] | pad[ends.strip[f]])
        network = components(len(pad), ends.strip[e], ends.strip[f])[ends.strip]
        widest = np.zeros(len(pad))
        np.maximum.at(widest, network, ends.width)
        most = widest[network] + slack(widest[network])
        np.maximum.at(asked, ends.strip[e[necks]], most[e[necks]])
        free = np.flatnonzero(growing & np.isinf(beyond))
        lower = growing & (beyond < most)
        lower[level] = ~pad[ends.strip[level]] & (passes[level] | ~np.isin(level, e))
        low = np.flatnonzero(lower)
        by, near = shapely.STRtree(shapely.points(ends.stop[free])).query(
            shapely.points(summit[low]),
            "dwithin",
            distance=_NEARBY * np.where(np.isinf(beyond[low]), ends.width[low], beyond[low]),
        )
        by, near = low[by], free[near]
        leads = (ends.island[by] == ends.island[near]) & (
            ((summit[by] - ends.stop[near]) * ends.heading[near]).sum(1) > 0
        )
        leads &= growing[by] | _ahead(ends, by, near)
        by, near = by[leads], near[leads]
        np.maximum.at(asked, ends.strip[near], most[by])
        sought = asked[ends.strip[free]]
        enough = np.maximum(_CROSSING * sought, WIDE * ends.width[free])
        wanted = (sought > 0) & (enough > looked_for[free])
        here, enough = free[wanted], enough[wanted]
        if not len(here):
            return pairs, summit, beyond
        found = climb(
            segments,
            ends.island[here],
            ends.top[here],
            ends.onward[here],
            ends.most[here],
            enough,
        )
        beyond[here], summit[here], looked_for[here] = found.width, found.at, enough
        climbed = np.flatnonzero(growing & np.isfinite(beyond))
        e, f = near_pairs(summit[climbed], _SAME_SUMMIT * beyond[climbed], ends.island[climbed])
        e, f = climbed[e], climbed[f]
        one = ends.strip[e] != ends.strip[f]
        on, up = shapely.STRtree(shapely.points(summit[climbed])).query(
            shapely.points(ends.start[level]), "dwithin", distance=_OVERLAPS * ends.width[level]
        )
        up, on = climbed[up], level[on]
        arrives = (ends.strip[up] != ends.strip[on]) & (ends.island[up] == ends.island[on])
        arrives &= _ahead(ends, on, up)
        up, on = up[arrives], on[arrives]
        direct = ~_parted(segments, ends, up, on, summit[up], summit[on])
        up, on = up[direct], on[direct]
        both = np.stack([np.r_[e[one], up, on], np.r_[f[one], on, up]])
        pairs = np.unique(np.concatenate([pairs, both], 1), axis=1)


def _explained(
    segments: Segments,
    ends: Ends,
    summit: Floats,
    beyond: Floats,
    met: Ints,
    e: Ints,
    f: Ints,
    reach: float,
) -> NDArray[np.bool_]:
    """(met,) whether the copper beyond an end is just where the strips that meet there cross.

    The largest disc there then touches only their walls, which run at half a strip's width beside
    its centre line, on to abreast of the disc's middle; what leaves between two such contacts is
    a strip, or a corner too narrow to lead anywhere; and the disc is less than `WIDE`.
    """
    radius = (1 / 2 + _TOUCHES) * beyond[met]
    contact, row = segments.tree.query(shapely.points(summit[met]), "dwithin", distance=radius)
    own = segments.island[row] == ends.island[met[contact]]
    contact, row = contact[own], row[own]
    direction = segments.direction[row]
    along = ((summit[met[contact]] - segments.a[row]) * direction).sum(1)
    touch = segments.a[row] + np.clip(along, 0, segments.length[row])[:, None] * direction
    angle = _angle(touch - summit[met[contact]])
    order = np.lexsort((angle, contact))
    contact, touch, angle = contact[order], touch[order], angle[order]
    new = np.r_[True, contact[1:] != contact[:-1]][: len(contact)]
    following = np.roll(angle, -1)
    following[np.roll(new, -1)] = angle[new] + 2 * np.pi
    gap = following - angle
    between = beyond[met[contact]] * np.sin(np.minimum(gap, np.pi) / 2)

    # each contact with each strip that meets there, its own among them
    order = np.argsort(np.r_[met, e], kind="stable")
    of, strip = np.r_[met, e][order], np.r_[met, f][order]
    low = np.searchsorted(of, met[contact])
    count = np.searchsorted(of, met[contact], "right") - low
    which = np.repeat(np.arange(len(contact)), count)
    end = strip[np.arange(len(which)) + np.repeat(low - np.cumsum(count) + count, count)]
    start, heading, width = ends.start[end], ends.heading[end], ends.width[end]
    abreast = np.maximum(((summit[met[contact[which]]] - start) * heading).sum(1), 0)
    ahead = np.clip(((touch[which] - start) * heading).sum(1), 0, abreast)
    off = np.hypot(*(touch[which] - start - ahead[:, None] * heading).T)
    on_wall = off <= width / 2 + slack(width)
    in_arc = (_angle(-heading) - angle[which]) % (2 * np.pi) < gap[which]
    small = beyond[met[contact[which]]] < WIDE * width

    fine = np.bincount(which[on_wall], minlength=len(contact)) > 0
    fine |= (beyond[met] < _CROSSING * ends.width[met])[contact]
    fine &= (between < reach) | (np.bincount(which[in_arc], minlength=len(contact)) > 0)
    fine[which[~small]] = False
    explained = np.ones(len(met), bool)
    explained[contact[~fine]] = False
    return explained


def _angle(vector: Floats) -> Floats:
    angle: Floats = np.arctan2(vector[:, 1], vector[:, 0])
    return angle


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
