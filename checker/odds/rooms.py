"""How far each hole may lie off, one way and another, before it breaks out of its copper.

The least ring says it for one direction only: a hole in a square pad may go farther towards a
corner, one at the end of a trace as far as it likes along it. Lengths in mm.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
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

FARTHEST = 0.6
"""Edges farther than this (mm) from a hole's edge do not count: no machine is that far off."""

_STEP = 0.04  # mm; edges are followed in points so far apart, 0.001 mm off on a hole of 0.4 mm


class Rooms:
    """Rings of one side round holes that are soldered; columns of length n.

    Attributes:
        hole: (n,) index into the board's holes.
        at: (n, 2) its middle.
        ring: (n,) the least ring round what is drilled; not above 0 where nothing is left of it
            even with no error.
    """

    def __init__(self, board: Board, layer: CopperLayer, side: int, drilled: Floats) -> None:
        drilling, joints = drilling_of(board), joints_of(board)
        soldered = joints.hole[joints.joined[:, side]]
        self.hole: Ints = np.unique(soldered[drilling.island[soldered, side] >= 0])
        drawn = np.array([board.holes[one].diameter for one in self.hole.tolist()])
        self.at: Floats = drilling.at[self.hole]
        self.ring: Floats = drilling.ring[self.hole, side] - (drilled[self.hole] - drawn) / 2
        slot = [board.holes[one].is_slot for one in self.hole.tolist()]
        self._radius: Floats = drilled[self.hole] / 2
        self._island: Ints = drilling.island[self.hole, side]
        self._layer = layer
        self._room: Floats = np.full((len(self.hole), WAYS + 1), np.nan)
        alike = np.array(slot, bool) | (self.ring <= 0)  # a slot is taken to be as tight any way
        self._room[alike] = self.ring[alike, None]

    def room(self, rows: Ints) -> Floats:
        """(k, WAYS + 1) how far holes may go in each direction, the first one again last."""
        new = rows[np.isnan(self._room[rows, 0])]
        if len(new):
            self._room[new] = self._every_way(new)
        return self._room[rows]

    @cached_property
    def _edges(self) -> Segments:
        islands = self._layer.islands.copy()
        islands[np.setdiff1d(np.arange(len(islands)), self._island)] = shapely.Polygon()
        return Segments.of(islands)

    def _every_way(self, rows: Ints) -> Floats:
        edges, radius, ring = self._edges, self._radius[rows], self.ring[rows]
        at = shapely.points(self.at[rows])
        hole, row = edges.tree.query(at, "dwithin", distance=radius + FARTHEST)
        own = edges.island[row] == self._island[rows[hole]]
        hole, row = hole[own], row[own]
        pieces = np.maximum(1, np.ceil(edges.length[row] / _STEP)).astype(np.int64)
        of = np.repeat(np.arange(len(row)), pieces)
        step = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
        hole = hole[of]
        away = edges.at(row[of], step / pieces[of]) - self.at[rows[hole]]
        distance = np.hypot(*away.T) - radius[hole]
        # What is nearer than the ring is the clear inner part of a pad, which the drill takes away.
        edge = (distance >= ring[hole] - _STEP**2) & (distance <= FARTHEST)
        away, hole = away[edge], hole[edge]
        room = np.full((len(rows), WAYS), np.inf)
        for way, angle in enumerate(2 * np.pi * np.arange(WAYS) / WAYS):
            ahead = away @ np.array([np.cos(angle), np.sin(angle)])
            aside = away @ np.array([-np.sin(angle), np.cos(angle)])
            met = np.flatnonzero((ahead > 0) & (np.abs(aside) < radius[hole]))
            until = ahead[met] - np.sqrt(radius[hole[met]] ** 2 - aside[met] ** 2)
            np.minimum.at(room[:, way], hole[met], until)
        room = np.clip(room, ring[:, None], np.maximum(ring, FARTHEST)[:, None])
        return np.column_stack([room, room[:, 0]])


@lru_cache(maxsize=4)
def rooms_of(board: Board, drilled: tuple[float, ...]) -> dict[int, Rooms]:
    """The rings by column of `SIDES`, for holes drilled to these diameters (mm), one for each.

    Only those count that are soldered, where copper leaves their pad: nothing hangs on the others.
    """
    return {
        side: Rooms(board, layer, side, np.array(drilled))
        for side, layer in outer(board)
        if len(board.holes) and len(layer.islands)
    }
