"""Where the legend lies over copper of its own side."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.leftover.pieces import middles_of

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, DrawnObjects, Floats, Ints, Shapes

ERROR = 0.01
"""Bound in mm on the error of a length: chords of round strokes."""

_SAME = 1e-3  # mm: crossings whose lengths differ by less are equally long


class Crossings(Struct, frozen=True, eq=False):
    """Nets whose copper the legend of their side lies over, one a row.

    Attributes:
        layer: (n,) index into the board's layers; ``island`` (n,) into the layer's islands.
        at: (n, 2) middle of the longest crossing.
        length: (n,) of the strokes over copper of the net altogether, mm.
    """

    layer: Ints
    island: Ints
    at: Floats
    length: Floats

    def __len__(self) -> int:
        return len(self.layer)


def crossings_of(board: Board, reach: float) -> Crossings:
    """The nets under the legend; a stroke that passes within ``reach`` mm lies over them too."""
    return _crossings(board, round(reach, 6))


@lru_cache(maxsize=2)
def _crossings(board: Board, reach: float) -> Crossings:
    found: list[tuple[int, int, float, float, float]] = []
    for index, layer in enumerate(board.copper):
        lines = [
            _lines(graphic.objects)
            for graphic in board.graphics
            if graphic.role == "legend" and graphic.side == layer.side
        ]
        if lines and len(layer.islands):
            found += [(index, *row) for row in _over(layer, np.concatenate(lines), reach)]
    columns = np.array(found, float).reshape(-1, 5).T
    layer_of, island = columns[:2].astype(np.int64)
    return Crossings(layer_of, island, columns[2:4].T, columns[4])


def _lines(objects: DrawnObjects) -> Shapes:
    """The way of the tool: along the middle of a stroke, round a shape that is filled."""
    middle = (shapely.get_type_id(objects.spine) == shapely.GeometryType.LINESTRING) & (
        objects.pen > 0
    )
    lines: Shapes = np.where(middle, objects.spine, shapely.boundary(objects.shape))
    return lines[objects.dark]


def _over(layer: CopperLayer, lines: Shapes, reach: float) -> list[tuple[int, float, float, float]]:
    line, island = shapely.STRtree(layer.islands).query(lines, "dwithin", distance=reach)
    # Grown copper is crossed by a line where the cut along the line meets the copper.
    grown = {i: shapely.buffer(layer.islands[i], reach) for i in np.unique(island).tolist()}
    over = [
        shapely.intersection(lines[one], grown[i])
        for one, i in zip(line.tolist(), island.tolist(), strict=True)
    ]
    parts, of = shapely.get_parts(over, return_index=True)
    length, net = shapely.length(parts), layer.net[island[of]]
    rows = []
    for number in np.unique(net).tolist():
        mine = np.flatnonzero(net == number)
        at = middles_of(parts[mine])
        longest = np.lexsort((at[:, 1], at[:, 0], -np.round(length[mine] / _SAME)))[0]
        x, y = at[longest].tolist()
        rows.append((int(island[of[mine[longest]]]), x, y, float(length[mine].sum())))
    return rows
