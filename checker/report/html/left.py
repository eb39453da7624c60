"""The copper that is really left: the blank less what the tool sweeps round every island."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.measure.leftover.pieces import blank_of

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Shapes
    from checker.process.model import Process

_ARC = 0.002  # mm, chord of the arcs
_SEAM = 0.003  # mm, more than the chords of two arcs leave between what touches
MOST_POINTS = 30_000
"""Boundary points of a side up to which the copper left is worked out for the page; beyond that
only the page's own script draws it, for what is in view."""


def left_on(board: Board, layer: CopperLayer, process: Process) -> shapely.Geometry | None:
    """What stays of the blank beside the drawn copper, where the nominal cut is led round it.

    The tool's middle goes where it clears every island by half the cut, and as far from the islands
    as the process clears; gaps that it does not enter stay full of copper. Nothing is bitten. None
    for a process without a tool, and for a side with too many points.
    """
    cleared, cut = process.clears, process.cut
    if cleared is None or cut is None or not len(layer.islands):
        return None
    if int(shapely.get_num_coordinates(layer.islands).sum()) > MOST_POINTS:
        return None
    return left_of(layer.islands, blank_of(board), cut.nominal, cleared.nominal)


def left_of(
    islands: Shapes, blank: shapely.Geometry, cut: float, cleared: float
) -> shapely.Geometry:
    """What stays of a blank beside islands of copper, for a cut and a width cleared in mm."""
    radius = cut / 2
    near = _grown(islands, radius)
    middles = shapely.boundary(near)
    if cleared - cut > _SEAM:
        band = shapely.difference(_grown(islands, cleared - radius), near)
        middles = shapely.union(band, middles)
    swept = shapely.buffer(middles, radius + _SEAM, quad_segs=_quarter(radius))
    gone = shapely.union_all(np.append(islands, swept))
    return shapely.simplify(shapely.difference(blank, gone), _ARC / 2, preserve_topology=False)


def _grown(islands: Shapes, by: float) -> shapely.Geometry:
    return shapely.union_all(shapely.buffer(islands, by, quad_segs=_quarter(by)))


def _quarter(radius: float) -> int:
    return max(4, math.ceil(math.pi / (4 * math.acos(1 - _ARC / max(radius, 2 * _ARC)))))
