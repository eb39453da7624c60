"""Gap census: every place where two islands come near, with the widest cut that separates them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import clusters, double_normals, screen, stretches
from checker.measure.boundary.segments import COINCIDENT
from checker.measure.gaps.cuts import widest_cuts
from checker.measure.gaps.even import EVEN, WAVY, let_pass, round_bend, straight
from checker.measure.gaps.walk import Places
from checker.measure.gaps.window import Windows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.segments import Segments

ERROR = 0.002
"""Bound in mm on the error of a widest cut, held by the test against the full closing."""

CONTACT = 5e-4
"""Islands nearer than this (mm) touch: their widest cut is their distance, or barely more."""

ALIKE = 0.001
"""Widest cuts of one run are not told apart below this (mm)."""

TIED = 2e-4
"""Distances within this (mm) are equal: the middle of an even run stands for it."""

FEW = 300
"""So many minima are measured together: asking which speak for which would cost as much."""


class Census(Struct, frozen=True, eq=False):
    """Places (n) with their distance and, per bite (row), widest cut; mm.

    Their parts (m) are stretches halfway between the islands, ``part`` (m, 2, 2) the ends of each
    and ``part_of`` (m,) the place.
    """

    places: Places
    distance: Floats
    width: Floats
    part: Floats
    part_of: Ints


def census(
    segments: Segments,
    reach: float,
    bites: Sequence[float] = (0.0,),
    between: Ints | None = None,
) -> Census:
    """Every place where two islands come nearer than ``reach`` mm.

    A place is a run of minima of one pair of islands. Bays between them may let a cutter stand, so
    each run is measured from as many of its minima as it takes to speak for all of it; the least
    widest cut is that of the place.

    Args:
        segments: of all copper.
        reach: mm.
        bites: how far a path may run into copper, mm.
        between: (k, 2) the pairs of islands that are asked about, the lower first; all where None.
    """
    normals = double_normals(segments, reach)
    if between is not None:
        normals = normals.take(_between(segments, normals, between))
    normals = normals.take(screen(segments, normals))
    island_a, island_b = segments.island[normals.i], segments.island[normals.j]
    part = stretches(segments, normals)
    run = clusters(part, normals.distance, island_a, island_b)
    windows = Windows(segments.polygons)
    bare = normals.distance + 2 * np.asarray(bites)[:, None]  # what is sure to fit
    sure, passed = _even(segments, normals, run, bites)
    walled = np.isfinite(sure)
    width = np.where(walled, bare - normals.distance + sure, np.inf)
    least = np.full(width.shape, np.inf)  # of the run, known so far
    rows, rest, nearby = np.flatnonzero(walled), np.flatnonzero(~(walled | passed)), np.inf
    while True:
        for known, found in zip(least, width, strict=True):
            np.minimum.at(known, run[rows], found[rows])
        # Nothing is asked of a minimum but whether it is less than what is known of its run.
        rest = rest[(bare[:, rest] < least[:, run[rest]] - ALIKE).any(0)]
        if not len(rest):
            break
        rows = rest
        if len(rest) > FEW:
            rows = rest[_representatives(normals.take(rest), run[rest], nearby)]
        most = np.minimum(least[:, run[rows]].max(0) + 2 * ALIKE, reach)
        width[:, rows], ends = _widths(segments, normals.take(rows), windows, most, bites)
        rest = np.setdiff1d(rest, rows)
        rest = rest[~_spoken_for(normals, run, rest, rows, ends)]
        nearby = 2 * reach
    # Of the minima that a cut wider than the run's does not pass, the shortest is shown: of equal
    # ones that in the middle of the longest straight, then the lowest, so that it stays put.
    x, y = normals.middle.T
    wider = width[0] > least[0][run] + ALIKE
    longest = -np.round(normals.overlap, 6)
    order = np.lexsort((x, y, longest, np.round(normals.distance, 6), wider, run))
    first = order[np.r_[True, np.diff(run[order]) > 0]] if len(order) else order
    distance = np.full(len(normals), np.inf)
    np.minimum.at(distance, run, normals.distance)
    width = least[:, run[first]]
    width[width >= reach] = np.inf
    return Census(
        _places(segments, normals.take(first)),
        distance[run[first]],
        width,
        part,
        np.searchsorted(run[first], run),
    )


def _between(segments: Segments, normals: Normals, pairs: Ints) -> NDArray[np.bool_]:
    """(n,) True between two islands that are a pair."""
    many = int(segments.island.max(initial=0)) + 1
    low, high = segments.island[normals.i], segments.island[normals.j]
    return np.isin(low * many + high, pairs[:, 0] * many + pairs[:, 1])


def _places(segments: Segments, normals: Normals) -> Places:
    return Places(segments.island[normals.i], segments.island[normals.j], normals.a, normals.b)


def _even(
    segments: Segments, normals: Normals, run: Ints, bites: Sequence[float]
) -> tuple[Floats, NDArray[np.bool_]]:
    """What needs no walk, to half of `EVEN`.

    Returns:
        (n,) how wide the gap is, where the cut that fits is as wide, inf elsewhere; and (n,) True
        for minima of a run that let the cut pass which fits at one of them.
    """
    more = 2 * max(bites)
    walled = straight(normals, more) | (normals.distance <= CONTACT)
    sure = np.where(walled, normals.distance, np.inf)
    passed = np.zeros(len(normals), dtype=bool)
    # Of each run the narrowest place, where that does not tell.
    x, y = normals.middle.T
    order = np.lexsort((x, y, walled, np.round(normals.distance, 6), run))
    least = order[np.r_[True, np.diff(run[order]) > 0]] if len(order) else order
    asked = least[~walled[least]]
    some = normals.take(asked)
    sure[asked] = (some.distance + round_bend(segments, some, more, EVEN)) / 2
    # Where it is wavy the wide places count, as far as narrow ones are passed from them.
    asked = asked[np.isinf(sure[asked])]
    wide = np.full(len(normals), np.inf)
    wide[run[asked]] = round_bend(segments, normals.take(asked), more, WAVY) - EVEN
    rows = np.flatnonzero(np.isfinite(wide[run]) & (normals.distance < wide[run]))
    passed[rows] = let_pass(segments, normals.take(rows), wide[run[rows]], 2 * min(bites))
    asked = asked[passed[asked]]
    sure[asked] = wide[run[asked]] + EVEN / 2
    return sure, passed & np.isin(run, run[asked])  # elsewhere they may still be the narrowest


def _widths(
    segments: Segments,
    normals: Normals,
    windows: Windows,
    reach: Floats,
    bites: Sequence[float],
) -> tuple[Floats, Floats]:
    """Widest cut per bite (row) and normal, and the ends of what each speaks for."""
    places = _places(segments, normals)
    cuts = widest_cuts(segments, places, reach, bites)
    width = cuts.width
    for k, bite in enumerate(bites):
        unsure = np.flatnonzero(cuts.doubt[k])
        width[k, unsure] = windows.settle(
            places.take(unsure), width[k, unsure], reach[unsure], bite
        )
    return width, cuts.stand


def _spoken_for(
    normals: Normals, run: Ints, rest: Ints, rows: Ints, ends: Floats
) -> NDArray[np.bool_]:
    """(len(rest),) True for minima that, at every bite, a measured one of their run speaks for."""
    spoken = np.zeros((len(ends), len(rest)), dtype=bool)
    tree = shapely.STRtree(shapely.points(normals.middle[rest]))
    for found, end in zip(spoken, ends, strict=True):
        half = np.hypot(*(end[:, 1] - end[:, 0]).T) / 2
        speaker, hit = tree.query(
            shapely.points(end.mean(1)), "dwithin", distance=half + COINCIDENT
        )
        found[hit[run[rest[hit]] == run[rows[speaker]]]] = True
    return np.asarray(spoken.all(0))


def _representatives(normals: Normals, run: Ints, nearby: float) -> Ints:
    """One normal a run and cell of a grid: the shortest, of equals that nearest their middle."""
    if not len(normals):
        return np.zeros(0, dtype=int)
    cell = np.floor(normals.middle / nearby).astype(np.int64)
    _, group = np.unique(np.column_stack([run, cell]), axis=0, return_inverse=True)
    least = np.full(group.max() + 1, np.inf)
    np.minimum.at(least, group, normals.distance)
    tied = np.flatnonzero(normals.distance <= least[group] + TIED)
    middle, of = normals.middle[tied], group[tied]
    centre = np.zeros((len(least), 2))
    np.add.at(centre, of, middle)
    centre /= np.maximum(np.bincount(of, minlength=len(least)), 1)[:, None]
    off = np.hypot(*(middle - centre[of]).T)
    order = np.lexsort((off, of))
    representatives: Ints = tied[order[np.r_[True, np.diff(of[order]) > 0]]]
    return representatives
