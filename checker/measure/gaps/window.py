"""Settle a doubtful gap exactly: mill a small window round it, at one width after another.

Inside the window the cut is computed as it is defined: the cutter's centre may be wherever the
copper leaves room for it, pockets included, and what it sweeps from there is removed. The gap is
joined when one piece of what is left between the copper reaches from one contact to the other.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.clipping import clipped

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes
    from checker.measure.gaps.walk import Places

RESOLUTION = 0.001
"""The widest cut is bracketed to this (mm)."""

_ROUNDING = 1e-9  # mm

QUARTER = 16
"""Chords per quarter circle: the arc error is r (1 - cos(pi / 64)), 0.0012 r."""

SMALL = 256  # vertices of a piece of copper, so that cutting a window out of it is cheap
TOUCH = 0.002  # mm: two discs that both pass a corner and still part are far farther apart
SPECK = 1e-12  # mm2: rounding of the clipping

_NO_PIECES = np.zeros(0, object)
_NO_BOXES = np.zeros((0, 4))
_NO_ISLANDS = np.zeros(0, np.int64)


class Windows:
    """Window tests on the islands of one layer."""

    def __init__(self, polygons: Shapes) -> None:
        self.polygons = polygons
        self.tree = shapely.STRtree(polygons)
        self.pieces: dict[int, tuple[Shapes, Floats]] = {}

    def settle(self, places: Places, estimate: Floats, reach: Floats, bite: float) -> Floats:
        """(n,) widest cut of each place, searched from an estimate; inf beyond its reach."""
        return np.array(
            [
                self._search(places.take(np.array([k])), float(estimate[k]), float(reach[k]), bite)
                for k in range(len(estimate))
            ]
        )

    def _search(self, place: Places, estimate: float, reach: float, bite: float) -> float:
        least = min(float(place.gap[0]) + 2 * bite, reach)
        near = self._near(_window(place, reach + RESOLUTION))  # no cut is asked that is wider

        def joined(width: float) -> bool:
            return _joined(place, width, bite, near)

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
        while high - low > RESOLUTION + _ROUNDING:
            middle = (low + high) / 2
            low, high = (low, middle) if joined(middle) else (middle, high)
        return (low + high) / 2

    def joined(self, place: Places, width: float, bite: float) -> bool:
        """Whether a cut of that width leaves the two islands joined at the place."""
        return _joined(place, width, bite, self._near(_window(place, width)))

    def _near(self, window: shapely.Polygon) -> Near:
        """The pieces of copper within a window."""
        pieces, boxes, islands = [_NO_PIECES], [_NO_BOXES], [_NO_ISLANDS]
        for number in self.tree.query(window):
            found, bounds = self._pieces(int(number))
            pieces.append(found)
            boxes.append(bounds)
            islands.append(np.full(len(found), number))
        near = Near(np.concatenate(pieces), np.concatenate(boxes), np.concatenate(islands))
        return near.take(near.within(*window.bounds))

    def _pieces(self, number: int) -> tuple[Shapes, Floats]:
        if number not in self.pieces:
            pieces = subdivide(self.polygons[number])
            self.pieces[number] = pieces, shapely.bounds(pieces)
        return self.pieces[number]


class Near(Struct, frozen=True, eq=False):
    """Pieces of copper (n,) with their boxes (n, 4) and the island (n,) each belongs to."""

    pieces: Shapes
    boxes: Floats
    island: Ints

    def within(self, x0: float, y0: float, x1: float, y1: float) -> NDArray[np.bool_]:
        """(n,) whose boxes meet a box."""
        low_x, low_y, high_x, high_y = self.boxes.T
        met: NDArray[np.bool_] = (low_x <= x1) & (high_x >= x0) & (low_y <= y1) & (high_y >= y0)
        return met

    def take(self, rows: NDArray[np.bool_]) -> Near:
        """The given rows."""
        return Near(self.pieces[rows], self.boxes[rows], self.island[rows])

    def clipped(self, x0: float, y0: float, x1: float, y1: float) -> tuple[Shapes, Ints]:
        """The copper within a box and the island each piece belongs to."""
        rows = self.within(x0, y0, x1, y1)
        copper = clipped(self.pieces[rows], (x0, y0, x1, y1))
        full = ~shapely.is_empty(copper)
        return copper[full], self.island[rows][full]


def _sizes(place: Places, width: float) -> tuple[float, float]:
    """Half the side of the field that is looked at, and of the window that is milled for it."""
    inner = 1.3 * width / 2 + float(place.gap[0]) / 2
    return inner, inner + 2.05 * width / 2


def _window(place: Places, width: float) -> shapely.Polygon:
    middle, outer = (place.a[0] + place.b[0]) / 2, _sizes(place, width)[1]
    return shapely.box(*(middle - outer), *(middle + outer))


def _joined(place: Places, width: float, bite: float, near: Near) -> bool:
    """Whether a cut of that width leaves the islands joined, with the copper near the place."""
    radius, (inner, outer) = width / 2, _sizes(place, width)
    a, b = place.a[0], place.b[0]
    middle, gap = (a + b) / 2, float(place.gap[0])
    copper, island = near.clipped(*(middle - outer), *(middle + outer))
    grown = shapely.buffer(copper, radius - bite, quad_segs=QUARTER)
    stand = (inner + outer) / 2  # what cuts into the field stands no farther
    room = shapely.box(*(middle - stand), *(middle + stand))
    room = shapely.difference(room, shapely.union_all(grown))
    # Only a cutter within its radius of the gap takes anything out of it.
    if room.is_empty or not shapely.dwithin(room, shapely.linestrings([a, b]), radius):
        return True
    swept = shapely.buffer(room, radius, quad_segs=QUARTER)
    field = shapely.box(*(middle - inner), *(middle + inner))
    # Of two discs that pass a corner, one may bulge over a-b: ask for its ends, not for a-b.
    touch, contacts = min(TOUCH, gap / 4), []
    for end, number in ((a, place.A[0]), (b, place.B[0])):
        contact = shapely.points(end)
        if bite > 0:
            # A bite eats the ends as well, as far as half the chord of a disc bite deep.
            eaten = touch + math.sqrt(2 * radius * bite)
            own = shapely.difference(shapely.union_all(copper[island == number]), swept)
            contact = shapely.intersection(own, shapely.buffer(contact, eaten))
        contacts.append(contact)

    def joining(parts: Shapes) -> Shapes:
        met = [shapely.dwithin(parts, contact, touch) for contact in contacts]
        both: Shapes = parts[met[0] & met[1] & (shapely.area(parts) > SPECK)]
        return both

    # What is left with the copper in it tells most places apart; only then is it worth taking out.
    left = joining(shapely.get_parts(shapely.difference(field, swept)))
    if not len(left):
        return False
    inside, _ = near.clipped(*field.bounds)
    left = shapely.difference(left, shapely.union_all(inside))
    return bool(len(joining(shapely.get_parts(left))))


def subdivide(polygon: shapely.Polygon, most: int = SMALL) -> Shapes:
    """Cut a polygon along halving lines until no piece has more than ``most`` vertices."""
    pieces = _parted(polygon, most, clipped)
    if not shapely.is_valid(pieces).all():  # clipping is quick, but may err where copper touches
        pieces = _parted(polygon, most, lambda piece, half: piece.intersection(shapely.box(*half)))
    return pieces


def _parted(polygon: shapely.Polygon, most: int, within: Callable[..., Any]) -> Shapes:
    pieces, stack = [], [polygon]
    while stack:
        piece = stack.pop()
        x0, y0, x1, y1 = piece.bounds
        if shapely.get_num_coordinates(piece) <= most or max(x1 - x0, y1 - y0) < 0.2:
            pieces.append(piece)
            continue
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        halves = [(x0, y0, x, y1), (x, y0, x1, y1)]
        if y1 - y0 >= x1 - x0:
            halves = [(x0, y0, x1, y), (x0, y, x1, y1)]
        for half in halves:
            parts = shapely.get_parts(within(piece, half))
            stack.extend(part for part in parts if part.geom_type == "Polygon" and part.area > 0)
    return np.array(pieces, dtype=object)
