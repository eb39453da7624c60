"""Fills drawn with many strokes of a pen, as programs that know no regions draw them.

Such a stroke is a draw like that of a trace, and only what lies beside it tells them apart: a trace
has laminate on both sides, a stroke of a fill, or of its border, copper on one side at least.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import CopperLayer, Floats, Ints

    Bools = NDArray[np.bool_]

_POINTS = 12  # along a stroke, where its sides are looked at
_LOOKS = ((np.arange(_POINTS) + 0.5) / _POINTS).reshape(4, 3).T  # so many at a time, far apart
_BESIDE = 0.01, 0.5  # mm outside the stroke, and in parts of its pen
_MOST = 0.75  # of these points have copper beside them
_SHORTEST = 1e-3  # mm: what is no longer is a dot, of no direction


@lru_cache(maxsize=2)  # the two outer layers of the board a run judges
def fill_strokes(layer: CopperLayer) -> Bools:
    """(n objects,) True for draws that are part of a fill."""
    objects = layer.objects
    found = np.zeros(len(objects), dtype=bool)
    drawn = objects.dark & (objects.kind == Kind.TRACE) & (objects.pen > 0) & (layer.island_of >= 0)
    rows = np.flatnonzero(drawn)
    rows = rows[shapely.get_type_id(objects.spine[rows]) == shapely.GeometryType.LINESTRING]
    length = shapely.length(objects.spine[rows])
    rows, length = rows[length > _SHORTEST], length[length > _SHORTEST]
    if not len(rows):
        return found
    short = length < objects.pen[rows]
    counted = np.zeros(len(rows), dtype=int)
    bare = np.zeros((2, len(rows)), dtype=int)  # points without copper to the left, to the right
    live = np.arange(len(rows))
    for share in _LOOKS:
        free, copper = _beside(layer, rows[live], length[live], share)
        counted[live] += free.sum(axis=1)
        bare[:, live] += (free & ~copper).sum(axis=2)
        # Where too many points are bare already, whatever the rest is, nothing more is looked at.
        live = live[_is_fill(bare[:, live], _POINTS, short[live])]
        if not len(live):
            return found
    found[rows[live[_is_fill(bare[:, live], counted[live], short[live])]]] = True
    return found


def _is_fill(bare: Ints, counted: Ints | int, short: Bools) -> Bools:
    """(n,) whether enough of the points have copper beside them on one side, of short ones on both.

    A short bit in the bend of a trace has copper on one side too.
    """
    left, right = counted - bare >= _MOST * np.maximum(counted, 1)
    enough: Bools = np.where(short, left & right, left | right)
    return enough


def _beside(layer: CopperLayer, rows: Ints, length: Floats, share: Floats) -> tuple[Bools, Bools]:
    """Which points of some draws count (n, k), and which have copper to the left, to the right.

    Args:
        layer: copper.
        rows: (n,) of its objects.
        length: (n,) of their spines.
        share: (k,) of that length at which the points lie.

    Returns:
        (n, k) and (2, n, k).
    """
    objects, each = layer.objects, len(share)
    pen = np.repeat(objects.pen[rows], each)
    x, y, way_x, way_y = _places(objects.spine[rows], length[:, None] * share)
    at = shapely.points(x, y)
    islands = layer.islands[layer.island_of[rows]]
    shapely.prepare(islands)
    islands = np.repeat(islands, each)
    free = ~_in_pads(layer, at)  # a trace that ends in a pad has copper beside it there
    copper = np.zeros((2, len(at)), dtype=bool)
    for beside, turn in zip(copper, (1, -1), strict=True):
        asked = np.flatnonzero(free)
        for more in (_BESIDE[0], _BESIDE[1] * pen):
            off = turn * (pen / 2 + more)[asked]
            to_x, to_y = x[asked] - off * way_y[asked], y[asked] + off * way_x[asked]
            there = shapely.intersects_xy(islands[asked], to_x, to_y)
            gone = np.flatnonzero(~there)
            of = np.repeat(rows, each)[asked[gone]]
            there[gone] = _cleared_later(layer, of, to_x[gone], to_y[gone])
            asked = asked[there]
        beside[asked] = True
    return free.reshape(-1, each), copper.reshape(2, -1, each)


def _cleared_later(layer: CopperLayer, rows: Ints, x: Floats, y: Floats) -> Bools:
    """(n,) whether copper of a draw's own island was at a point, and was cleared after the draw."""
    objects = layer.objects
    found = np.zeros(len(rows), dtype=bool)
    clear = np.flatnonzero(~objects.dark)
    if not len(clear) or not len(rows):
        return found
    at = shapely.points(x, y)
    point, which = shapely.STRtree(objects.shape[clear]).query(at, predicate="intersects")
    later = np.zeros(len(at), dtype=bool)
    later[point[clear[which] > rows[point]]] = True
    asked = np.flatnonzero(later)
    dark = np.flatnonzero(objects.dark & np.isin(layer.island_of, layer.island_of[rows[asked]]))
    point, which = shapely.STRtree(objects.shape[dark]).query(at[asked], predicate="intersects")
    own = layer.island_of[dark[which]] == layer.island_of[rows[asked[point]]]
    found[asked[point[own]]] = True
    return found


def _places(lines: NDArray[np.object_], along: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """X and y at distances (n, k) along (n,) lines, and the direction there; (n * k,) each."""
    points, of = shapely.get_coordinates(lines, return_index=True)
    step = np.diff(points, axis=0, append=points[-1:])
    step[np.append(of[1:] != of[:-1], True)] = 0.0  # from one line to the next
    length = np.hypot(step[:, 0], step[:, 1])
    reached = np.cumsum(length)
    first = np.flatnonzero(np.diff(of, prepend=-1))
    place = ((reached - length)[first, None] + along).ravel()
    row = np.minimum(np.searchsorted(reached, place, side="right"), len(length) - 1)
    x, y = points[row].T
    way_x, way_y = (step[row] / np.maximum(length[row], np.finfo(float).tiny)[:, None]).T
    past = place - (reached - length)[row]
    return x + past * way_x, y + past * way_y, way_x, way_y


@lru_cache(maxsize=2)
def kinds_meant(layer: CopperLayer) -> NDArray[np.int8]:
    """(n objects,) values of `Kind` as a person would say.

    Strokes that fill are a pour, and a region that is called a pin is a pad.
    """
    objects = layer.objects
    kinds: NDArray[np.int8] = np.where(fill_strokes(layer), np.int8(Kind.POUR), objects.kind)
    kinds[(objects.kind == Kind.POUR) & (objects.pin >= 0)] = Kind.PAD
    return kinds


def _in_pads(layer: CopperLayer, at: NDArray[np.object_]) -> Bools:
    objects = layer.objects
    pads = objects.shape[objects.dark & (objects.kind == Kind.PAD)]
    inside = np.zeros(len(at), dtype=bool)
    if len(pads):
        inside[shapely.STRtree(at).query(pads, predicate="intersects")[1]] = True
    return inside
