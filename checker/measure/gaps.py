"""Gap census: every place where two islands come near, with the widest cut that separates them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from checker.measure.minima import clusters, double_normals, screen
from checker.measure.walk import Places, widest_cuts
from checker.measure.window import Windows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.minima import Normals
    from checker.measure.segments import Segments

ERROR = 0.002
"""Bound in mm on the error of a widest cut, held by the test against the full closing."""

CONTACT = 5e-4
"""Islands nearer than this (mm) touch: their widest cut is their distance, or barely more."""

TIED = 2e-4
"""Distances within this (mm) are equal: the middle of an even run stands for it."""


@dataclass(frozen=True, slots=True, eq=False)
class Census:
    """Places (n) with their distance and, per bite (row), widest cut; mm."""

    places: Places
    distance: Floats
    width: Floats
    settled: int


def census(segments: Segments, reach: float, bites: Sequence[float] = (0.0,)) -> Census:
    """Every place where two islands come nearer than ``reach`` mm.

    A place is a run of minima of one pair of islands. Bays between them may let a cutter stand, so
    each run is measured from as many of its minima as it takes to speak for all of it; the least
    widest cut is that of the place.
    """
    normals = double_normals(segments, reach)
    normals = normals.take(screen(segments, normals))
    run = clusters(normals, segments.island[normals.i], segments.island[normals.j])
    _, run = np.unique(run, return_inverse=True)
    rows = _representatives(normals, run)
    rest, measured, found = np.arange(len(normals)), [rows[:0]], [np.zeros((len(bites), 0))]
    windows, settled = Windows(segments.polygons), 0
    while len(rows):
        part = normals.take(rows)
        places = _places(segments, part)
        width, cover, doubtful = _widths(segments, part, places, windows, reach, bites)
        measured.append(rows)
        found.append(width)
        settled += doubtful
        rest = rest[~_spoken_for(normals, run, rest, rows, cover)]
        rows = rest[_representatives(normals.take(rest), run[rest])]
    rows, width = np.concatenate(measured), np.concatenate(found, axis=1)
    order = np.lexsort((normals.distance[rows], width[0], run[rows]))
    first = order[np.r_[True, np.diff(run[rows][order]) > 0]] if len(order) else order
    part, width = normals.take(rows[first]), width[:, first]
    width[width >= reach] = np.inf
    return Census(_places(segments, part), part.distance, width, settled)


def _places(segments: Segments, normals: Normals) -> Places:
    return Places(segments.island[normals.i], segments.island[normals.j], normals.a, normals.b)


def _widths(
    segments: Segments,
    normals: Normals,
    places: Places,
    windows: Windows,
    reach: float,
    bites: Sequence[float],
) -> tuple[Floats, Floats, int]:
    """Widest cut per bite (row) and place, how far each place speaks for, how many were settled."""
    width = normals.distance + 2 * np.asarray(bites)[:, None]
    # Beside a straight run at least as long as the cut is wide no cutter reaches past its ends.
    cover = normals.overlap / 2
    ends = normals.overlap < normals.distance + 2 * max(bites)
    open_ended = np.flatnonzero(ends & (normals.distance > CONTACT))
    cuts = widest_cuts(segments, places.take(open_ended), reach, bites)
    width[:, open_ended], cover[open_ended] = cuts.width, cuts.cover
    for k, bite in enumerate(bites):
        unsure = open_ended[cuts.doubt[k]]
        width[k, unsure] = windows.settle(places.take(unsure), width[k, unsure], reach, bite)
    return width, cover, int(cuts.doubt.sum())


def _spoken_for(
    normals: Normals, run: Ints, rest: Ints, rows: Ints, cover: Floats
) -> NDArray[np.bool_]:
    """(len(rest),) True for minima that a measured one of their run speaks for."""
    speaker = np.full(run.max() + 1, -1)
    speaker[run[rows]] = np.arange(len(rows))
    by = speaker[run[rest]]
    off = np.hypot(*(normals.middle[rest] - normals.middle[rows[by]]).T)
    spoken: NDArray[np.bool_] = (by >= 0) & ((off <= cover[by]) | (rest == rows[by]))
    return spoken


def _representatives(normals: Normals, run: Ints) -> Ints:
    """One normal a run: the shortest, and of equal ones that nearest to their middle."""
    if not len(normals):
        return np.zeros(0, dtype=int)
    least = np.full(run.max() + 1, np.inf)
    np.minimum.at(least, run, normals.distance)
    tied = np.flatnonzero(normals.distance <= least[run] + TIED)
    middle, of = normals.middle[tied], run[tied]
    centre = np.zeros((len(least), 2))
    np.add.at(centre, of, middle)
    centre /= np.maximum(np.bincount(of, minlength=len(least)), 1)[:, None]
    off = np.hypot(*(middle - centre[of]).T)
    order = np.lexsort((off, of))
    representatives: Ints = tied[order[np.r_[True, np.diff(of[order]) > 0]]]
    return representatives
