"""What checking a board is measured by: its copper read and closed once, with a geometry library.

A script for one bit would do at least this: start an interpreter, read the files, unite the copper,
and close it by the width of the cut (islands that the closing joins stay joined on the board). The
reader is this project's, whose `flatten` is the one union; the closing is made in its fastest known
form: islands parted into pieces of at most 256 vertices, which are grown and shrunk tile by tile
with a halo. There are no places, no causes and no other rule.

Run with: python -m tests.benchmarks.limit BOARD [WIDTH]
"""

from __future__ import annotations

import sys
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.read import read_board

if TYPE_CHECKING:
    from checker.board import Shapes

VERTICES = 256  # of a piece
TILE = 16.0  # mm
QUARTER = 8  # chords per quarter circle


def main(board: str, width: float = 0.27) -> int:
    """How many pieces of copper, tile by tile, a cut of that width leaves on both outer sides."""
    sides = (layer for layer in read_board([board]).copper if layer.side in ("top", "bottom"))
    return sum(_closed(layer.islands, width) for layer in sides if len(layer.islands))


def _closed(islands: Shapes, width: float) -> int:
    pieces = np.concatenate([_subdivided(island) for island in islands])
    tree, halo = shapely.STRtree(pieces), 1.025 * width
    x0, y0, x1, y1 = shapely.total_bounds(pieces)
    columns = pairwise(np.linspace(x0, x1, max(1, round((x1 - x0) / TILE)) + 1))
    rows = list(pairwise(np.linspace(y0, y1, max(1, round((y1 - y0) / TILE)) + 1)))
    left = 0
    for west, east in columns:
        for south, north in rows:
            near = tree.query(shapely.box(west - halo, south - halo, east + halo, north + halo))
            grown = shapely.buffer(pieces[near], width / 2, quad_segs=QUARTER)
            joined = shapely.get_parts(shapely.disjoint_subset_union_all(grown))
            closed = shapely.buffer(joined, -width / 2, quad_segs=QUARTER)
            inside = shapely.intersection(closed, shapely.box(west, south, east, north))
            left += len(shapely.get_parts(inside))
    return left


def _subdivided(polygon: shapely.Polygon) -> Shapes:
    pieces, stack = [], [polygon]
    while stack:
        piece = stack.pop()
        x0, y0, x1, y1 = piece.bounds
        if shapely.get_num_coordinates(piece) <= VERTICES or max(x1 - x0, y1 - y0) < 0.2:
            pieces.append(piece)
            continue
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        halves = ((x0, y0, x, y1), (x, y0, x1, y1))
        if y1 - y0 > x1 - x0:
            halves = ((x0, y0, x1, y), (x0, y, x1, y1))
        for half in halves:
            parts = shapely.get_parts(shapely.clip_by_rect(piece, *half))
            stack.extend(part for part in parts if part.geom_type == "Polygon")
    return np.array(pieces, dtype=object)


if __name__ == "__main__":
    print(main(sys.argv[1], *map(float, sys.argv[2:])))
