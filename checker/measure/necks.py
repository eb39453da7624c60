"""Necks: every place where an island's copper is narrower than a reach.

A *chord* is a double normal inside the copper with an empty disc: a local minimum of the width.
Chords that follow each other at one width form a *strip*: a straight trace is one chord, an arc
has many. From each open end of a strip a walk along the medial axis tells whether the copper
widens, ends or runs on there. Ends that meet (bends, junctions, steps in width) join strips to a
network, and a strip carries if wide copper can be reached from both its ends.

A rounded end, a disc or a pad has no strip: away from its widest place its copper only narrows.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.medial import Outcome, Walks, walk
from checker.measure.minima import Normals, components, double_normals, screen

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.segments import Segments

ERROR = 0.002
"""Bound in mm on the error of a width: both walls may be off by the chord tolerance."""

ELONGATED = 1.5
"""Copper that does not carry is narrow only from this many widths of length: else it is a pad."""

SLACK = 0.005, 0.05
"""Change of width that counts: this many mm, or this share of the width if that is more."""

WIDE = 2.0
"""Copper this many times as wide as a strip is no bend or junction of such strips."""

_MEETS = 0.6  # widths: ports and ends nearer than this meet; two parallel traces cannot be
_COMPACT = 0.25  # widths: a strip whose chords' middles lie closer together is one place
_CROWDED = 1e-3  # mm by which boundary may reach into a chord's disc: half a chord error


@dataclass(frozen=True, slots=True, eq=False)
class NeckRows:
    """One row for each run of copper narrower than the reach; columns of length n.

    Attributes:
        island: (n,) index of the island.
        at: (n, 2) middle of the narrowest chord.
        contact: (n, 2) one of its ends, on the boundary.
        width: (n,) its length in mm.
        length: (n,) how far the copper stays about that narrow, mm.
        carries: (n,) True where wide copper lies at both ends.
    """

    island: Ints
    at: Floats
    contact: Floats
    width: Floats
    length: Floats
    carries: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.width)


def census_necks(segments: Segments, reach: float) -> NeckRows:
    """Find every run of copper narrower than ``reach`` (mm); 0 finds none."""
    chords = _chords(segments, reach)
    strips = _strips(segments, chords)
    width = chords.distance[strips.chord]
    walks = walk(
        segments,
        segments.island[chords.i[strips.chord]],
        strips.start,
        strips.heading,
        width,
        _slack(width),
    )
    return _rows(segments, chords, strips, walks)


def _chords(segments: Segments, reach: float) -> Normals:
    if reach <= 0 or not len(segments):
        chords = double_normals(segments, 0.0, inside=True)
        return chords.take(np.zeros(len(chords), bool))
    chords = double_normals(segments, reach, inside=True)
    return chords.take(screen(segments, chords, _CROWDED))


def _slack(width: Floats) -> Floats:
    least, share = SLACK
    slack: Floats = np.maximum(least, share * width)
    return slack


@dataclass(frozen=True, slots=True, eq=False)
class _Strips:
    """Chords in strips, and the open ends of the strips.

    Attributes:
        of: (chords,) the strip of each chord.
        length: (strips,) mm covered by chords and the steps between them.
        chord: (ends,) the last chord before the end.
        start, heading: (ends, 2) where the chords stop, and the unit vector onward.
    """

    of: Ints
    length: Floats
    chord: Ints
    start: Floats
    heading: Floats


def _strips(segments: Segments, chords: Normals) -> _Strips:
    """Link chords that follow each other at one width; find where nothing follows.

    Each chord has two ports, at the two ends of the stretch over which its walls run parallel.
    """
    count = len(chords)
    across = (chords.b - chords.a) / chords.distance[:, None]
    along = np.column_stack([-across[:, 1], across[:, 0]])
    half = chords.overlap[:, None] / 2 * along
    port = np.concatenate([chords.middle + half, chords.middle - half])
    heading = np.concatenate([along, -along])
    chord = np.tile(np.arange(count), 2)
    island, width = segments.island[chords.i][chord], chords.distance[chord]

    bridge = 2 * np.sqrt(_slack(width) * (width + _slack(width)))
    p, q = _near_pairs(port, bridge, island)
    linked = (chord[p] != chord[q]) & (np.abs(width[p] - width[q]) <= _slack(width[p]))
    p, q = p[linked], q[linked]
    of = np.unique(components(count, chord[p], chord[q]), return_inverse=True)[1]
    number = int(of.max(initial=-1)) + 1

    # a port is closed where the next chord reaches farther on
    mate = (q + count) % (2 * count)
    farther = np.stack([port[q], port[mate]]) - port[p]
    step = (farther * heading[p]).sum(2).max(0)
    level = 1e-6 + 1e-3 * width[p]
    ahead = step > level
    gap = np.full(2 * count, np.inf)
    np.minimum.at(gap, p[ahead], np.hypot(*(port[q] - port[p])[ahead].T))
    twin = (np.abs(step) <= level) & (p > q) & ((heading[p] * heading[q]).sum(1) > 0.5)
    gap[p[twin]] = np.minimum(gap[p[twin]], 0)

    # chords through one place, as of a disc: only the one with the longest straight walls counts
    low, high = np.full((number, 2), np.inf), np.full((number, 2), -np.inf)
    np.minimum.at(low, of, chords.middle)
    np.maximum.at(high, of, chords.middle)
    least = np.full(number, np.inf)
    np.minimum.at(least, of, chords.distance)
    compact = (high - low).max(1, initial=0) < _COMPACT * least
    best = _first_of_each(of, -chords.overlap, number)
    dropped = compact[of] & (best[of] != np.arange(count))
    opened = np.where(compact[of[chord]], ~dropped[chord], np.isinf(gap))

    between = np.where(opened | compact[of[chord]], 0, gap)
    length = _sums(of, np.where(dropped, 0, chords.overlap), number)
    length += _sums(of[chord], between, number) / 2
    return _Strips(of, length, chord[opened], port[opened], heading[opened])


def _near_pairs(points: Floats, radius: Floats, group: Ints) -> tuple[Ints, Ints]:
    """Ordered pairs of different points of one group, the second within the first's radius."""
    shapes = shapely.points(points)
    i, j = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=radius)
    pair = (i != j) & (group[i] == group[j])
    return i[pair], j[pair]


