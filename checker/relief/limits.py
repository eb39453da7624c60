"""Copper that relief must leave: what each object of a layer keeps, whatever is taken beside it.

Each limit is met whichever of an object's sides gives, and whether one gives or all: traces keep a
strip about their middle line, pads what an equal margin all round leaves, holes a disc.
"""

from __future__ import annotations

import math
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.electrical import width_for
from checker.exact import tie
from checker.fills import kinds_meant
from checker.measure.clipping import clipped
from checker.measure.copper.letters import carries_no_current
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.pads import SIDES

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints, Shapes
    from checker.process import Process

PAD_SHARE = 0.1
"""Of a pad's width, what each of its sides may give: four fifths stay, as is common practice."""

_EXACT = 1e-9
_STRETCH = 16  # chords
_FIDUCIAL = "Fiducial"  # in .AperFunction of the Gerber layer format


class Tier(IntEnum):
    """Who gives: each tier asks those of the earlier ones too."""

    POURS = 0
    TRACES = 1
    PADS = 2


class Kept(Struct, frozen=True, eq=False, dict=True):
    """Copper that stays, in pieces; columns of length n: shapes, and the island of each."""

    shape: Shapes
    island: Ints

    def more(self, shapes: Shapes, island: Ints) -> Kept:
        """With so much more that stays."""
        return _tabled(np.concatenate([self.shape, shapes]), np.concatenate([self.island, island]))

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Of the shapes."""
        return shapely.STRtree(self.shape)

    @cached_property
    def _boxes(self) -> Floats:
        boxes: Floats = shapely.bounds(self.shape)
        return boxes

    def beside(self, line: shapely.LineString, reach: float) -> Ints:
        """Rows of what stays within reach of a line.

        The box of a long line holds much that is far from it: boxes of its stretches tell.
        """
        points = shapely.get_coordinates(line)
        first = np.arange(0, len(points) - 1, _STRETCH)
        last = np.minimum(first + _STRETCH, len(points) - 1)
        low = np.minimum(np.minimum.reduceat(points, first), points[last]) - reach
        high = np.maximum(np.maximum.reduceat(points, first), points[last]) + reach
        rows = self.tree.query(shapely.box(*low.min(0), *high.max(0)))
        left, bottom, right, top = self._boxes[rows].T[:, :, None]
        near = (left <= high[:, 0]) & (right >= low[:, 0]) & (bottom <= high[:, 1])
        rows = rows[(near & (top >= low[:, 1])).any(1)]
        shapely.prepare(line)
        found: Ints = rows[shapely.dwithin(line, self.shape[rows], reach)]
        return found


def kept_of(board: Board, index: int, process: Process) -> dict[Tier, Kept]:
    """What a layer keeps of its objects and round its holes, tier by tier.

    Args:
        board: as read.
        index: of the layer.
        process: whose limits hold.
    """
    layer = board.copper[index]
    objects, kinds = layer.objects, kinds_meant(layer)
    rows = np.flatnonzero(objects.dark & (layer.island_of >= 0) & (kinds != Kind.POUR))
    shapes, owner, kinds = objects.shape[rows], layer.island_of[rows], kinds[rows]
    kept = {Tier.POURS: shapes}
    strips = shapes.copy()
    traces = np.flatnonzero((kinds == Kind.TRACE) & (objects.pen[rows] > 0))
    wanted = _wanted(board, layer, process)[owner[traces]]
    pen = objects.pen[rows][traces]
    wide = traces[pen > wanted + _EXACT]
    strips[wide] = shapely.buffer(
        objects.spine[rows][wide], wanted[pen > wanted + _EXACT] / 2, quad_segs=16
    )
    kept[Tier.TRACES] = strips
    cores = strips.copy()
    pads = np.flatnonzero((kinds == Kind.PAD) & ~_fiducial(layer)[rows])
    cores[pads] = _cores(shapes[pads], board, process)
    kept[Tier.PADS] = cores
    fixed = _fixed(board, index, process)
    return {tier: _tabled(some, owner).more(*fixed) for tier, some in kept.items()}


def least_of(board: Board, process: Process) -> float:
    """The narrowest copper that may be left, as drawn: what the cut itself eats comes on top."""
    return (process.minimum_trace or 0.0) + 2 * (process.undercut + process.bite) + tie(board)


def _tabled(shapes: Shapes, island: Ints) -> Kept:
    full = ~shapely.is_empty(shapes)
    return Kept(shapes[full], island[full])


def _cores(pads: Shapes, board: Board, process: Process) -> Shapes:
    """What pads keep where all their sides give as much as they may."""
    if not len(pads):
        return pads
    corners = shapely.get_coordinates(shapely.oriented_envelope(pads)).reshape(len(pads), -1, 2)
    sides = np.hypot(*np.moveaxis(np.diff(corners[:, :3], axis=1), 2, 0))
    width = sides.min(axis=1)
    margin = np.minimum(PAD_SHARE * width, (width - (process.minimum_trace or 0.0)) / 2)
    cores = pads.copy()
    giving = np.flatnonzero(margin > _EXACT)
    cores[giving] = shapely.buffer(pads[giving], -margin[giving], join_style="mitre")
    drilled, limit = _drilled(pads, board), np.full(len(pads), process.joints.pad_area_surface or 0)
    limit[drilled > 0] = process.joints.pad_area_hole or 0
    small = shapely.area(cores) - drilled < limit
    cores[small] = pads[small]
    return cores


def _drilled(pads: Shapes, board: Board) -> Floats:
    """(pads,) area of the holes in each, mm2."""
    found = np.zeros(len(pads))
    if board.holes:
        points = shapely.points([hole.path[0] for hole in board.holes])
        pad, hole = shapely.STRtree(points).query(pads, "intersects")
        areas = np.array([math.pi / 4 * one.diameter**2 for one in board.holes])
        np.add.at(found, pad, areas[hole])
    return found


def _wanted(board: Board, layer: CopperLayer, process: Process) -> Floats:
    """(islands,) width that a trace keeps: the least that survives, or what its current wants."""
    wanted = np.full(len(layer.islands), least_of(board, process))
    said = {**process.ratings, **board.ratings}
    rise, foil = process.temperature_rise, process.foil.least
    for number, name in enumerate(layer.net_name):
        rating = said.get(name) if name else None
        if rating is None or not rating.amperes:
            continue
        more = width_for(rating.amperes, rise, foil) if rise and foil else math.inf
        wanted[number] = max(wanted[number], more + 2 * (process.undercut + process.bite))
    return wanted


def _fiducial(layer: CopperLayer) -> Ints:
    """(objects,) whether it is a mark that a machine looks for."""
    objects = layer.objects
    marks = np.array([_FIDUCIAL in name for name in objects.names] + [False])
    found: Ints = marks[objects.function]  # -1 is the last
    return found


def _fixed(board: Board, index: int, process: Process) -> tuple[Shapes, Ints]:
    """Copper round holes with every error counted, and islands that give nothing at all."""
    layer = board.copper[index]
    whole = np.flatnonzero(carries_no_current(board, index))
    hole, owner, radius = _rings(board, layer.side, process)
    paths = [board.holes[number].path for number in hole]
    lines = [
        shapely.LineString(path) if len(path) > 1 else shapely.Point(path[0]) for path in paths
    ]
    discs = shapely.buffer(np.array(lines, dtype=object), radius, quad_segs=16)
    near = np.empty(len(discs), dtype=object)
    for k, box in enumerate(shapely.bounds(discs).tolist()):
        near[k] = clipped(layer.islands[owner[k]], box)
    rings = shapely.intersection(discs, shapely.make_valid(near))
    return np.concatenate([layer.islands[whole], rings]), np.concatenate([whole, owner])


def _rings(board: Board, side: str, process: Process) -> tuple[Ints, Ints, Floats]:
    """Holes, the island of each, and the radius of the copper that has to stay round it."""
    if not board.holes or side not in SIDES:
        return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0)
    drilling, machine = drilling_of(board), process.machine
    off = machine.registration + process.drills.wander + machine.backlash / 2
    if len({layer.side for layer in board.copper} & set(SIDES)) > 1:  # either may be cut second
        left, bottom, right, top = board.box
        away = np.abs(drilling.at - [(left + right) / 2, (bottom + top) / 2]).max(axis=1)
        lean = 2 * math.tan(math.radians(machine.skew)) * away
    else:
        away = lean = np.zeros(len(board.holes))
    flip = machine.flip if len(away) and away.any() else 0.0
    owner = drilling.island[:, SIDES.index(side)]
    holes, radius = np.flatnonzero(owner >= 0), []
    for hole in holes.tolist():
        drawn = board.holes[hole].diameter
        drill = max(drawn, process.drills.serving(drawn) or drawn)
        wanted = (process.ring or 0.0) + off + flip + float(lean[hole]) + tie(board)
        radius.append(drill / 2 + wanted)
    return holes, owner[holes], np.array(radius)
