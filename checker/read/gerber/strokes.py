"""Fills drawn in strokes: where two run side by side with a hair between them.

Exporters space the strokes of a fill by the width of the pen; rounding leaves gaps of a few
thousandths of a millimetre between some of them. The strokes are compared by their centre lines
alone: same pen, same direction, and as far apart as the pen is wide or a hair more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from checker.board import DrawnObjects, Floats, Ints

# A gap no wider than this (mm) between strokes side by side is an accident of rounding: a fill is
# copper all over. So is a hole no wider. No process of this trade parts copper so finely.
CRACK = 0.005

_TOUCH = 1e-6  # mm; strokes nearer than this touch, coordinates being whole nanometres
_ANGLE = 1e-3  # radians; directions in one class
_FAR = 1e5  # mm; wider than any layer
_MOST = 1_000_000  # pairs that are compared
_PARTS = (0.25, 0.5, 0.75)  # of a crack's length, at which it is looked at
_EACH = 200  # strokes that one stroke is compared with, where there are more in all


def cracks(objects: DrawnObjects) -> tuple[Ints, Floats]:
    """Where dark strokes lie side by side with a crack between, if nothing else covers it.

    Returns:
        (n, 2) rows of the two objects and (n, 2) places in the crack: three of each crack, along
        the length that both strokes have in common. Strokes of different nets are left out.
    """
    owner, pen, start, end = _segments(objects)
    apart = end - start
    length = np.hypot(*apart.T)
    turned = (apart[:, 1] < 0) | ((apart[:, 1] == 0) & (apart[:, 0] < 0))
    along = np.where(turned, -1.0, 1.0)[:, None] * apart / length[:, None]
    across = along[:, 0] * start[:, 1] - along[:, 1] * start[:, 0]
    ends = np.sort(np.stack([(along * start).sum(1), (along * end).sum(1)]), axis=0)
    half_turn = round(np.pi / _ANGLE)
    angle = np.round(np.arctan2(along[:, 1], along[:, 0]) / _ANGLE).astype(np.int64) % half_turn
    _, kind = np.unique(np.stack([np.round(pen * 1e6), angle]), axis=1, return_inverse=True)
    place = kind.reshape(-1) * 2 * _FAR + across
    order = np.argsort(place, kind="stable")
    a, b = _pairs(place[order], pen[order])
    a, b = order[a], order[b]
    low, high = np.maximum(ends[0, a], ends[0, b]), np.minimum(ends[1, a], ends[1, b])
    net_a, net_b = objects.net[owner[a]], objects.net[owner[b]]
    beside = (high - low > pen[a]) & ((net_a == net_b) | (net_a < 0) | (net_b < 0))
    a, b, low, high = a[beside], b[beside], low[beside], high[beside]
    middle = ((across[a] + across[b]) / 2)[:, None] * np.stack([-along[a, 1], along[a, 0]], axis=1)
    places = [middle + (low + part * (high - low))[:, None] * along[a] for part in _PARTS]
    rows = np.stack([owner[a], owner[b]], axis=1)
    return np.tile(rows, (len(_PARTS), 1)), np.concatenate(places)


def _segments(objects: DrawnObjects) -> tuple[Ints, Floats, Floats, Floats]:
    """Straight pieces of draws longer than their pen is wide: row, pen, start and end."""
    line = shapely.get_type_id(objects.spine) == shapely.GeometryType.LINESTRING
    rows = np.flatnonzero(objects.dark & line & (objects.pen > 0))
    points, index = shapely.get_coordinates(objects.spine[rows], return_index=True)
    start, end = points[:-1], points[1:]
    pen = objects.pen[rows[index[:-1]]] if len(points) else np.empty(0)
    one = (index[:-1] == index[1:]) & (np.hypot(*(end - start).T) > pen)
    return rows[index[:-1][one]], pen[one], start[one], end[one]


def _pairs(place: Floats, pen: Floats) -> tuple[Ints, Ints]:
    """Pairs of strokes as far apart as the pen is wide and up to a crack more; places ascend."""
    first = np.searchsorted(place, place + pen + _TOUCH, side="right")
    count = np.searchsorted(place, place + pen + CRACK + _TOUCH, side="right") - first
    if count.sum() > _MOST:
        count = np.minimum(count, _EACH)
    count[np.cumsum(count) > _MOST] = 0
    a = np.repeat(np.arange(len(place)), count)
    step = np.arange(len(a)) - np.repeat(np.cumsum(count) - count, count)
    return a, first[a] + step
