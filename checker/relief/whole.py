"""Whether copper stays whole where channels are cut: one piece, and nowhere newly too narrow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from checker.board import Ints, Shapes
    from checker.relief.limits import Kept

SLIVER = 0.0015  # mm; copper that an erosion by this empties is an accident of chords
_SPECK = 1e-6  # mm2
_BESIDE = 0.003  # mm
_ROUND = 0.001  # mm by which rounded corners are no loss


def after(island: shapely.Polygon, strokes: Shapes) -> Shapes:
    """What strokes leave of an island, its parts from the largest down."""
    left = shapely.difference(island, shapely.union_all(strokes))
    parts = shapely.get_parts(left)
    parts = parts[shapely.area(parts) > _SPECK]
    parts = parts[~shapely.is_empty(shapely.buffer(parts, -SLIVER))]
    ordered: Shapes = parts[np.argsort(-shapely.area(parts), kind="stable")]
    return ordered


def harmed(
    island: shapely.Polygon, strokes: Shapes, stays: Shapes, least: float
) -> list[shapely.Geometry]:
    """Places where strokes cut an island, or leave a way through it narrower than ``least``.

    Args:
        island: before.
        strokes: that take of it.
        stays: copper that must hang together: pads, traces, holes of this island.
        least: width of copper that has to be left, mm.
    """
    parts = after(island, strokes)
    if not len(parts):
        return [island]
    # The part that holds most of what has to stay is the island; any other is cut off.
    tree = shapely.STRtree(stays)
    held = [len(tree.query(part, "intersects")) for part in parts]
    main = int(np.argmax(held))
    wrong = [part for k, part in enumerate(parts) if k != main]
    return wrong + _narrowed(island, parts[main], strokes, least)


def _narrowed(
    island: shapely.Polygon, left: shapely.Polygon, strokes: Shapes, least: float
) -> list[shapely.Geometry]:
    """Ways through copper that are narrower than ``least`` because of the strokes."""
    radius = least / 2 - _ROUND
    if radius <= 0:
        return []
    wide = shapely.buffer(shapely.buffer(left, -radius), radius + _ROUND / 2)
    thin = shapely.get_parts(shapely.difference(left, wide))
    thin = thin[shapely.area(thin) > _SPECK]
    if not len(thin):
        return []
    taken = shapely.intersection(shapely.union_all(strokes), island)
    tree = shapely.STRtree(thin)
    thin = thin[np.unique(tree.query(shapely.get_parts(taken), "dwithin", distance=_BESIDE)[1])]
    return [part for part in thin if _carries(part, wide)]


def _carries(part: shapely.Polygon, wide: shapely.Geometry) -> bool:
    """Whether a thin part joins wide copper to wide copper."""
    box = shapely.box(*shapely.bounds(shapely.buffer(part, 0.02)))
    near = shapely.intersection(shapely.buffer(part, _BESIDE), shapely.intersection(wide, box))
    ends = shapely.get_parts(near)
    return int((shapely.area(ends) > _SPECK).sum()) > 1


def beside(shapes: list[shapely.Geometry], strokes: Shapes) -> Ints:
    """Rows of the strokes that touch any of the shapes."""
    hit: Ints = np.unique(shapely.STRtree(strokes).query(shapes, "dwithin", distance=_BESIDE)[1])
    return hit
