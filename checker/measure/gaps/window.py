"""Settle a doubtful gap exactly: mill a small window round it, at one width after another.

Inside the window the cut is computed as it is defined: the cutter's centre may be wherever the
copper leaves room for it, pockets included, and what it sweeps from there is removed. The gap is
joined when one piece of what is left between the copper reaches from one contact to the other.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from checker.board import Floats, Ints, Shapes
    from checker.measure.gaps.walk import Places

RESOLUTION = 0.001
"""The widest cut is bracketed to this (mm)."""

QUARTER = 16
"""Chords per quarter circle: the arc error is r (1 - cos(pi / 64)), 0.0012 r."""

SMALL = 256  # vertices of a piece of copper, so that cutting a window out of it is cheap
TOUCH = 0.002  # mm: two discs that both pass a corner and still part are far farther apart
SPECK = 1e-12  # mm2: rounding of the clipping


class Windows:
    """Window tests on the islands of one layer."""

    def __init__(self, polygons: Shapes) -> None:
        self.polygons = polygons
        self.tree = shapely.STRtree(polygons)
        self.pieces: dict[int, tuple[Shapes, Floats]] = {}

    def settle(self, places: Places, estimate: Floats, reach: float, bite: float) -> Floats:
        """(n,) widest cut of each place, searched from an estimate; inf beyond the reach."""
        return np.array(
            [
                self._search(places.take(np.array([k])), float(estimate[k]), reach, bite)
                for k in range(len(estimate))
            ]
        )

    def _search(self, place: Places, estimate: float, reach: float, bite: float) -> float:
        least = min(float(place.gap[0]) + 2 * bite, reach)

        def joined(width: float) -> bool:
            return self.joined(place, width, bite)

        if estimate >= reach and not joined(reach):
            return np.inf
        low = min(max(least, estimate - RESOLUTION / 2), reach - RESOLUTION / 2)
        high = low + RESOLUTION
        step = RESOLUTION
        if low > least and joined(low):
            high = low
            low = max(least, high - step)
            while low > least and joined(low):
                high, step = low, 3 * step
                low = max(least, high - step)
        else:
            while not joined(high):
                if high >= reach:
                    return np.inf
                low, step = high, 3 * step
                high = min(low + step, reach)
        while high - low > RESOLUTION:
            middle = (low + high) / 2
            low, high = (low, middle) if joined(middle) else (middle, high)
        return (low + high) / 2

    def joined(self, place: Places, width: float, bite: float) -> bool:
        """Whether a cut of that width leaves the two islands joined at the place."""
        radius = width / 2
        a, b = place.a[0], place.b[0]
        middle, gap = (a + b) / 2, float(place.gap[0])
        inner = 1.3 * radius + gap / 2
        outer = inner + 2.05 * radius
        window = shapely.box(*(middle - outer), *(middle + outer))
        copper, island = self._copper(window)
        grown = shapely.buffer(copper, radius - bite, quad_segs=QUARTER)
        room = shapely.difference(window, shapely.union_all(grown))
        # Only a cutter within its radius of the gap takes anything out of it.
        if room.is_empty or not shapely.dwithin(room, shapely.linestrings([a, b]), radius):
            return True
        swept = shapely.buffer(room, radius, quad_segs=QUARTER)
        field = shapely.box(*(middle - inner), *(middle + inner))
        left = shapely.difference(shapely.difference(field, swept), shapely.union_all(copper))
        parts = shapely.get_parts(left)
        parts = parts[shapely.area(parts) > SPECK]
        # Of two discs that pass a corner, one may bulge over a-b: ask for its ends, not for a-b.
        touch = min(TOUCH, gap / 4)
        reached = np.ones(len(parts), dtype=bool)
        for end, number in ((a, place.A[0]), (b, place.B[0])):
            contact = shapely.points(end)
            if bite > 0:
                # A bite eats the ends as well, as far as half the chord of a disc bite deep.
                eaten = touch + math.sqrt(2 * radius * bite)
                own = shapely.difference(shapely.union_all(copper[island == number]), swept)
                contact = shapely.intersection(own, shapely.buffer(contact, eaten))
            reached &= shapely.dwithin(parts, contact, touch)
        return bool(reached.any())

    def _copper(self, window: shapely.Polygon) -> tuple[Shapes, Ints]:
        """The copper within a window and the island each piece belongs to."""
        x0, y0, x1, y1 = window.bounds
        shapes, islands = [], []
        for number in self.tree.query(window):
            pieces, boxes = self._pieces(int(number))
            near = pieces[
                (boxes[:, 0] <= x1)
                & (boxes[:, 2] >= x0)
                & (boxes[:, 1] <= y1)
                & (boxes[:, 3] >= y0)
            ]
            shapes.append(near)
            islands.append(np.full(len(near), number))
        if not shapes:
            return np.zeros(0, dtype=object), np.zeros(0, dtype=int)
        copper = shapely.clip_by_rect(np.concatenate(shapes), x0, y0, x1, y1)
        full = ~shapely.is_empty(copper)
        return copper[full], np.concatenate(islands)[full]

    def _pieces(self, number: int) -> tuple[Shapes, Floats]:
        if number not in self.pieces:
            pieces = subdivide(self.polygons[number])
            self.pieces[number] = pieces, shapely.bounds(pieces)
        return self.pieces[number]


def subdivide(polygon: shapely.Polygon, most: int = SMALL) -> Shapes:
    """Cut a polygon along halving lines until no piece has more than ``most`` vertices."""
    pieces, stack = [], [polygon]
    while stack:
        piece = stack.pop()
        x0, y0, x1, y1 = piece.bounds
        if shapely.get_num_coordinates(piece) <= most or max(x1 - x0, y1 - y0) < 0.2:
            pieces.append(piece)
            continue
        if x1 - x0 > y1 - y0:
            middle = (x0 + x1) / 2
            halves = shapely.box([x0, middle], [y0, y0], [middle, x1], [y1, y1])
        else:
            middle = (y0 + y1) / 2
            halves = shapely.box([x0, x0], [y0, middle], [x1, x1], [middle, y1])
        parts = shapely.get_parts(shapely.intersection(piece, halves))
        stack.extend(part for part in parts if part.geom_type == "Polygon" and part.area > 0)
    return np.array(pieces, dtype=object)