def _first_of_each(group: Ints, key: Floats, number: int) -> Ints:
    """(number,) the row with the least key in each group; every group has a row."""
    order = np.lexsort((key, group))
    return order[np.searchsorted(group[order], np.arange(number))]


def _sums(group: Ints, values: Floats, number: int) -> Floats:
    """(number,) sum of the values of each group."""
    return np.bincount(group, values, number).astype(float)


def _rows(segments: Segments, chords: Normals, strips: _Strips, walks: Walks) -> NeckRows:
    """Judge strips by their ends, join those of one run, one row each."""
    number = len(strips.length)
    narrowest = _first_of_each(strips.of, chords.distance, number)
    width = chords.distance[narrowest]
    length = strips.length + _sums(strips.of[strips.chord], walks.run, number)
    only_ends = np.ones(number, bool)
    only_ends[strips.of[strips.chord][walks.outcome != Outcome.ENDS]] = False
    piece = only_ends & (length < ELONGATED * width)

    end = np.flatnonzero(~piece[strips.of[strips.chord]])
    strip, outcome = strips.of[strips.chord[end]], walks.outcome[end]
    island = segments.island[chords.i[narrowest]]
    e, f = _meetings(
        chords.middle[strips.chord[end]],
        strips.heading[end],
        walks.stop[end],
        _MEETS * width[strip],
        island[strip],
    )
    own, other = width[strip[e]], width[strip[f]]
    # copper that narrows by more than the slack meets only what is narrower by that much
    ends_e, ends_f = outcome[e] == Outcome.ENDS, outcome[f] == Outcome.ENDS
    meet = (
        (strip[e] != strip[f])
        & (~ends_e | (other < own - _slack(own) / 2))
        & (~ends_f | (own < other - _slack(other) / 2))
    )
    e, f = e[meet], f[meet]
    wide = _in_wide_copper(segments, island[strip], width[strip], walks, end, e)
    pad = wide[e] & wide[f]
    e, f = e[~pad], f[~pad]
    carries = _carries(strip, outcome, wide, width, e, f, number)

    # a bend: two widening ends of one width that meet each other and nothing else as narrow
    bump = ~(wide[e] | wide[f])
    e, f = e[bump], f[bump]
    partners = np.bincount(e, minlength=len(end))
    bend = (
        (partners[e] == 1)
        & (partners[f] == 1)
        & (outcome[e] == Outcome.WIDENS)
        & (outcome[f] == Outcome.WIDENS)
        & (np.abs(width[strip[e]] - width[strip[f]]) <= _slack(width[strip[e]]))
    )
    run = np.unique(components(number, strip[e[bend]], strip[f[bend]]), return_inverse=True)[1]
    runs = int(run.max(initial=-1)) + 1
    run_length = _sums(run, length, runs)
    run_carries = np.zeros(runs, bool)
    np.logical_or.at(run_carries, run, carries)
    least = np.full(runs, np.inf)
    np.minimum.at(least, run[strips.of], chords.distance)
    about = chords.distance - least[run[strips.of]] > 1e-6
    chosen = _first_of_each(run[strips.of], np.where(about, np.inf, -chords.overlap), runs)
    kept = run_carries | (run_length >= ELONGATED * least)
    chosen = chosen[kept]
    return NeckRows(
        island=segments.island[chords.i[chosen]],
        at=chords.middle[chosen],
        contact=chords.a[chosen],
        width=chords.distance[chosen],
        length=run_length[kept],
        carries=run_carries[kept],
    )


