"""Ground pours: what is left of an area round foreign copper, with spokes to the net's own pads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely
from msgspec import Struct

from samples.layout import Pad, Pour, Track, copper_of

if TYPE_CHECKING:
    from samples.layout import Layout

_QUARTER = 4  # segments of a quarter circle at the pour's own corners
_FLAT = 0.0005  # points nearer to the line of their neighbours are left out


class Fill(Struct, frozen=True):
    """How a pour is made.

    Attributes:
        clearance: gap to copper of other nets.
        edge: gap to the board's edge.
        screws: gap to unplated holes, 0 for the clearance.
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
    screws: float = 0.0


def pour(layout: Layout, side: str, net: str, fill: Fill) -> None:
    """Fill a side with copper of the net, and keep the pieces that its pads reach.

    Vias join the pour outright: a wire is soldered there once and never taken out again.

    Raises:
        ValueError: a drilled pad of the net is reached by fewer than two spokes.
    """
    width, height = layout.size
    every: list[Pad | Track] = [*layout.pads, *layout.tracks]
    things = [thing for thing in every if side in thing.sides]
    foreign = [copper_of(thing, fill.clearance) for thing in things if thing.net != net]
    foreign += [copper_of(peg, fill.screws or fill.clearance) for peg in layout.pegs()]
    pads = [pad for pad in layout.pads if side in pad.sides and pad.net == net and pad.part]
    reliefs = [copper_of(pad, fill.relief) for pad in pads]
    free = shapely.box(fill.edge, fill.edge, width - fill.edge, height - fill.edge)
    free = free - shapely.union_all([*foreign, *reliefs])
    free = free.buffer(-fill.least / 2, _QUARTER).buffer(fill.least / 2, _QUARTER)
    blocked = shapely.union_all(foreign)
    spokes = [spoke for pad in pads for spoke in _spokes(pad, fill, free, blocked, layout.name)]
    whole = shapely.union_all([free, *spokes]).simplify(_FLAT)
    own = shapely.union_all([copper_of(thing) for thing in things if thing.net == net])
    pieces = [piece for piece in shapely.get_parts(whole) if piece.intersects(own)]
    layout.pours.append(Pour(side, shapely.MultiPolygon(pieces), net, fill.holes_as))


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
    if pad.hole and len(spokes) < 2:
        raise ValueError(f"{name}: {pad.part}.{pad.pin} at {pad.x}, {pad.y} has too few spokes")
    return spokes
