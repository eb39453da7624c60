"""What was measured on a board, whatever the process.

Only the outer sides are measured: copper between laminate is out of a cutter's reach. The facts
of an inner layer are empty and their reach is 0.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.board import Kind
from checker.measure.boundary.segments import Segments, boundary_of
from checker.measure.boundary.standing import Standing
from checker.measure.facts import Facts, Gaps, Necks, Reach
from checker.measure.gaps import census
from checker.measure.holes.paths import means_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.board import Board, CopperLayer, Floats

__all__ = ["Facts", "Gaps", "Necks", "Reach", "facts_when_asked", "gaps_of", "measure"]

OUTER = ("top", "bottom")

_T = TypeVar("_T")


def measure(board: Board, reach: Reach | None = None) -> Facts:
    """Measure every outer side of a board as far as ``reach`` asks (default: `Reach`)."""
    reach = reach or Reach()
    found = _of_layers(lambda layer: (_gaps(layer), _necks(layer)), board, reach)
    return Facts(board, reach, tuple(gaps for gaps, _ in found), tuple(necks for _, necks in found))


def facts_when_asked(board: Board, reach: Reach) -> Facts:
    """The same facts, each census made when it is first asked for."""
    gaps = partial(_of_layers, _gaps, board, reach)
    necks = partial(_of_layers, _necks, board, reach)
    return Facts(board, reach, gaps, necks)


def gaps_of(board: Board, reach: Reach, number: int) -> Gaps:
    """The gaps of one layer, by its number."""
    return _of_layer(_gaps, board, reach, board.copper[number])


class _Layer(Struct, frozen=True):
    """What a census of a layer takes; nothing is wanted of inner ones."""

    board: Board
    copper: CopperLayer
    segments: Segments
    standing: Standing
    reach: Reach


def _of_layers(census: Callable[[_Layer], _T], board: Board, reach: Reach) -> tuple[_T, ...]:
    return tuple(_of_layer(census, board, reach, layer) for layer in board.copper)


def _of_layer(census: Callable[[_Layer], _T], board: Board, reach: Reach, layer: CopperLayer) -> _T:
    outer = layer.side in OUTER
    segments = boundary_of(layer) if outer else Segments.of(layer.islands[:0])
    wanted = reach if outer else replace(reach, cut=0.0, copper=0.0)
    return census(_Layer(board, layer, segments, Standing(layer, board.tolerance), wanted))


def _gaps(layer: _Layer) -> Gaps:
    cut, bites = layer.reach.cut, layer.reach.bites
    found = census.census(layer.segments, cut, bites)
    places = found.places
    return Gaps(
        islands=np.column_stack([places.A, places.B]),
        a=places.a,
        b=places.b,
        distance=found.distance,
        widest_cut=dict(zip(bites, found.width, strict=True)),
        object_a=layer.standing.at(places.a, places.A),
        object_b=layer.standing.at(places.b, places.B),
        part=found.part,
        part_of=found.part_of,
        reach=cut,
        error=census.ERROR,
    )


def _necks(layer: _Layer) -> Necks:
    copper = layer.reach.copper
    if not copper:
        return Necks.none()
    from checker.measure.necks import census as necks

    pads = np.concatenate([_middles_of_pads(layer.copper), means_of(layer.board.holes)])
    rows = necks.census_necks(layer.segments, copper, pads)
    return Necks(
        island=rows.island,
        at=rows.at,
        width=rows.width,
        length=rows.length,
        carries=rows.carries,
        object=layer.standing.at(rows.contact, rows.island),
        reach=copper,
        error=necks.ERROR,
    )


def _middles_of_pads(layer: CopperLayer) -> Floats:
    objects = layer.objects
    pads = objects.dark & (objects.kind == Kind.PAD)
    middles: Floats = shapely.get_coordinates(shapely.centroid(objects.shape[pads]))
    return middles
