"""Boards of which copper is left over: islands on a square, no files."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.affinity import rotate, translate

from checker.board import Board, Hole, Kind, Outline
from tests.handmade import Copper, layer

CLEARS = 0.35
NARROW = 0.25


def board(
    *islands: shapely.Polygon,
    size: float = 20.0,
    holes: tuple[Hole, ...] = (),
    nets: tuple[str, ...] = (),
) -> Board:
    """Islands on the bottom of a square board about the origin."""
    names = nets or tuple(f"N{i}" for i in range(len(islands)))
    copper = [(Copper(Kind.TRACE, net), shape) for net, shape in zip(names, islands, strict=True)]
    edge = shapely.MultiPolygon([shapely.box(-size / 2, -size / 2, size / 2, size / 2)])
    return Board(
        "board",
        (),
        (layer("bottom", copper),),
        holes=holes,
        outline=Outline(edge, "edge.gbr", "drawn"),
    )


def two_sided(bottom: Board, top: Board) -> Board:
    """The bottom of one board and that of another, as its top."""
    (above,) = top.copper
    return replace(bottom, copper=(*bottom.copper, replace(above, side="top")))


def bars(gap: float, long: float = 6.0) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Two bars with square ends that face each other across a gap."""
    low = shapely.box(-long / 2, -1.0 - gap / 2, long / 2, -gap / 2)
    return low, translate(low, 0, 1.0 + gap)


def scattered(seed: int, size: float = 10.0, count: int = 14) -> Board:
    """Rectangles, discs and bent tracks anywhere."""
    random = np.random.default_rng(seed)
    shapes = []
    for _ in range(count):
        x, y = random.uniform(-size / 2 + 0.5, size / 2 - 0.5, 2)
        form = (
            shapely.box(0, 0, *random.uniform(0.5, 2.5, 2)),
            shapely.Point(0, 0).buffer(random.uniform(0.3, 1.2), 32),
            shapely.LineString(random.uniform(-1.5, 1.5, (3, 2))).buffer(0.25, 16),
        )[random.integers(3)]
        shapes.append(translate(rotate(form, random.uniform(0, 90)), x, y))
    return board(*shapely.get_parts(shapely.union_all(shapes)), size=size)
