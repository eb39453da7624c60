"""Boards with pads in pours, drawn by hand: every number is known."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from msgspec.structs import replace

from checker.board import Board, Kind
from checker.measure import Facts, Reach
from tests.layouts import board_of, objects_of


def board_with(pieces: list[tuple[Kind, Any, float]]) -> Board:
    """Copper from drawn pieces: kind, shape, pen (0 for a flash or a region)."""
    shapes = [shape for _, shape, _ in pieces]
    islands = list(shapely.get_parts(shapely.union_all(shapes)))
    board = board_of(islands)
    (layer,) = board.copper
    spots = shapely.point_on_surface(np.array(shapes, dtype=object))
    holding = [int(shapely.STRtree(islands).nearest(spot)) for spot in spots]
    objects = replace(
        objects_of(shapes, pens=[pen for _, _, pen in pieces]),
        kind=np.array([kind for kind, _, _ in pieces], dtype=np.int8),
    )
    return replace(board, copper=(replace(layer, objects=objects, island_of=np.array(holding)),))


def relieved(slot: float, spoke: float, pad: float = 1.6, size: float = 20.0) -> Board:
    """A round pad in a square pour, joined to it by four spokes."""
    disc = shapely.Point(0, 0).buffer(pad / 2, 64)
    plane = shapely.box(-size / 2, -size / 2, size / 2, size / 2)
    plane -= shapely.Point(0, 0).buffer(pad / 2 + slot, 64)
    long = pad / 2 + slot + 0.2
    spokes = [shapely.box(-long, -spoke / 2, long, spoke / 2)] if spoke else []
    spokes += [shapely.box(-spoke / 2, -long, spoke / 2, long)] if spoke else []
    return board_with(
        [(Kind.PAD, disc, 0.0), (Kind.POUR, shapely.union_all([plane, *spokes]), 0.0)]
    )


def facts_of(board: Board) -> Facts:
    """Facts without a census: what rules on pours ask for is measured when asked."""
    return Facts(board, Reach(), (), ())
