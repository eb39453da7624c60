"""How far each hole may lie off, one way and another, before it breaks out of its copper.

The least ring says it for one direction only: a hole in a square pad may go farther towards a
corner, one at the end of a trace as far as it likes along it. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.boundary.segments import Segments
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import outer

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints

WAYS = 48
"""Directions looked at; between them the room is taken as linear, 0.3 % off at a straight edge."""

FARTHEST = 1.0
"""Edges farther than this (mm) from a hole's edge do not count: no machine is that far off."""

_STEP = 0.04  # mm; edges are followed in points so far apart, 0.001 mm off on a hole of 0.4 mm


@dataclass(frozen=True, slots=True, eq=False)
class Rooms:
    """Rings of one side round holes that are soldered; columns of length n.

    Attributes:
        hole: (n,) index into the board's holes.
        ring: (n,) the least ring round what is drilled; not above 0 where nothing is left of it
            even with no error.
        room: (n, WAYS + 1) how far the hole may go in each direction, the first one again last.
    """

    hole: Ints
    ring: Floats
    room: Floats


@lru_cache(maxsize=4)
def rooms_of(board: Board, drilled: tuple[float, ...]) -> tuple[Rooms, Rooms]:
    """The rings of top and bottom, for holes drilled to these diameters (mm), one for each hole.

    Only those count that are soldered, where copper leaves their pad: nothing hangs on the others.
    """
    none = Rooms(np.zeros(0, np.int64), np.zeros(0), np.zeros((0, WAYS + 1)))
    rooms = [none, none]
    for side, layer in outer(board):
        if len(board.holes) and len(layer.islands):
            rooms[side] = _rooms(board, layer, side, np.array(drilled))
    return rooms[0], rooms[1]


def _rooms(board: Board, layer: CopperLayer, side: int, drilled: Floats) -> Rooms:
    drilling, joints = drilling_of(board), joints_of(board)
    drawn = np.array([hole.diameter for hole in board.holes])
    soldered = np.zeros(len(board.holes), bool)
    soldered[joints.hole[joints.joined[:, side]]] = True
    ring = drilling.ring[:, side] - (drilled - drawn) / 2
    hole = np.flatnonzero(soldered & (drilling.island[:, side] >= 0))
    ring = ring[hole]
    room = np.repeat(ring[:, None], WAYS + 1, axis=1)
    slot = np.array([board.holes[one].is_slot for one in hole.tolist()], bool)
    row = np.flatnonzero(~slot & (ring > 0))  # a slot is taken to be as tight any way
    if len(row):
        room[row] = _every_way(
            layer,
            drilling.at[hole[row]],
            drilling.island[hole[row], side],
            drilled[hole[row]] / 2,
            ring[row],
        )
    return Rooms(hole, ring, room)


def _every_way(
    layer: CopperLayer, at: Floats, island: Ints, radius: Floats, ring: Floats
) -> Floats:
    """(n, WAYS + 1) how far round holes at (n, 2) go until they meet the edge of their island."""
    edges = Segments.of(layer.islands)
    hole, row = edges.tree.query(shapely.points(at), "dwithin", distance=radius + FARTHEST)
    own = edges.island[row] == island[hole]
    hole, row = hole[own], row[own]
    pieces = np.maximum(1, np.ceil(edges.length[row] / _STEP)).astype(np.int64)
    of = np.repeat(np.arange(len(row)), pieces)
    step = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    away = edges.at(row[of], step / pieces[of]) - at[hole[of]]
    hole = hole[of]
    distance = np.hypot(*away.T)
    # What is nearer than the ring is the clear inner part of a pad, which the drill takes away.
    edge = (distance >= (radius + ring)[hole] - _STEP**2) & (distance <= radius[hole] + FARTHEST)
    away, hole = away[edge], hole[edge]
    room = np.full((len(at), WAYS), np.inf)
    for way, angle in enumerate(2 * np.pi * np.arange(WAYS) / WAYS):
        ahead = away @ np.array([np.cos(angle), np.sin(angle)])
        aside = away @ np.array([-np.sin(angle), np.cos(angle)])
        met = np.flatnonzero((ahead > 0) & (np.abs(aside) < radius[hole]))
        until = ahead[met] - np.sqrt(radius[hole[met]] ** 2 - aside[met] ** 2)
        np.minimum.at(room[:, way], hole[met], until)
    room = np.clip(room, ring[:, None], FARTHEST)
    return np.column_stack([room, room[:, 0]])
