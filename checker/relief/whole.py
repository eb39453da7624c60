"""Whether copper stays whole where channels are cut: one piece, and nowhere newly too narrow."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Ints, Shapes

SLIVER = 0.0015  # mm; copper that an erosion by this empties is an accident of chords
_SPECK = 1e-6  # mm2
_CHORDS = 0.001  # mm
_BESIDE = 0.003  # mm
_MORE = 0.004  # mm that is spared beyond what is missing
_WAISTS = np.linspace(0.25, 0.97, 7)  # of the least width, where waists are looked for
_CORNER = 0.1  # of its square, what is cut off by a waist is larger; a corner is 0.05
_ROUND = 0.001  # mm by which rounded corners are no loss


def after(island: shapely.Polygon, strokes: Shapes) -> Shapes:
    """What strokes leave of an island, its parts from the largest down."""
    left = shapely.difference(island, shapely.union_all(strokes))
    parts = shapely.get_parts(left)
    parts = parts[shapely.area(parts) > _SPECK]
    # A disc of the radius area / length fits into any shape.
    thin = np.flatnonzero(shapely.area(parts) <= SLIVER * shapely.length(parts))
    lost = thin[shapely.is_empty(shapely.buffer(parts[thin], -SLIVER))]
    parts = np.delete(parts, lost)
    ordered: Shapes = parts[np.argsort(-shapely.area(parts), kind="stable")]
    return ordered


class Harm(Struct, frozen=True):
    """A place where strokes cut an island, or leave a way through it too narrow.

    Attributes:
        at: what is cut off, or what is left of the way.
        rest: the copper from which it is cut off; None where it is a way.
    """

    at: shapely.Geometry
    rest: shapely.Geometry | None

    def spared(
        self, island: shapely.Polygon, stroke: shapely.Geometry, others: Shapes, least: float
    ) -> shapely.Geometry:
        """Copper that a stroke would have to leave for the harm to be none."""
        width = 2 * shapely.area(self.at) / max(shapely.length(self.at), 1e-9)
        reach = 2 * least if self.rest is not None else max(least - width, 0.0) + _MORE
        zone = shapely.buffer(self.at, reach)
        box = shapely.bounds(zone)
        if self.rest is not None:
            rest = shapely.clip_by_rect(self.rest, *box)
            zone = shapely.intersection(zone, shapely.buffer(rest, reach))
        copper = shapely.make_valid(shapely.clip_by_rect(island, *box))
        taken = shapely.intersection(shapely.intersection(zone, copper), stroke)
        near = others[shapely.dwithin(others, self.at, reach)]
        return shapely.difference(taken, shapely.union_all(near)) if len(near) else taken


class Island:
    """One island, looked at again and again while strokes come and go.

    Args:
        shape: before any stroke.
        stays: copper that must hang together: pads, traces, holes of this island.
        least: width of copper that has to be left, mm.
    """

    def __init__(self, shape: shapely.Polygon, stays: Shapes, least: float) -> None:
        self.shape, self.least = shape, least
        self._stays = shapely.STRtree(stays)
        self._radius = least / 2 - _ROUND

    @cached_property
    def _thin(self) -> shapely.Geometry:
        """What was too narrow before."""
        return shapely.difference(self.shape, self._opened(self.shape)[1])

    def harms(self, strokes: Shapes, about: Shapes) -> list[Harm]:
        """Places where strokes cut it, or leave a way through it too narrow.

        Args:
            strokes: all that take of it.
            about: shapes beside which ways are looked at.
        """
        parts = after(self.shape, strokes)
        if not len(parts):
            return [Harm(self.shape, self.shape)]
        # The part that holds most of what has to stay is the island; any other is cut off.
        held = [len(self._stays.query(part, "intersects")) for part in parts]
        main = parts[int(np.argmax(held))] if len(parts) > 1 else parts[0]
        cut = [Harm(part, main) for part in parts if part is not main]
        return cut + [Harm(part, None) for part in self._narrowed(main, strokes, about)]

    def _opened(self, copper: shapely.Geometry) -> tuple[shapely.Geometry, shapely.Geometry]:
        """Where a disc as wide as copper has to be fits: its middles, and what it covers."""
        core = shapely.buffer(copper, -self._radius)
        return core, shapely.buffer(core, self._radius + _ROUND / 2)

    def _narrowed(
        self, left: shapely.Polygon, strokes: Shapes, about: Shapes
    ) -> list[shapely.Geometry]:
        """Ways through what is left that are too narrow because of the strokes."""
        if self._radius <= 0:
            return []
        core, wide = self._opened(left)
        thin = shapely.get_parts(shapely.difference(left, wide))
        thin = thin[shapely.area(thin) > _SPECK]
        if not len(thin):
            return []
        tree = shapely.STRtree(thin)
        near, touched = (
            np.unique(tree.query(shapes, "dwithin", distance=_BESIDE)[1])
            for shapes in (about, strokes)
        )
        return [
            part
            for part in thin[np.intersect1d(near, touched)]
            if (self._carries(part, core) and self._is_new(part, strokes))
            or self._waisted(part, left)
        ]

    def _carries(self, part: shapely.Polygon, core: shapely.Geometry) -> bool:
        """Whether a thin part joins wide copper to wide copper."""
        grown = shapely.buffer(part, self._radius + 2 * _BESIDE)
        near = shapely.intersection(grown, shapely.clip_by_rect(core, *shapely.bounds(grown)))
        ends = shapely.get_parts(near)
        return int((shapely.area(ends) > 0).sum()) > 1

    def _waisted(self, part: shapely.Polygon, left: shapely.Polygon) -> bool:
        """Whether a thin part has a waist, copper that is wider on both of its sides, and had none.

        As it joins copper that is narrow as well, no wide copper tells of it.
        """
        if shapely.area(part) < _CORNER * self.least**2:
            return False
        around = shapely.buffer(part, self.least)
        now = self._falls_apart(part, around, left)
        if not now.any():
            return False
        before = self._falls_apart(part, around, self.shape)
        return bool((now & ~np.logical_or.accumulate(before)).any())

    def _falls_apart(
        self, part: shapely.Polygon, around: shapely.Polygon, copper: shapely.Polygon
    ) -> NDArray[np.bool_]:
        """(steps,) whether copper about a thin part is more than one once eroded so far."""
        near = shapely.make_valid(shapely.clip_by_rect(copper, *shapely.bounds(around)))
        pieces = shapely.get_parts(shapely.intersection(near, around))
        steps = _WAISTS * self.least / 2
        rest = shapely.buffer(shapely.union_all(pieces[shapely.intersects(pieces, part)]), -steps)
        parts, step = shapely.get_parts(rest, return_index=True)
        beside = shapely.dwithin(parts, part, steps[step] + _BESIDE) & (shapely.area(parts) > 0)
        many: NDArray[np.bool_] = np.bincount(step[beside], minlength=len(steps)) > 1
        return many

    def _is_new(self, part: shapely.Polygon, strokes: Shapes) -> bool:
        """Whether a thin part was wider before."""
        box = shapely.bounds(shapely.buffer(part, self.least))
        before = shapely.buffer(shapely.clip_by_rect(self._thin, *box), _ROUND)
        if _deep(shapely.difference(part, before)):
            return True
        near = strokes[shapely.dwithin(strokes, part, _BESIDE)]
        copper = shapely.make_valid(shapely.clip_by_rect(self.shape, *box))
        eaten = shapely.intersection(shapely.union_all(near), copper)
        return _deep(shapely.intersection(eaten, shapely.buffer(part, _BESIDE)))


def _deep(copper: shapely.Geometry) -> bool:
    """Whether it is more than what chords leave along an edge."""
    return not shapely.is_empty(shapely.buffer(copper, -_CHORDS))


def beside(shape: shapely.Geometry, strokes: Shapes, reach: float) -> Ints:
    """Rows of the strokes within reach of a shape."""
    hit: Ints = np.flatnonzero(shapely.dwithin(strokes, shape, reach))
    return hit
