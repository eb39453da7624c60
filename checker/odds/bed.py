"""The residual of the bed: how the surface lies off where the machine believes it, as drawn fields.

A field of zero mean and unit variance, Gaussian, whose correlation over a distance r is
exp(-(r / wave)²): it falls to 1/e over the correlation length. That is a product of one factor in x
and one in y, so a field is drawn at the nodes of a grid a third of the correlation length apart
and carried to every other place by conditional expectation along either axis, which loses less
than 1e-4 of the variance. Lengths in mm.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.holes.pads import SIDES, outer
from checker.odds.chance import stream

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints, Shapes

    Fields = NDArray[np.float32]

MOST_WAVES = 24
"""A board is taken to be no longer than so many correlation lengths: bounds the work."""

_NODES = 3  # nodes per correlation length
_CELLS = 24  # cells per correlation length, in which the copper's edges are looked at
_MOST_CELLS = 96  # along a side of the board
_FLOOR = 1e-9  # eigenvalues below this part of the largest are rounding
_AT_ONCE = 4_000_000  # values of fields held at a time


class Axis(Struct, frozen=True, eq=False):
    """One direction: nodes, and what carries independent numbers at them to any place.

    Attributes:
        nodes: (k,) places.
        weights: (k, m) from the correlation with each node to the m numbers.
        wave: correlation length.
    """

    nodes: Floats
    weights: Floats
    wave: float

    @classmethod
    def over(cls, low: float, high: float, wave: float) -> Axis:
        """Nodes from one step below ``low`` to one above ``high``."""
        step = wave / _NODES
        count = int(np.ceil((high - low) / step)) + 3
        nodes = (low + high) / 2 + step * np.linspace(-(count - 1) / 2, (count - 1) / 2, count)
        values, vectors = np.linalg.eigh(_correlation(nodes, nodes, wave))
        kept = values > _FLOOR * values[-1]
        return cls(nodes, vectors[:, kept] / np.sqrt(values[kept]), wave)

    def modes(self, at: Floats) -> Floats:
        """(n, m) how much each number counts at (n,) places."""
        return _correlation(at, self.nodes, self.wave) @ self.weights


def _correlation(one: Floats, other: Floats, wave: float) -> Floats:
    away: Floats = np.exp(-(((one[:, None] - other) / wave) ** 2))
    return away


class Bed(Struct, frozen=True, eq=False):
    """Drawn fields of both sides; columns of two are top and bottom.

    Attributes:
        x, y: the axes.
        numbers: per side, (draws, mx, my) independent standard normal numbers.
        lowest: (draws, 2) the field where it is lowest along the path; inf for a side
            without copper.
        cell: (draws, 2) which cell that is in, into ``cells`` of the side.
        cells: per side, (n, 2) middles of the cells that hold edges of copper.
    """

    x: Axis
    y: Axis
    numbers: tuple[Fields, Fields]
    lowest: Floats
    cell: Ints
    cells: tuple[Floats, Floats]

    def at(self, side: int, places: Floats) -> Floats:
        """(draws, n) the field of a side at (n, 2) places."""
        x, y = self.x.modes(places[:, 0]), self.y.modes(places[:, 1])
        both = (x[:, :, None] * y[:, None, :]).reshape(len(places), -1).astype(np.float32)
        numbers = self.numbers[side]
        field: Floats = (numbers.reshape(len(numbers), -1) @ both.T).astype(np.float64)
        return field


@lru_cache(maxsize=4)
def bed_of(board: Board, wave: float, draws: int, seed: int, off: float = 0.0) -> Bed:
    """Draw the fields under a board; of a profile they know nothing but the two lengths.

    Args:
        board: whose outer sides lie on the bed.
        wave: correlation length, mm.
        draws: how many fields.
        seed: of their numbers.
        off: how far off the copper's edges the path runs, mm.
    """
    sides = outer(board)
    islands = np.concatenate([layer.islands for _, layer in sides])
    x0, y0, x1, y1 = shapely.total_bounds(islands).tolist()
    wave = max(wave, (x1 - x0) / MOST_WAVES, (y1 - y0) / MOST_WAVES)
    x, y = Axis.over(x0, x1, wave), Axis.over(y0, y1, wave)
    random, shape = stream("bed", seed), (draws, x.weights.shape[1], y.weights.shape[1])
    top, bottom = (random.standard_normal(shape, dtype=np.float32) for _ in SIDES)
    lowest, cell = np.full((draws, 2), np.inf), np.zeros((draws, 2), np.int64)
    grid_x = _middles(x0 - off, x1 + off, wave)
    grid_y = _middles(y0 - off, y1 + off, wave)
    cells = [np.zeros((0, 2)), np.zeros((0, 2))]
    for side, layer in sides:
        if not len(layer.islands):
            continue
        edges = _beside(layer.islands, off, wave / _CELLS / 2)
        column, row = _cell(edges[:, 0], grid_x), _cell(edges[:, 1], grid_y)
        used = np.unique(column * len(grid_y) + row)
        cells[side] = np.column_stack([grid_x[used // len(grid_y)], grid_y[used % len(grid_y)]])
        along_x = x.modes(grid_x).astype(np.float32)
        along_y = y.modes(grid_y).astype(np.float32)
        some = max(1, _AT_ONCE // (len(grid_x) * len(grid_y)))
        for first in range(0, draws, some):
            rows = slice(first, first + some)
            field = along_x @ ((top, bottom)[side][rows] @ along_y.T)
            field = field.reshape(len(field), -1)[:, used]
            cell[rows, side] = field.argmin(axis=1)
            lowest[rows, side] = field.min(axis=1)
    return Bed(x, y, (top, bottom), lowest, cell, (cells[0], cells[1]))


def _beside(islands: Shapes, off: float, step: float) -> Floats:
    """(n, 2) points that far outside the edges, no farther apart than ``step`` along them."""
    rings = shapely.get_rings(shapely.orient_polygons(shapely.segmentize(islands, step)))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    way = np.diff(points, axis=0)[ring[1:] == ring[:-1]]
    start, end = points[:-1][ring[1:] == ring[:-1]], points[1:][ring[1:] == ring[:-1]]
    length = np.maximum(np.hypot(*way.T), np.finfo(float).tiny)
    out = off * np.column_stack([way[:, 1], -way[:, 0]]) / length[:, None]  # copper lies left
    beside: Floats = np.concatenate([start + out, end + out])
    return beside


def _middles(low: float, high: float, wave: float) -> Floats:
    """Middles of the cells from ``low`` to ``high``, both of which are middles: a slope counts."""
    count = int(np.clip(np.ceil((high - low) / (wave / _CELLS)), 1, _MOST_CELLS))
    middles: Floats = np.linspace(low, high, count + 1)
    return middles


def _cell(at: Floats, middles: Floats) -> Ints:
    """(n,) the cell that each place is in."""
    between = (middles[1:] + middles[:-1]) / 2
    cells: Ints = np.searchsorted(between, at)
    return cells
