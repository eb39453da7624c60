"""What copper stands round bare holes: those that have nothing to do with any net."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.standing import Standing
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.owners import Paths, drilled_away
from checker.measure.holes.pads import outer

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints

ROOM = 10.0
"""How far from the edge of a bare hole copper is looked for, mm; no profile asks for more."""


class Surroundings(Struct, frozen=True, eq=False):
    """Copper round bare holes, a hole, a layer and a net a row; errors are those of `Drilling`.

    Attributes:
        hole: (k,) index into the board's holes; ``layer`` (k,) into its copper.
        island, object: (k,) what of the net is nearest, indices into that layer's.
        away: (k,) from the hole's edge to that copper, mm; negative where the hole cuts it, -D/2
            where the path meets it.
        at: (k, 2) where it is nearest.
    """

    hole: Ints
    layer: Ints
    island: Ints
    object: Ints
    away: Floats
    at: Floats

    def __len__(self) -> int:
        return len(self.hole)


@lru_cache(maxsize=1)
def surroundings_of(board: Board) -> Surroundings:
    """What copper is within `ROOM` of every bare hole, but islands that are drilled away."""
    holes = Paths.of(board)
    bare = np.flatnonzero(drilling_of(board).net < 0)
    whole, real = [np.zeros((4, 0), np.int64)], [np.zeros((3, 0))]
    for _, layer in outer(board):
        tree, reach = shapely.STRtree(layer.islands), holes.radius[bare] + ROOM
        place, island = tree.query(holes.path[bare], "dwithin", distance=reach)
        kept = ~drilled_away(layer, holes)[island]
        hole, island = bare[place[kept]], island[kept]
        line = shapely.shortest_line(layer.islands[island], holes.path[hole])
        away, net = shapely.length(line), layer.net[island]
        order = np.lexsort((island, away, net, hole))
        _, first = np.unique(np.stack([hole[order], net[order]]), axis=1, return_index=True)
        nearest = order[first]
        hole, island, away = hole[nearest], island[nearest], away[nearest]
        at = shapely.get_coordinates(line[nearest])[::2]
        row = Standing(layer, board.tolerance).at(at, island)
        index = np.full(len(hole), board.copper.index(layer))
        whole.append(np.stack([hole, index, island, row]))
        real.append(np.stack([away - holes.radius[hole], *at.T]))
    hole, index, island, row = np.concatenate(whole, axis=1)
    away, x, y = np.concatenate(real, axis=1)
    return Surroundings(hole, index, island, row, away, np.column_stack([x, y]))
