"""A layer in tiles, so that what is united or taken off at once stays small.

One union of all that a large board holds takes more than in proportion to it, and much memory; in
tiles the cost of a place does not depend on what is far from it. Where a tile ends is a seam: no
boundary of what is measured, only of its parts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from checker.measure.boundary.minima import components
from checker.measure.clipping import clipped
from checker.measure.plane import dot, either, larger

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes

    Bools = NDArray[np.bool_]

MOST = 50_000
"""Corners of shapes: what holds more is cut in half."""

LEAST = 8.0
"""mm; but no shorter than this."""

_ASIDE = 0.0314159265  # mm: seams lie aside of the grids that boards are drawn on
_OVERLAP = 0.05  # mm of what lies beyond a tile: no edge of its shapes lies on a seam
ON_SEAM = 1e-9
"""mm; what is nearer to the side of a tile lies on it."""

_SHARED = 1e-6  # mm of a seam: parts that share less of it only touch


class Box(NamedTuple):
    """A rectangle, mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    def grown(self, by: float) -> Box:
        """It, and all within ``by`` mm of its sides."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def halves(self) -> tuple[Box, Box]:
        """It, cut in half across its longer sides."""
        x, y = (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2
        if self.x1 - self.x0 >= self.y1 - self.y0:
            return self._replace(x1=x), self._replace(x0=x)
        return self._replace(y1=y), self._replace(y0=y)

    @property
    def longer(self) -> float:
        """The length of its longer sides, mm."""
        return max(self.x1 - self.x0, self.y1 - self.y0)


def tiles_of(shapes: Shapes, area: Sequence[float]) -> Iterator[tuple[Box, Shapes]]:
    """The tiles of an area (x0, y0, x1, y1), each with what polygons hold of it and a bit more."""
    x0, y0, x1, y1 = area
    # The outer sides lie beyond the area: they are no seams.
    return _cut(shapes, Box(x0 - 2 * _ASIDE, y0 - 2 * _ASIDE, x1 + _ASIDE, y1 + _ASIDE))


def _cut(shapes: Shapes, box: Box) -> Iterator[tuple[Box, Shapes]]:
    if box.longer < 2 * LEAST or shapely.get_num_coordinates(shapes).sum() <= MOST:
        yield box, shapes
        return
    low, high = shapely.bounds(shapes).reshape(-1, 2, 2).transpose(1, 0, 2)
    for half in box.halves():
        rim = half.grown(_OVERLAP)
        near = ((low <= rim[2:]) & (high >= rim[:2])).all(1)
        whole = ((low >= rim[:2]) & (high <= rim[2:])).all(1)
        part = _clipped(shapes[near & ~whole], rim)
        yield from _cut(np.concatenate([shapes[whole], part]), half)


def _clipped(shapes: Shapes, box: Box) -> Shapes:
    """Polygons within a box; what is left of each may be several."""
    parts = clipped(shapes, box)
    broken = ~shapely.is_valid(parts)
    parts[broken] = shapely.intersection(shapes[broken], shapely.box(*box))
    rest: Shapes = parts[~shapely.is_empty(parts)]
    return rest


class Seams(NamedTuple):
    """Stretches of seams that parts lie at; columns of length n.

    Attributes:
        part: (n,) number of the part.
        a, b: (n, 2) ends, with the part on the left.
    """

    part: Ints
    a: Floats
    b: Floats


def no_seams() -> Seams:
    """None of them."""
    return Seams(np.empty(0, np.int64), np.empty((0, 2)), np.empty((0, 2)))


def seams_of(parts: Shapes, box: Box) -> Seams:
    """Where parts (n,) of a tile, exteriors counter-clockwise, lie at its sides."""
    low, high = shapely.bounds(parts).reshape(-1, 2, 2).transpose(1, 0, 2)
    ends = np.reshape(box, (2, 2))
    rows = np.flatnonzero(either((low - ends[0] < ON_SEAM) | (ends[1] - high < ON_SEAM)))
    rings, of = shapely.get_rings(parts[rows], return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    one = np.flatnonzero((ring[1:] == ring[:-1]) & on_seam(points[:-1], points[1:], box))
    return Seams(rows[of[ring[one]]], points[one], points[one + 1])


def on_seam(a: Floats, b: Floats, box: Box) -> Bools:
    """(n,) which stretches from a to b, (n, 2) each, lie on a side of a tile."""
    on = np.zeros(len(a), dtype=bool)
    for axis in (0, 1):
        for side in (box[axis], box[axis + 2]):
            on |= (np.abs(a[:, axis] - side) < ON_SEAM) & (np.abs(b[:, axis] - side) < ON_SEAM)
    return on


def joined(seams: Seams, count: int) -> Ints:
    """(count,) the least number among the parts that hang together over seams."""
    lines = shapely.linestrings(np.stack([seams.a, seams.b], 1))
    i, j = shapely.STRtree(lines).query(lines)
    # Of two parts at a seam one lies left of it and one right, so that they run opposite ways.
    along = seams.b - seams.a
    opposite = dot(along[i], along[j]) < 0
    i, j = i[opposite], j[opposite]
    ends = np.stack([seams.a, seams.b])
    low, high = ends.min(0), ends.max(0)
    shared = larger(np.minimum(high[i], high[j]) - np.maximum(low[i], low[j]))
    one = shared > _SHARED
    return components(count, seams.part[i[one]], seams.part[j[one]])
