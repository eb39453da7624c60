"""Hatched fills: copper full of openings in a regular order, with bars between them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints

MANY = 12
"""So many openings of one size make a hatch; fewer are gaps between traces."""

LARGEST = 5.0
"""An opening wider than this (mm) is no part of a hatch."""

ERROR = 0.005
"""Bound in mm on the error of ``bar`` and ``opening`` for straight bars."""

_TOUCHES = 0.01  # mm
_ALIKE = 0.1  # sizes of openings of one hatch differ by this part at most


class Hatches(Struct, frozen=True, eq=False):
    """Hatched islands of one outer layer; columns of length n.

    Attributes:
        layer: number of the layer in ``board.copper``.
        island: (n,) index into its islands.
        at: (n, 2) an opening near the middle, mm.
        openings: (n,) how many there are.
        opening: (n,) how wide they are, mm: the widest disc that fits in the usual one.
        bar: (n,) copper between two neighbours, mm, as usual.
        edge: (n,) length of the edges of all openings, mm.
    """

    layer: int
    island: Ints
    at: Floats
    openings: Ints
    opening: Floats
    bar: Floats
    edge: Floats


@lru_cache(maxsize=1)
def hatches_of(board: Board) -> tuple[Hatches, ...]:
    """Measure every outer layer of a board."""
    return tuple(
        _measured(number, layer)
        for number, layer in enumerate(board.copper)
        if layer.side in ("top", "bottom")
    )


def _measured(number: int, layer: CopperLayer) -> Hatches:
    found = [
        (island, *hatch)
        for island in np.flatnonzero(shapely.get_num_interior_rings(layer.islands) >= MANY).tolist()
        if (hatch := _hatch(layer, layer.islands[island])) is not None
    ]
    columns = list(zip(*found, strict=True)) or [()] * 6
    return Hatches(
        number,
        np.array(columns[0], dtype=np.int64),
        np.array(columns[1], dtype=float).reshape(-1, 2),
        np.array(columns[2], dtype=np.int64),
        np.array(columns[3], dtype=float),
        np.array(columns[4], dtype=float),
        np.array(columns[5], dtype=float),
    )


def _hatch(
    layer: CopperLayer, island: Any
) -> tuple[tuple[float, float], int, float, float, float] | None:
    """Place, number, opening, bar and length of edge of a hatched island; None where it is none."""
    openings = shapely.polygons(shapely.get_rings(island)[1:])
    x0, y0, x1, y1 = shapely.bounds(openings).T
    openings = openings[np.maximum(x1 - x0, y1 - y0) <= LARGEST]
    if len(openings) < MANY:
        return None
    # What holds other copper is the clearance round it, and what touches a pad is a slot of its
    # thermal relief: neither is an opening of the hatch.
    points = shapely.point_on_surface(layer.islands)
    objects = layer.objects
    pads = objects.shape[objects.dark & (objects.kind == Kind.PAD)]
    tree = shapely.STRtree(openings)
    held = tree.query(points, predicate="within")[1]
    beside = tree.query(pads, predicate="dwithin", distance=_TOUCHES)[1]
    openings = np.delete(openings, np.unique(np.concatenate([held, beside])))
    if len(openings) < MANY:
        return None
    area = shapely.area(openings)
    usual = float(np.median(area))
    alike = openings[np.abs(area - usual) <= _ALIKE * usual]
    if len(alike) < max(MANY, len(openings) // 2):
        return None
    tree = shapely.STRtree(alike)
    _, distance = tree.query_nearest(alike, exclusive=True, return_distance=True)
    middle = shapely.centroid(shapely.multipoints(shapely.get_coordinates(shapely.centroid(alike))))
    one = alike[int(tree.nearest(middle))]
    disc = shapely.maximum_inscribed_circle(one, tolerance=ERROR / 4)
    x, y = shapely.get_coordinates(shapely.point_on_surface(one))[0].tolist()
    return (
        (x, y),
        len(alike),
        2 * float(shapely.length(disc)),
        float(np.median(distance)),
        float(shapely.length(openings).sum()),
    )
