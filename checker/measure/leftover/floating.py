"""Islands cut off from a pour: no pad lies on them and no hole goes through."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.holes.pads import outer
from checker.measure.holes.paths import drilled_of
from checker.measure.leftover.pieces import middles_of

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints, Shapes

_NEAR = 0.01  # mm; a hole whose rim is this near to an island goes through it
_QUARTER = 16  # chords of a quarter of a hole
_LETTER = 4.0  # mm2; letters and marks drawn as regions are smaller


class Floating(Struct, frozen=True, eq=False):
    """Floating islands of the outer sides, one a row.

    Attributes:
        layer: (n,) index into the board's layers; ``island`` (n,) into the layer's islands.
        at: (n, 2) a point in it.
        area: (n,) mm2.
    """

    layer: Ints
    island: Ints
    at: Floats
    area: Floats

    def __len__(self) -> int:
        return len(self.area)


@lru_cache(maxsize=1)
def floating_of(board: Board) -> Floating:
    """The floating islands of a board, each beside a larger pour of its side that joins something.

    Letters and marks in copper are none, nor is a pour that was never meant to join.
    """
    layers, islands, at = [], [], []
    for _, layer in outer(board):
        found = _floating(board, layer)
        layers.append(np.full(len(found), board.copper.index(layer)))
        islands.append(found)
        at.append(middles_of(layer.islands[found]))
    rows = list(zip(layers, islands, strict=True))
    area = [shapely.area(board.copper[int(la[0])].islands[i]) for la, i in rows if len(i)]
    return Floating(
        np.concatenate([np.empty(0, np.int64), *layers]),
        np.concatenate([np.empty(0, np.int64), *islands]),
        np.concatenate([np.empty((0, 2)), *at]),
        np.concatenate([np.empty(0), *area]),
    )


def _floating(board: Board, layer: CopperLayer) -> Ints:
    objects, count = layer.objects, len(layer.islands)
    on = np.where(objects.dark, layer.island_of, -1)

    def holds(kind: Kind) -> Ints:
        rows = on[(objects.kind == kind) & (on >= 0)]
        return np.bincount(rows, minlength=count)

    # What a pour drew may lie in several islands; an island that no object names is a part of one.
    area, pads = shapely.area(layer.islands), holds(Kind.PAD)
    largest = area[(pads > 0) & (holds(Kind.POUR) > 0)].max(initial=0.0)
    lone = pads + holds(Kind.TRACE) == 0
    rows: Ints = np.flatnonzero(lone & (area >= _LETTER) & (area < largest))
    if not len(rows):
        return rows
    pins = [shapely.Point(pin.x, pin.y) for pin in board.pins if pin.side in (None, layer.side)]
    tree = shapely.STRtree(layer.islands[rows])
    joined = [
        tree.query(shapes, "intersects")[1] for shapes in (np.array(pins, object), _reaches(board))
    ]
    found: Ints = np.delete(rows, np.unique(np.concatenate(joined)))
    return found


@lru_cache(maxsize=1)
def _reaches(board: Board) -> Shapes:
    """What each hole goes through, and a little more."""
    reached: Shapes = shapely.buffer(drilled_of(board.holes, lambda _: _QUARTER), _NEAR)
    return reached
