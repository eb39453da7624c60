"""What a hole leaves of copper that it cuts: how wide is what still joins both sides of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind

if TYPE_CHECKING:
    from checker.board import CopperLayer, Shapes

ERROR = 0.002
"""Bound in mm on the error of a width."""

_ABOUT = 0.5  # mm round the hole in which it is looked what its copper joins
_EXACT = 0.0005  # mm to which a width is found
_MEETS = 0.001  # mm


def left_beside(
    layer: CopperLayer, island: int, hole: shapely.Polygon, enough: float
) -> tuple[float, float] | None:
    """How wide the copper is that joins what an island joins about a hole: without it, and with it.

    Joined are the places where the island goes on and the pads on it. Widths are those of the
    widest disc that passes, in mm, ``enough`` where they are no less. None where the island ends
    at the hole, so that nothing is parted.
    """
    window = shapely.buffer(hole, _ABOUT)
    parts = shapely.get_parts(shapely.intersection(layer.islands[island], window))
    copper = shapely.union_all(parts[shapely.intersects(parts, hole)])
    ways = shapely.intersection(shapely.boundary(window), copper)
    ends = shapely.get_parts(shapely.line_merge(ways))
    ends = np.append(ends[shapely.length(ends) > 0], _pads(layer, island, copper, hole))
    if len(ends) < len(("from", "to")):
        return None
    left = shapely.difference(copper, hole)
    return _widest(copper, ends, enough), _widest(left, ends, enough)


def _pads(
    layer: CopperLayer, island: int, copper: shapely.Geometry, hole: shapely.Polygon
) -> Shapes:
    """What the hole leaves of the island's pads about it."""
    objects = layer.objects
    pads = objects.dark & (objects.kind == Kind.PAD) & (layer.island_of == island)
    shapes = objects.shape[pads]
    shapes = shapes[shapely.intersects(shapes, copper)]
    left: Shapes = shapely.difference(shapely.intersection(shapes, copper), hole)
    some: Shapes = left[shapely.area(left) > 0]
    return some


def _widest(copper: shapely.Geometry, ends: Shapes, enough: float) -> float:
    """The diameter of the widest disc that passes between all ends."""
    if _passes(copper, ends, enough):
        return enough
    passes, stuck = 0.0, enough
    while stuck - passes > _EXACT:
        middle = (passes + stuck) / 2
        if _passes(copper, ends, middle):
            passes = middle
        else:
            stuck = middle
    return passes


def _passes(copper: shapely.Geometry, ends: Shapes, width: float) -> bool:
    room = shapely.get_parts(shapely.buffer(copper, -width / 2, quad_segs=32))
    near = shapely.dwithin(ends[:, None], room[None], width / 2 + _MEETS)
    return bool(near.all(axis=0).any())
