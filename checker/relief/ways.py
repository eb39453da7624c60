"""Ways through copper that strokes leave too narrow, looked at where strokes came or went alone.

What is too narrow is told by what lies within twice the least width. So it is looked for in boxes
about the strokes that changed; a box grows until all that is too narrow beside them lies inside.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.boundary.minima import components
from checker.measure.clipping import clipped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Ints, Shapes

SPECK = 1e-6  # mm2
_CHORDS = 0.001  # mm
_BESIDE = 0.003  # mm
_WAISTS = np.linspace(0.25, 0.97, 7)  # of the least width, where waists are looked for
_CORNER = 0.1  # of its square, what is cut off by a waist is larger; a corner is 0.05
_ROUND = 0.001  # mm by which rounded corners are no loss
_MARGIN = 4.0  # least widths about a stroke that a box begins with, and grows by
_INSIDE = 2.0  # least widths from the rim of a box, where nothing is cut through that matters
_FEW = 1000  # corners of an island that is looked at whole
_TILE = 3.0  # mm
_MOST = 0.5  # of its area, what boxes may cover; it is looked at whole else

Box = tuple[float, float, float, float]


class Strokes:
    """What strokes clear, as a column, and a tree of it."""

    def __init__(self, shape: Shapes) -> None:
        self.shape = shape
        self.tree = shapely.STRtree(shape)

    def beside(self, shape: shapely.Geometry, reach: float) -> Ints:
        """Rows of those within reach of a shape, in order."""
        rows: Ints = np.sort(self.tree.query(shape, "dwithin", distance=reach))
        return rows


class Clips:
    """A shape of which small boxes are cut out again and again: each out of a larger one."""

    def __init__(self, shape: shapely.Geometry) -> None:
        self.shape = shape
        self._large = shapely.get_num_coordinates(shape) > _FEW
        self._tiles: dict[tuple[int, int], shapely.Geometry] = {}

    def within(self, box: Sequence[float]) -> shapely.Geometry:
        """What lies in a box; as cutting leaves it, which may be invalid."""
        x0, y0, x1, y1 = box
        shape = self.shape
        if self._large and max(x1 - x0, y1 - y0) < _TILE:
            shape = self._tile(int((x0 + x1) / 2 // _TILE), int((y0 + y1) / 2 // _TILE))
        return clipped(shape, box)

    def _tile(self, column: int, row: int) -> shapely.Geometry:
        """A tile, and half a tile more all round."""
        if (column, row) not in self._tiles:
            low, high = np.array([column, row]) - 0.5, np.array([column, row]) + 1.5
            cut = clipped(self.shape, (*(low * _TILE), *(high * _TILE)))
            self._tiles[column, row] = shapely.make_valid(cut)
        return self._tiles[column, row]


def narrowed(
    before: shapely.Polygon, left: shapely.Polygon, least: float, strokes: Strokes, about: Shapes
) -> list[shapely.Geometry]:
    """Ways through copper that are too narrow because of strokes.

    Args:
        before: the copper before any stroke.
        left: what is left of it.
        least: width of copper that has to be left, mm.
        strokes: all that take of it.
        about: shapes beside which ways are looked at.
    """
    if least / 2 <= _ROUND:
        return []
    changed = Strokes(about)
    boxes = merged([grown(box, _MARGIN * least) for box in shapely.bounds(about).tolist()])
    if shapely.get_num_coordinates(before) <= _FEW or size(boxes) > _MOST * shapely.area(before):
        boxes = [grown(shapely.bounds(before).tolist(), least)]
    found: dict[Box, list[shapely.Geometry] | None] = {}
    while new := [box for box in boxes if box not in found]:
        for box in new:
            found[box] = _Window(before, left, least, box).narrowed(strokes, changed)
        cut_through = [grown(box, size([box]) ** 0.5) for box in boxes if found[box] is None]
        boxes = merged([*(box for box in boxes if found[box] is not None), *cut_through])
    return [part for box in boxes for part in found[box] or ()]


def size(boxes: Sequence[Box]) -> float:
    """The area of boxes, mm2."""
    return sum((right - left) * (high - low) for left, low, right, high in boxes)


def grown(box: Sequence[float], reach: float) -> Box:
    """A box with so much more all round."""
    return box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach


def between(one: Sequence[float], other: Sequence[float], reach: float) -> Box:
    """The box in which what lies in two boxes can be within reach of each other."""
    one, other = grown(one, reach), grown(other, reach)
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def merged(boxes: Sequence[Box]) -> list[Box]:
    """The boxes round those that meet, until none do."""
    while True:
        shapes = shapely.box(*np.array(boxes).T)
        one, other = shapely.STRtree(shapes).query(shapes, "intersects")
        group = components(len(boxes), one, other)
        if len(set(group.tolist())) == len(boxes):
            return list(boxes)
        corners = np.array(boxes)
        boxes = [
            (*corners[group == k, :2].min(0).tolist(), *corners[group == k, 2:].max(0).tolist())
            for k in dict.fromkeys(group.tolist())
        ]


class _Window:
    """What of an island lies in a box, before strokes and with them."""

    def __init__(
        self, before: shapely.Polygon, left: shapely.Polygon, least: float, box: Box
    ) -> None:
        self.least, self._radius = least, least / 2 - _ROUND
        self._island, self._box = before, box
        self.left = Clips(_within(left, box))

    @cached_property
    def before(self) -> Clips:
        """What lies in the box before any stroke."""
        return Clips(_within(self._island, self._box))

    def narrowed(self, strokes: Strokes, about: Strokes) -> list[shapely.Geometry] | None:
        """The ways that are too narrow; None where the box cuts through what may be one."""
        core, wide = self._opened(self.left.shape)
        thin = shapely.get_parts(shapely.difference(self.left.shape, wide))
        thin = thin[shapely.area(thin) > SPECK]
        if not len(thin):
            return []
        tree, box = shapely.STRtree(thin), shapely.box(*self._box)
        near, touched = (
            np.unique(tree.query(some.shape[some.tree.query(box)], "dwithin", distance=_BESIDE)[1])
            for some in (about, strokes)
        )
        thin = thin[np.intersect1d(near, touched)]
        if self._cut_through(thin):
            return None
        carries = self._carry(thin, Clips(core))
        return [
            part
            for part, carried in zip(thin, carries.tolist(), strict=True)
            if (carried and self._is_new(part, strokes)) or self._waisted(part)
        ]

    def _cut_through(self, thin: Shapes) -> bool:
        """Whether any comes near to a side of the box at which the island goes on."""
        box, island = np.array(self._box), shapely.bounds(self._island)
        bounds, off = shapely.bounds(thin), _INSIDE * self.least
        low = (bounds[:, :2] < box[:2] + off) & (island[:2] < box[:2])
        high = (bounds[:, 2:] > box[2:] - off) & (island[2:] > box[2:])
        return bool(low.any() or high.any())

    def _opened(self, copper: shapely.Geometry) -> tuple[shapely.Geometry, shapely.Geometry]:
        """Where a disc as wide as copper has to be fits: its middles, and what it covers."""
        core = shapely.buffer(copper, -self._radius)
        return core, shapely.buffer(core, self._radius + _ROUND / 2)

    def _carry(self, thin: Shapes, core: Clips) -> NDArray[np.bool_]:
        """(n,) whether a thin part joins wide copper to wide copper."""
        grown = shapely.buffer(thin, self._radius + 2 * _BESIDE)
        near = np.array([core.within(box) for box in shapely.bounds(grown).tolist()], object)
        ends, part = shapely.get_parts(shapely.intersection(grown, near), return_index=True)
        many: NDArray[np.bool_] = np.bincount(part[shapely.area(ends) > 0], minlength=len(thin)) > 1
        return many

    def _waisted(self, part: shapely.Polygon) -> bool:
        """Whether a thin part has a waist, copper that is wider on both of its sides, and had none.

        As it joins copper that is narrow as well, no wide copper tells of it.
        """
        if shapely.area(part) < _CORNER * self.least**2:
            return False
        around = shapely.buffer(part, self.least)
        now = self._falls_apart(part, around, self.left)
        if not now.any():
            return False
        before = self._falls_apart(part, around, self.before)
        return bool((now & ~np.logical_or.accumulate(before)).any())

    def _falls_apart(
        self, part: shapely.Polygon, around: shapely.Polygon, copper: Clips
    ) -> NDArray[np.bool_]:
        """(steps,) whether copper about a thin part is more than one once eroded so far."""
        near = shapely.make_valid(copper.within(shapely.bounds(around).tolist()))
        pieces = shapely.get_parts(shapely.intersection(near, around))
        steps = _WAISTS * self.least / 2
        rest = shapely.buffer(shapely.union_all(pieces[shapely.intersects(pieces, part)]), -steps)
        parts, step = shapely.get_parts(rest, return_index=True)
        beside = shapely.dwithin(parts, part, steps[step] + _BESIDE) & (shapely.area(parts) > 0)
        many: NDArray[np.bool_] = np.bincount(step[beside], minlength=len(steps)) > 1
        return many

    def _is_new(self, part: shapely.Polygon, strokes: Strokes) -> bool:
        """Whether a thin part was wider before."""
        box = shapely.bounds(shapely.buffer(part, self.least)).tolist()
        before = shapely.buffer(self._thin_before(box), _ROUND)
        if _deep(shapely.difference(part, before)):
            return True
        near = strokes.shape[strokes.beside(part, _BESIDE)]
        copper = shapely.make_valid(self.before.within(box))
        eaten = shapely.intersection(shapely.union_all(near), copper)
        return _deep(shapely.intersection(eaten, shapely.buffer(part, _BESIDE)))

    def _thin_before(self, box: Box) -> shapely.Geometry:
        """What was too narrow in a box before any stroke; what lies beyond may be wrong."""
        copper = shapely.make_valid(self.before.within(grown(box, _INSIDE * self.least)))
        thin = shapely.difference(copper, self._opened(copper)[1])
        return clipped(thin, box)


def _within(copper: shapely.Geometry, box: Box) -> shapely.Geometry:
    x0, y0, x1, y1 = shapely.bounds(copper)
    if box[0] <= x0 and box[1] <= y0 and box[2] >= x1 and box[3] >= y1:
        return copper
    return shapely.make_valid(clipped(copper, box))


def _deep(copper: shapely.Geometry) -> bool:
    """Whether it is more than what chords leave along an edge."""
    return not shapely.is_empty(shapely.buffer(copper, -_CHORDS))
