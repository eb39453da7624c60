"""How near nets come to each other, far beyond the gaps that a cutter cares for.

Two things part two nets after milling: the straight way between them, and the way by leftover
copper, undrawn copper that stays because nobody clears it. Current that creeps needs no laminate
where leftover copper lies, so that only the copper-free bands round the two nets count there,
however far apart the nets are.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import PLATEAU, closest
from checker.measure.boundary.segments import boundary_of
from checker.measure.boundary.standing import Standing
from checker.measure.leftover.pieces import leftover
from checker.measure.plane import either

if TYPE_CHECKING:
    from checker.board import Board, Floats, Ints
    from checker.measure.boundary.minima import Normals
    from checker.measure.boundary.segments import Segments

ERROR = 0.001
"""Bound in mm on the error of a distance: both nets' arcs are drawn within half of it."""

_BORDERS = 0.01  # in parts of a band's width: leftover copper so much farther off borders it too


class Nearest(Struct, frozen=True, eq=False):
    """The nearest places of two nets of one layer; columns of length n.

    Attributes:
        layer: index into the board's copper.
        nets: (n, 2) net numbers.
        islands: (n, 2) the islands that face each other there.
        a, b: (n, 2) points on them; the middle of a straight stretch stands for it.
        distance: (n,) between these, mm.
        objects: (n, 2) index into the layer's objects of what stands there, -1 unknown.
    """

    layer: int
    nets: Ints
    islands: Ints
    a: Floats
    b: Floats
    distance: Floats
    objects: Ints

    def __len__(self) -> int:
        return len(self.distance)


@lru_cache(maxsize=4)
def nearest_of(board: Board, nets: frozenset[int], reach: float) -> tuple[Nearest, ...]:
    """Every pair of a net of ``nets`` and any other net nearer than ``reach`` mm, outer sides only.

    Each pair of nets stands once a side. Two of ``nets`` are a pair like any other.
    """
    return tuple(
        _nearest(board, index, [(net, None) for net in sorted(nets)], reach)
        for index, layer in enumerate(board.copper)
        if layer.side in ("top", "bottom")
    )


def nearest_between(
    board: Board, index: int, one: frozenset[int], other: frozenset[int]
) -> Nearest:
    """The nearest pairs of a net of ``one`` and the nets of ``other``, however far apart."""
    return _nearest(board, index, [(net, other - {net}) for net in sorted(one)], np.inf)


def borders_of(
    board: Board, index: int, clears: float, wider: tuple[tuple[str, float], ...]
) -> Ints:
    """Which nets of a layer border one piece of leftover copper; ``clears`` as for `leftover`.

    Returns:
        (n, 2) a net and a piece of leftover copper that begins where the net's band ends.
    """
    layer, more, whole = board.copper[index], dict(wider), leftover(board, clears, wider)
    width = np.array([max(clears, more.get(name or "", 0.0)) for name in layer.net_name])
    island, piece = shapely.STRtree(whole.shape[whole.layer == index]).query(
        layer.islands, "dwithin", distance=width * (1 + _BORDERS)
    )
    borders: Ints = np.unique(np.column_stack([layer.net[island], piece]), axis=0)
    return borders


def _nearest(
    board: Board, index: int, wanted: list[tuple[int, frozenset[int] | None]], reach: float
) -> Nearest:
    """For each wanted net its nearest places to all others, or to those named with it."""
    layer = board.copper[index]
    segments = boundary_of(layer)
    net = layer.net[segments.island]
    parts, done = [_no_places()], np.zeros(0, np.int64)
    for one, others in wanted:
        own = net == one
        done = np.append(done, one)
        free = ~np.isin(net, done) if others is None else np.isin(net, list(others))
        parts.append(_places(segments, net, np.flatnonzero(own), np.flatnonzero(free), reach))
    i, j, a, b, distance = (np.concatenate(column) for column in zip(*parts, strict=True))
    islands = np.stack([segments.island[i], segments.island[j]], 1)
    standing = Standing(layer, board.tolerance)
    objects = [standing.at(point, islands[:, k]) for k, point in enumerate((a, b))]
    return Nearest(
        index, np.stack([net[i], net[j]], 1), islands, a, b, distance, np.stack(objects, 1)
    )


_Places = tuple["Ints", "Ints", "Floats", "Floats", "Floats"]


def _no_places() -> _Places:
    none = np.empty(0, np.int64)
    return none, none, np.empty((0, 2)), np.empty((0, 2)), np.empty(0)


def _places(segments: Segments, net: Ints, own: Ints, others: Ints, reach: float) -> _Places:
    """Segments, points and distance where one net comes nearest to each other net."""
    near = _near(segments, own, others, reach)
    if near is None:
        return _no_places()
    group, number = np.unique(net[near.j], return_inverse=True)
    least = np.full(len(group), np.inf)
    np.minimum.at(least, number, near.distance)
    # Of places that are equally near the middle of the longest straight, then the lowest.
    farther = near.distance > least[number] + PLATEAU
    x, y = near.middle.T
    order = np.lexsort((x, y, -np.round(near.overlap, 3), farther, number))
    first = order[np.r_[True, np.diff(number[order]) > 0]]
    return near.i[first], near.j[first], near.a[first], near.b[first], least


def _near(segments: Segments, own: Ints, others: Ints, reach: float) -> Normals | None:
    """Each other segment with the segments of the net that are nearest to it."""
    if not len(own) or not len(others):
        return None
    if np.isfinite(reach):
        points = np.concatenate([segments.a[own], segments.b[own]])
        low, high = points.min(0) - reach, points.max(0) + reach
        start, end = segments.a[others], segments.b[others]
        outside = (np.maximum(start, end) < low) | (np.minimum(start, end) > high)
        others = others[~either(outside)]
    tree = shapely.STRtree(segments.lines[own])
    far = reach if np.isfinite(reach) else None
    row, hit = tree.query_nearest(segments.lines[others], max_distance=far)
    if not len(row):
        return None
    return closest(segments, own[hit], others[row], np.inf)
