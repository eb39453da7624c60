"""How pads are joined to the pours they stand in: spokes, the slots between them, or all round.

Pads that no iron solders are left out: those of vias, of screws and of balls under a chip, those by
which a part sheds its heat, and pads drawn within a larger one.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.segments import boundary_of
from checker.measure.holes.pads import LEAD, SCREW, drilled_away, pads_at
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Shapes

WIDEST = 1.5
"""A slot is looked for up to this width, mm; an opening wider than that is no thermal relief."""

ERROR = 0.01
"""Bound in mm on the error of a slot's width across straight or round edges."""

_OFF = 0.03  # how far outside the pad its joints are looked at: beyond drawing errors, mm
_RAYS = 64  # round a pad
_START = 1e-4
_POLYGON = 3  # type number of GEOS
_NO_LEAD = ("ViaPad", "HeatsinkPad")  # .AperFunction of the Gerber layer format
_SAME = 1e-6  # parts of an area
_RINGS = 0.1  # mm on both sides of a hole together: less takes no solder
_BALL = 0.9  # mm; round pads below this are no lead's: its hole and a ring of 0.15 mm take as much
_CHORDS = 0.002  # mm by which they make a disk narrower
_ROUND = 0.02  # parts of a disk's area by which a round pad may differ


class Reliefs(Struct, frozen=True, eq=False):
    """Pads for leads that stand in a pour of their own net; columns of length n.

    Attributes:
        layer: number of the layer in ``board.copper``.
        pad: (n,) rows of its objects.
        joined: (n,) share of the pad's edge with copper just outside, 0 to 1.
        slot: (n,) width of the slot between the pad and the pour in mm, the median round the pad;
            inf without one.
        faced: (n,) share of the pad's edge that faces the pour across that slot.
        copper: (n,) area of the island in mm2.
    """

    layer: int
    pad: Ints
    joined: Floats
    slot: Floats
    faced: Floats
    copper: Floats


@lru_cache(maxsize=1)
def reliefs_of(board: Board) -> tuple[Reliefs, ...]:
    """Measure every outer layer of a board."""
    return tuple(
        _measured(board, number, layer)
        for number, layer in enumerate(board.copper)
        if layer.side in ("top", "bottom")
    )