def _meetings(
    middle: Floats, heading: Floats, stop: Floats, radius: Floats, island: Ints
) -> tuple[Ints, Ints]:
    """Pairs of walks that stop near each other, each ahead of the other's chord, in both orders."""
    p, q = _near_pairs(stop, radius, island)
    pairs = np.unique(np.concatenate([np.stack([p, q], 1), np.stack([q, p], 1)]), axis=0)
    p, q = pairs.T
    ahead = ((stop[q] - middle[p]) * heading[p]).sum(1) > 0
    ahead &= ((stop[p] - middle[q]) * heading[q]).sum(1) > 0
    return p[ahead], q[ahead]


def _in_wide_copper(
    segments: Segments, island: Ints, width: Floats, walks: Walks, end: Ints, e: Ints
) -> NDArray[np.bool_]:
    """(ends,) whether an end in ``e`` leads into copper far wider than its strip, such as a pad."""
    met = np.unique(e[walks.outcome[end[e]] == Outcome.WIDENS])
    on = walk(
        segments,
        island[met],
        walks.stop[end[met]],
        walks.heading[end[met]],
        width[met],
        width[met] * (WIDE - 1),
    )
    wide = np.zeros(len(end), bool)
    wide[met] = on.outcome == Outcome.WIDENS
    return wide


def _carries(
    strip: Ints,
    outcome: Ints,
    wide: NDArray[np.bool_],
    width: Floats,
    e: Ints,
    f: Ints,
    number: int,
) -> NDArray[np.bool_]:
    """(number,) whether wide copper can be reached from both ends of each strip.

    An end reaches it where the copper widens and no other strip meets it, where a wider strip
    meets it, or a strip whose other end reaches it.
    """
    reaches = outcome == Outcome.WIDENS
    reaches[e] = wide[e]
    reaches[e[width[strip[f]] > (width + _slack(width))[strip[e]]]] = True
    meets, ends = defaultdict(list), defaultdict(list)
    for x, y in zip(e.tolist(), f.tolist(), strict=True):
        meets[x].append(y)
    for x, s in enumerate(strip.tolist()):
        ends[s].append(x)
    found = np.flatnonzero(reaches).tolist()
    while found:
        x = found.pop()
        for other in ends[int(strip[x])]:
            for beyond in meets[other] if other != x else ():
                if not reaches[beyond]:
                    reaches[beyond] = True
                    found.append(beyond)
    reached = np.bincount(strip[reaches], minlength=number)
    going_on = np.bincount(strip[(outcome == Outcome.RUNS_ON) & ~reaches], minlength=number)
    carries: NDArray[np.bool_] = (reached > 0) & (reached + going_on > 1)
    return carries
