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

    from checker.board import CopperLayer

    Bools = NDArray[np.bool_]

_POINTS = 12  # along a stroke, where its sides are looked at
_BESIDE = 0.01, 0.5  # mm outside the stroke, and in parts of its pen
_MOST = 0.75  # of these points have copper beside them
_AHEAD = 1e-3  # mm to the point that gives the direction


@lru_cache(maxsize=2)  # the two outer layers of the board a run judges
def fill_strokes(layer: CopperLayer) -> Bools:
    """(n objects,) True for draws that are part of a fill."""
    objects = layer.objects
    found = np.zeros(len(objects), dtype=bool)
    drawn = objects.dark & (objects.kind == Kind.TRACE) & (objects.pen > 0) & (layer.island_of >= 0)
    rows = np.flatnonzero(drawn)
    rows = rows[shapely.get_type_id(objects.spine[rows]) == shapely.GeometryType.LINESTRING]
    length = shapely.length(objects.spine[rows])
    rows, length = rows[length > _AHEAD], length[length > _AHEAD]
    if not len(rows):
        return found
    lines = np.repeat(objects.spine[rows], _POINTS)
    share = np.tile((np.arange(_POINTS) + 0.5) / _POINTS, len(rows))
    along = np.minimum(share * np.repeat(length, _POINTS), np.repeat(length - _AHEAD, _POINTS))
    at = shapely.line_interpolate_point(lines, along)
    x, y = shapely.get_coordinates(at).T
    ahead = shapely.get_coordinates(shapely.line_interpolate_point(lines, along + _AHEAD))
    way = ahead - np.column_stack([x, y])
    way /= np.maximum(np.hypot(*way.T), np.finfo(float).tiny)[:, None]
    pen = objects.pen[rows]
    islands = layer.islands[layer.island_of[rows]]
    shapely.prepare(islands)
    copper = np.repeat(islands, _POINTS)
    free = ~_in_pads(layer, at)  # a trace that ends in a pad has copper beside it there
    counted = np.maximum(free.reshape(-1, _POINTS).sum(axis=1), 1)
    sides = []
    for turn in (1, -1):
        beside = free.copy()
        for more in (_BESIDE[0], _BESIDE[1] * pen):
            off = turn * np.repeat(pen / 2 + more, _POINTS)
            beside &= shapely.intersects_xy(copper, x - off * way[:, 1], y + off * way[:, 0])
        sides.append(beside.reshape(-1, _POINTS).sum(axis=1) / counted >= _MOST)
    # A short bit in the bend of a trace has copper on one side too.
    found[rows[np.where(length >= pen, sides[0] | sides[1], sides[0] & sides[1])]] = True
    return found


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
