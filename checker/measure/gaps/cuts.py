"""The widest cut of many places: walked as far as it takes, and again where that was not enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.measure.gaps.walk import BLOCKED, EARLY, MOST_STEPS, PARTED, STRAYED, Places, Walk

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Floats
    from checker.measure.boundary.segments import Segments

    Bools = NDArray[np.bool_]

CERTAIN = 2.0  # fronts so many diameters apart, where bays found later showed PARTED to be early
CHUNK = 1000  # places walked together: bounds memory


class Cuts(Struct, frozen=True, eq=False):
    """What walking found for (n,) places, one row per bite.

    Attributes:
        width: (len(bites), n) widest cut in mm, inf beyond the reach.
        doubt: (len(bites), n) True where only the window test can tell.
        stand: (len(bites), n, 2, 2) where a cutter as wide stands to both sides. A place speaks
            for what lies between: no such cutter comes nearer.
    """

    width: Floats
    doubt: Bools
    stand: Floats


def widest_cuts(
    segments: Segments, places: Places, reach: Floats, bites: Sequence[float] = (0.0,)
) -> Cuts:
    """Widest cut per bite and place, as far as the reach (n,) of each."""
    count, most_bite = len(places.A), max(bites)
    gap = places.gap
    width = np.tile(gap, (len(bites), 1))
    why = np.full((len(bites), count), STRAYED)
    doubt = np.ones((len(bites), count), dtype=bool)
    stand = np.zeros((len(bites), count, 2, 2))
    far = 2.2 * reach + most_bite
    # Most places are decided within two gaps: look at their surroundings only as far as needed.
    for span, parted in ((1.7, PARTED), (3.5, PARTED), (np.inf, CERTAIN)):
        todo = np.flatnonzero((why == STRAYED).any(0) | (parted > PARTED) & (why == EARLY).any(0))
        for start in range(0, len(todo), CHUNK):
            rows = todo[start : start + CHUNK]
            half = np.minimum(span * gap[rows] + 3 * most_bite, far[rows])
            walk = Walk(segments, places.take(rows), reach[rows], half, most_bite, parted)
            walk.go()
            for k, bite in enumerate(bites):
                width[k, rows], why[k, rows], doubt[k, rows], stand[k, rows] = walk.solve(bite)
    blocked = np.flatnonzero((why == BLOCKED).any(0))
    for start in range(0, len(blocked), CHUNK // 4):
        rows = blocked[start : start + CHUNK // 4]
        best = _walk_past_third_islands(segments, places.take(rows), reach[rows], far[rows], bites)
        for k in range(len(bites)):
            here = why[k, rows] == BLOCKED
            width[k, rows[here]] = best[k, here]
            doubt[k, rows[here]] = True
    return Cuts(width, doubt, stand)


def _walk_past_third_islands(
    segments: Segments, places: Places, reach: Floats, far: Floats, bites: Sequence[float]
) -> Floats:
    """(len(bites), n) best width over the four ways to go on beyond a vertex, left and right."""
    count = len(places.A)
    keep = np.ones((4 * count, 2), dtype=int)  # which island a walker keeps: 1 the first
    keep[count : 2 * count, 0] = 2
    keep[2 * count : 3 * count, 1] = 2
    keep[3 * count :] = 2
    every = places.take(np.tile(np.arange(count), 4))
    walk = Walk(
        segments,
        every,
        np.tile(reach, 4),
        np.tile(far, 4),
        max(bites),
        keep=keep.ravel(),
        steps=MOST_STEPS + 32,
    )
    walk.go()
    width = np.stack([walk.solve(bite)[0] for bite in bites])
    best: Floats = width.reshape(len(bites), 4, count).max(1)
    return best
