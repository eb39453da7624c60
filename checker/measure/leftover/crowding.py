"""What stands near the pads that are soldered, and how little copper holds some of them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.segments import boundary_of
from checker.measure.copper.adrift import counted_nets
from checker.measure.holes.pads import SCREW, outer
from checker.measure.holes.paths import drilled_of
from checker.measure.holes.uses import Use, uses_of
from checker.measure.leftover.pieces import middles_of

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints

ERROR = 0.002
"""Bound in mm on the error of a distance: chords of both boundaries."""

# .AperFunction of the Gerber layer format: pads that take a part's lead.
_SOLDERED = ("ComponentPad", "SMDPad", "BGAPad", "HeatsinkPad", "ConnectorPad", "CastellatedPad")
_QUARTER = 32  # chords of a quarter of a hole
_SAME = 1e-6  # mm: islands as near as this to a pad are equally near


class Crowding(Struct, frozen=True, eq=False):
    """Soldered pads with copper of other nets within the reach, one row for pad and island.

    Where two pads face each other there one row is for both; one that faces several which are
    equally near has a row with each.

    Attributes:
        layer: (n,) index into the board's layers.
        pad: (n,) row of the layer's objects.
        island: (n,) index into the layer's islands of the other copper.
        facing: (n,) row of the soldered pad that is nearest there, -1 where it is none.
        at: (n, 2) the pad's middle, or halfway between the middles of two.
        distance: (n,) mm.
    """

    layer: Ints
    pad: Ints
    island: Ints
    facing: Ints
    at: Floats
    distance: Floats

    def __len__(self) -> int:
        return len(self.pad)


class Bare(Struct, frozen=True, eq=False):
    """Islands that are one soldered pad and nothing else, one a row; none round a screw.

    Attributes:
        layer, pad, island: as in `Crowding`; ``island`` is that of the pad.
        at: (n, 2) the pad's middle.
        area: (n,) its copper less its hole, mm2.
        hole: (n,) diameter of the hole in it in mm, 0 without one.
    """

    layer: Ints
    pad: Ints
    island: Ints
    at: Floats
    area: Floats
    hole: Floats

    def __len__(self) -> int:
        return len(self.pad)


@lru_cache(maxsize=2)
def soldered_of(board: Board) -> tuple[Ints, ...]:
    """Per layer the rows of its pads that are soldered; none on inner layers.

    By function or part, where the layer states one; else where a netlist has a pin; else every pad
    but vias.
    """
    found = {board.copper.index(layer): _soldered(board, layer) for _, layer in outer(board)}
    none = np.empty(0, np.int64)
    return tuple(found.get(index, none) for index in range(len(board.copper)))


def _soldered(board: Board, layer: CopperLayer) -> Ints:
    objects = layer.objects
    rows = np.flatnonzero(objects.dark & (objects.kind == Kind.PAD) & (layer.island_of >= 0))
    takes = [i for i, name in enumerate(objects.names) if name in _SOLDERED]
    named = np.isin(objects.function[rows], takes) | (
        (objects.component[rows] >= 0) & (objects.function[rows] < 0)
    )
    if named.any():
        return rows[named]
    points = np.array(
        [
            shapely.Point(pin.x, pin.y)
            for pin in board.pins
            if pin.component is not None and pin.side in (None, layer.side)
        ],
        object,
    )
    hit = np.unique(shapely.STRtree(objects.shape[rows]).query(points, "intersects")[1])
    if len(hit):
        pinned: Ints = rows[hit]
        return pinned
    uses = uses_of(board)
    vias = shapely.points(uses.at[uses.use == Use.VIA])
    hit = np.unique(shapely.STRtree(objects.shape[rows]).query(vias, "intersects")[1])
    rest: Ints = np.delete(rows, hit)
    return rest


def crowding_of(board: Board, reach: float) -> Crowding:
    """Copper of other nets nearer than ``reach`` (mm) to pads that are soldered."""
    return _crowding(board, round(reach, 6))


@lru_cache(maxsize=2)
def _crowding(board: Board, reach: float) -> Crowding:
    none = np.empty(0, np.int64)
    tables = [(none, none, none, none, np.empty((0, 2)), np.empty(0))]
    for index, pads in enumerate(soldered_of(board)):
        if len(pads):
            tables.append(_near(board, index, pads, reach))
    layer, pad, island, facing, at, distance = map(np.concatenate, zip(*tables, strict=True))
    return Crowding(layer, pad, island, facing, at, distance)


def _near(
    board: Board, index: int, pads: Ints, reach: float
) -> tuple[Ints, Ints, Ints, Ints, Floats, Floats]:
    """The rows of one layer."""
    layer, net = board.copper[index], counted_nets(board, index)
    segments, shapes = boundary_of(layer), layer.objects.shape[pads]
    count, own = len(layer.islands), layer.island_of[pads]
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    boxes = shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    row, line = segments.tree.query(boxes)
    other = net[segments.island[line]] != net[own[row]]
    row, line = row[other], line[other]
    far = shapely.distance(shapes[row], segments.lines[line])
    near = far <= reach
    row, far, island = row[near], far[near], segments.island[line[near]]
    key, of = np.unique(row * count + island, return_inverse=True)
    distance = np.full(len(key), np.inf)
    np.minimum.at(distance, of, far)
    row, island = key // count, key % count

    # Pads of that island that are as near are what the pad faces there.
    p, q = shapely.STRtree(shapes).query(boxes)
    known = np.isin(p * count + own[q], key)
    p, q = p[known], q[known]
    at = np.searchsorted(key, p * count + own[q])
    near = shapely.distance(shapes[p], shapes[q]) <= distance[at] + _SAME
    at, q = at[near], q[near]
    alone = np.setdiff1d(np.arange(len(key)), at)
    at, facing = np.append(at, alone), np.append(q, np.full(len(alone), -1))
    row, island, distance = row[at], island[at], distance[at]
    pair = np.sort(np.column_stack([row, np.where(facing >= 0, facing, len(pads) + island)]))
    once = np.unique(pair, axis=0, return_index=True)[1]  # of two that face each other
    row, island, facing = row[once], island[once], facing[once]

    middles = middles_of(shapes)
    place = np.where(facing[:, None] >= 0, (middles[row] + middles[facing]) / 2, middles[row])
    other = np.where(facing >= 0, pads[facing], -1)
    return np.full(len(row), index), pads[row], island, other, place, distance[once]


@lru_cache(maxsize=1)
def bare_pads_of(board: Board) -> Bare:
    """The soldered pads that no other copper of their side holds."""
    holes = drilled_of(board.holes, lambda _: _QUARTER)
    sizes = np.array([hole.diameter for hole in board.holes])
    tree = shapely.STRtree(holes)
    found: list[tuple[Ints, Ints, Ints, Floats, Floats, Floats]] = []
    for index, pads in enumerate(soldered_of(board)):
        layer = board.copper[index]
        objects = layer.objects
        held = objects.dark & (objects.kind != Kind.PAD) & (layer.island_of >= 0)
        drawn = np.bincount(layer.island_of[held], minlength=len(layer.islands))
        islands, first, count = np.unique(
            layer.island_of[pads], return_index=True, return_counts=True
        )
        alone = (count == 1) & (drawn[islands] == 0)
        islands, bare = islands[alone], pads[first[alone]]
        shapes = layer.islands[islands]
        pad, hole = tree.query(shapes, predicate="intersects")
        size = np.zeros(len(bare))
        np.maximum.at(size, pad, sizes[hole])
        held, start, times = np.unique(pad, return_index=True, return_counts=True)
        for many in np.unique(times).tolist():  # most have one
            rows = times == many
            through = holes[hole[start[rows, None] + np.arange(many)]]
            drilled = shapely.union_all(through, axis=1) if many > 1 else through[:, 0]
            shapes[held[rows]] = shapely.difference(shapes[held[rows]], drilled)
        lead = (size < SCREW) | (objects.component[bare] >= 0)
        bare, islands, shapes, size = bare[lead], islands[lead], shapes[lead], size[lead]
        at = middles_of(objects.shape[bare])
        whole = np.full(len(bare), index)
        found.append((whole, bare, islands, at, shapely.area(shapes), size))
    none = np.empty(0, np.int64)
    found.append((none, none, none, np.empty((0, 2)), np.empty(0), np.empty(0)))
    return Bare(*(np.concatenate(column) for column in zip(*found, strict=True)))
