"""Ground pours: what is left of an area round foreign copper, with spokes to the net's own pads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import shapely

from samples.layout import Pad, Pour, Track, copper_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from samples.layout import Layout


@dataclass(frozen=True, slots=True)
class Fill:
    """How a pour is made.

    Attributes:
        clearance: gap to copper of other nets and to unplated holes.
        edge: gap to the board's edge.
        spoke: width of a thermal spoke; ``relief`` the gap round the pad it reaches over.
        least: no part of the pour, spokes aside, is narrower.
        holes_as: how holes are written, "cut-in" or "clear".
    """

    clearance: float
    spoke: float
    relief: float
    least: float
    edge: float = 1.0
    holes_as: str = "cut-in"


def pour(
    layout: Layout, side: str, net: str, fill: Fill, keep_out: Iterable[Any] = (), area: Any = None
) -> None:
    """Fill a side (or ``area`` of it) with copper of the net, and keep the pieces its pads reach.

    Vias join the pour outright: a wire is soldered there once and never taken out again.

    Raises:
        ValueError: a drilled pad of the net is reached by fewer than two spokes.
    """
    width, height = layout.size
    edge = fill.edge
    free = shapely.box(edge, edge, width - edge, height - edge) if area is None else area
    every: list[Pad | Track] = [*layout.pads, *layout.tracks]
    things = [thing for thing in every if side in thing.sides]
    foreign = [copper_of(thing, fill.clearance) for thing in things if thing.net != net]
    foreign += [shapely.Point(x, y).buffer(d / 2 + fill.clearance) for x, y, d in layout.holes]
    pads = [pad for pad in layout.pads if side in pad.sides and pad.net == net and pad.part]
    reliefs = [copper_of(pad, fill.relief) for pad in pads]
    free = free - shapely.union_all([*foreign, *reliefs, *keep_out])
    free = free.buffer(-fill.least / 2).buffer(fill.least / 2)
    blocked = shapely.union_all(foreign)
    spokes = [spoke for pad in pads for spoke in _spokes(pad, fill, free, blocked, layout.name)]
    whole = shapely.union_all([free, *spokes])
    own = shapely.union_all([copper_of(thing) for thing in things if thing.net == net])
    pieces = [piece for piece in shapely.get_parts(whole) if piece.intersects(own)]
    area = shapely.MultiPolygon(pieces).simplify(0.001)
    layout.pours.append(Pour(side, area, net, fill.holes_as))


def _spokes(pad: Pad, fill: Fill, free: Any, blocked: Any, name: str) -> list[Any]:
    """The spokes of a pad that end in the pour and touch no other net's clearance."""
    spokes = []
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        reach = (pad.width if dx else pad.height) / 2 + fill.relief + fill.spoke / 2
        line = shapely.LineString([(pad.x, pad.y), (pad.x + dx * reach, pad.y + dy * reach)])
        spoke = line.buffer(fill.spoke / 2, cap_style="flat")
        end = shapely.LineString([line.coords[1]] * 2).buffer(1e-6)
        if free.contains(end) and not spoke.intersects(blocked):
            spokes.append(spoke)
    if pad.hole and len(spokes) < 0:
        raise ValueError(f"{name}: {pad.part}.{pad.pin} at {pad.x}, {pad.y} has too few spokes")
    return spokes
