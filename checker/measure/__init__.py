"""What was measured on a board, whatever the process.

Only the outer sides are measured: copper between laminate is out of a cutter's reach. The facts
of an inner layer are empty and their reach is 0.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind
from checker.measure.boundary.segments import Segments, boundary_of
from checker.measure.boundary.standing import Standing
from checker.measure.facts import Facts, Gaps, Necks, Reach
from checker.measure.gaps import census as gaps

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats

__all__ = ["Facts", "Gaps", "Necks", "Reach", "measure"]


def measure(board: Board, reach: Reach | None = None) -> Facts:
    """Measure every outer side of a board as far as ``reach`` asks (default: `Reach`)."""
    reach = reach or Reach()
    # Layers share nothing, and the libraries underneath let go of the interpreter while they work.
    with ThreadPoolExecutor() as pool:
        measured = list(pool.map(lambda layer: _measure_layer(board, layer, reach), board.copper))
    return Facts(
        board=board,
        reach=reach,
        gaps=tuple(found for found, _ in measured),
        necks=tuple(found for _, found in measured),
    )


def _measure_layer(board: Board, layer: CopperLayer, reach: Reach) -> tuple[Gaps, Necks]:
    outer = layer.side in ("top", "bottom")
    segments = boundary_of(layer) if outer else Segments.of(layer.islands[:0])
    standing = Standing(layer, board.tolerance)
    cut, copper = (reach.cut, reach.copper) if outer else (0.0, 0.0)
    if not copper:
        return _gaps(segments, standing, cut, reach.bites), Necks.none()
    pads = np.concatenate([_middles_of_pads(layer), _middles_of_holes(board)])
    return _gaps(segments, standing, cut, reach.bites), _necks(segments, standing, copper, pads)


def _gaps(segments: Segments, standing: Standing, cut: float, bites: tuple[float, ...]) -> Gaps:
    found = gaps.census(segments, cut, bites)
    places = found.places
    return Gaps(
        islands=np.column_stack([places.A, places.B]),
        a=places.a,
        b=places.b,
        distance=found.distance,
        widest_cut=dict(zip(bites, found.width, strict=True)),
        object_a=standing.at(places.a, places.A),
        object_b=standing.at(places.b, places.B),
        reach=cut,
        error=gaps.ERROR,
    )


def _middles_of_pads(layer: CopperLayer) -> Floats:
    objects = layer.objects
    pads = objects.dark & (objects.kind == Kind.PAD)
    middles: Floats = shapely.get_coordinates(shapely.centroid(objects.shape[pads]))
    return middles


def _middles_of_holes(board: Board) -> Floats:
    middles = [np.mean(hole.path, axis=0) for hole in board.holes]
    return np.reshape(middles, (-1, 2))


def _necks(segments: Segments, standing: Standing, copper: float, pads: Floats) -> Necks:
    from checker.measure.necks import census as necks

    rows = necks.census_necks(segments, copper, pads)
    return Necks(
        island=rows.island,
        at=rows.at,
        width=rows.width,
        length=rows.length,
        carries=rows.carries,
        object=standing.at(rows.contact, rows.island),
        reach=copper,
        error=necks.ERROR,
    )
