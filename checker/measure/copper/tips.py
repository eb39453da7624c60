"""Tips of copper that end in the open: a neck that leads only there joins nothing to its net."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.holes.paths import means_of
from checker.measure.whole.masks import middles_of_pads, openings_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints, Shapes
    from checker.measure.facts import Necks

_PAST = 0.004  # mm by which a cut across a neck reaches past its walls: more than they may be off
_CRUMB = 0.25  # of a neck's width squared: less than that is what the cut leaves of its walls


def lead_to_tips(
    board: Board, layer: int, necks: Necks, rows: Ints, wide: float = math.inf
) -> Ints:
    """Those of some necks of a layer beyond which copper only ends.

    A tip is copper that one neck parts from the rest, without a pad or a hole and nowhere as wide
    as ``wide`` mm; so is what hangs together with tips alone. Pads drawn as strokes or regions show
    by the solder mask alone: without one no wider copper is known to be a tip.
    """
    islands, openings = board.copper[layer].islands, openings_of(board, board.copper[layer].side)
    if openings is None and math.isinf(wide):
        return rows[:0]
    stands = shapely.points(
        np.concatenate([middles_of_pads(board.copper[layer]), means_of(board.holes)])
    )
    if openings is not None and math.isinf(wide):
        stands = np.concatenate([stands, openings])
    tree = shapely.STRtree(stands)
    blind = [rows[:0]]
    for island in np.unique(necks.island[rows]).tolist():
        own = rows[necks.island[rows] == island]
        cut = necks.width[own] / 2 + _PAST
        parts = _parted(islands[island], necks.at[own], cut)
        neck, part = shapely.STRtree(parts).query(
            shapely.points(necks.at[own]), "dwithin", distance=cut + _PAST
        )
        real = shapely.area(parts[part]) > _CRUMB * necks.width[own[neck]] ** 2
        free = np.ones(len(parts), bool)
        free[tree.query(parts, "intersects")[0]] = False
        if math.isfinite(wide):
            few = np.flatnonzero(free)
            free[few] = shapely.is_empty(shapely.buffer(parts[few], -wide / 2, quad_segs=4))
        blind.append(own[_beyond(neck[real], part[real], free)])
    return np.concatenate(blind)


def _parted(island: shapely.Polygon, at: Floats, radius: Floats) -> Shapes:
    cuts = shapely.union_all(shapely.buffer(shapely.points(at), radius, quad_segs=4))
    return np.asarray(shapely.get_parts(shapely.difference(island, cuts)), dtype=object)


def _beyond(neck: Ints, part: Ints, free: NDArray[np.bool_]) -> Ints:
    """Necks that part a free part from the rest, the outermost first; the rest is one part."""
    found: list[Ints] = []
    while True:
        count = np.bincount(part, minlength=len(free))
        both = np.bincount(neck, minlength=1)[neck] > 1
        now = np.unique(neck[both & free[part] & (count[part] == 1)])
        if not len(now):
            return np.concatenate([neck[:0], *found])
        found.append(now)
        stay = ~np.isin(neck, now)
        neck, part = neck[stay], part[stay]