def _measured(board: Board, number: int, layer: CopperLayer) -> Reliefs:
    objects, island_of = layer.objects, layer.island_of
    poured = np.zeros(len(layer.islands) + 1, dtype=bool)
    poured[island_of[objects.dark & (objects.kind == Kind.POUR)]] = True
    poured[-1] = False  # what was cleared away has island -1
    others = [index for index, name in enumerate(objects.names) if name in _NO_LEAD]
    pads = objects.dark & (objects.kind == Kind.PAD) & ~np.isin(objects.function, others)
    pads[_at_vias(board, layer)] = False
    pads[drilled_away(board, layer, _RINGS)] = False
    rows = np.flatnonzero(pads & poured[island_of])
    rows = rows[shapely.get_type_id(objects.shape[rows]) == _POLYGON]  # else no edge to go round
    rows = rows[~_ball(objects.shape[rows]) & ~_within(layer, rows)]
    at, outward = _round(objects.shape[rows])
    copper = layer.islands[island_of[rows]]
    shapely.prepare(copper)
    pad = np.repeat(np.arange(len(rows)), _RAYS)
    off = at + _OFF * outward
    joined = shapely.intersects_xy(copper[pad], *off.T)
    free = np.flatnonzero(~joined)
    slot = np.full(len(pad), np.inf)
    own = island_of[rows][pad[free]]
    slot[free] = _OFF + _first_met(layer, own, off[free], at[free] + WIDEST * outward[free])
    met = np.sort(slot.reshape(-1, _RAYS), axis=1)
    count = np.isfinite(met).sum(axis=1)
    each = np.arange(len(rows))
    median = (met[each, np.maximum(count - 1, 0) // 2] + met[each, count // 2 % _RAYS]) / 2
    median[count == 0] = np.inf
    share = joined.reshape(-1, _RAYS).mean(axis=1)
    faced = count / _RAYS
    return Reliefs(number, rows, share, median, faced, shapely.area(copper))


def _at_vias(board: Board, layer: CopperLayer) -> Ints:
    """Rows of pads about the middle of vias, and of holes too narrow or too wide for any lead."""
    uses, size = uses_of(board), np.array([hole.diameter for hole in board.holes])
    vias = (uses.use == Use.VIA) | (uses.use == Use.MECHANICAL)
    vias |= (uses.use == Use.UNKNOWN) & ((size < LEAD) | (size >= SCREW))
    pads = pads_at(layer, uses.at[vias], size[vias] / 2)
    return pads.row[pads.middle & ~pads.surface]


def _ball(pads: Shapes) -> NDArray[np.bool_]:
    """(n,) True for round pads too narrow for a hole with a lead."""
    x0, y0, x1, y1 = shapely.bounds(pads).T
    wide = np.maximum(x1 - x0, y1 - y0)
    ball: NDArray[np.bool_] = (wide < _BALL - _CHORDS) & (
        np.abs(shapely.area(pads) / (np.pi / 4 * wide**2) - 1) < _ROUND
    )
    return ball


def _within(layer: CopperLayer, rows: Ints) -> NDArray[np.bool_]:
    """(n,) True where a larger pad, or the same one again, covers this one.

    A pad of any shape may be drawn as a region that bears the name of its part.
    """
    objects = layer.objects
    named = objects.dark & (objects.kind == Kind.POUR) & (objects.component >= 0)
    pads = np.concatenate([objects.shape[rows], objects.shape[named]])
    area, within = shapely.area(pads), np.zeros(len(rows), dtype=bool)
    one, other = shapely.STRtree(pads).query(pads[: len(rows)], predicate="intersects")
    # By area, as rounding may put an edge that both share on either side of itself.
    covers = shapely.area(shapely.intersection(pads[one], pads[other])) >= area[one] * (1 - _SAME)
    one, other = one[covers], other[covers]
    larger = area[other] > area[one] * (1 + _SAME)
    again = (np.abs(area[other] - area[one]) <= area[one] * _SAME) & (other < one)
    within[one[larger | again]] = True
    return within


def _round(pads: Shapes) -> tuple[Floats, Floats]:
    """`_RAYS` points on the edge of each pad, and the unit vectors outward there."""
    edges = np.repeat(shapely.get_exterior_ring(shapely.orient_polygons(pads)), _RAYS)
    along = np.tile((np.arange(_RAYS) + 0.5) / _RAYS, len(pads)) * shapely.length(edges)
    at = shapely.get_coordinates(shapely.line_interpolate_point(edges, along))
    ahead = shapely.get_coordinates(shapely.line_interpolate_point(edges, along + _START)) - at
    ahead /= np.maximum(np.hypot(*ahead.T), np.finfo(float).tiny)[:, None]
    return at, np.column_stack([ahead[:, 1], -ahead[:, 0]])


def _first_met(layer: CopperLayer, own: Ints, start: Floats, end: Floats) -> Floats:
    """(k,) how far each ray goes until it meets its own island, mm; inf if others or none come."""
    segments = boundary_of(layer)
    rays = shapely.linestrings(np.stack([start, end], axis=1))
    ray, segment = segments.tree.query(rays, predicate="intersects")
    way, edge = end[ray] - start[ray], segments.b[segment] - segments.a[segment]
    to = segments.a[segment] - start[ray]
    across = way[:, 0] * edge[:, 1] - way[:, 1] * edge[:, 0]
    parallel = np.abs(across) < np.finfo(float).eps
    share = (to[:, 0] * edge[:, 1] - to[:, 1] * edge[:, 0]) / np.where(parallel, 1.0, across)
    met = np.where(parallel, np.inf, np.maximum(share, 0.0) * np.hypot(*way.T))
    distance, foreign = np.full((2, len(start)), np.inf)
    mine = segments.island[segment] == own[ray]
    np.minimum.at(distance, ray[mine], met[mine])
    np.minimum.at(foreign, ray[~mine], met[~mine])
    return np.where(distance < foreign, distance, np.inf)
