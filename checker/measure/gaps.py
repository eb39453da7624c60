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
    """Every place where two islands come nearer than ``reach`` mm."""
    normals = double_normals(segments, reach)
    normals = normals.take(screen(segments, normals))
    island_a, island_b = segments.island[normals.i], segments.island[normals.j]
    normals = normals.take(_representatives(normals, clusters(normals, island_a, island_b)))
    places = Places(segments.island[normals.i], segments.island[normals.j], normals.a, normals.b)
    width = normals.distance + 2 * np.asarray(bites)[:, None]
    # Beside a straight run at least as long as the cut is wide no cutter reaches past its ends.
    ends = normals.overlap < normals.distance + 2 * max(bites)
    open_ended = np.flatnonzero(ends & (normals.distance > CONTACT))
    walked = places.take(open_ended)
    width[:, open_ended], doubt = widest_cuts(segments, walked, reach, bites)
    windows = Windows(segments.polygons) if doubt.any() else None
    for k, bite in enumerate(bites):
        unsure = open_ended[doubt[k]]
        if windows is not None:
            width[k, unsure] = windows.settle(places.take(unsure), width[k, unsure], reach, bite)
    width[width >= reach] = np.inf
    return Census(places, normals.distance, width, int(doubt.sum()))


def _representatives(normals: Normals, place: Ints) -> Ints:
    """One normal a place: the shortest, and of equal ones that nearest to their middle."""
    if not len(normals):
        return np.zeros(0, dtype=int)
    _, place = np.unique(place, return_inverse=True)
    least = np.full(place.max() + 1, np.inf)
    np.minimum.at(least, place, normals.distance)
    tied = np.flatnonzero(normals.distance <= least[place] + TIED)
    middle, of = normals.middle[tied], place[tied]
    centre = np.zeros((len(least), 2))
    np.add.at(centre, of, middle)
    centre /= np.bincount(of)[:, None]
    off = np.hypot(*(middle - centre[of]).T)
    order = np.lexsort((off, of))
    first = np.r_[True, np.diff(of[order]) > 0]
    representatives: Ints = tied[order[first]]
    return representatives
