"""Boards from drawn pieces: pads, traces and pours that touch are one island."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.board import Board, CopperLayer, Hole, Kind, Outline
from checker.measure import Facts, Reach
from tests.handmade import Copper, layer

if TYPE_CHECKING:
    from collections.abc import Sequence


class Drawn(Struct, frozen=True):
    """A piece of copper; pieces of one name are one net, nameless islands are each one of theirs.

    ``pin`` is "J1.2".
    """

    shape: Any
    net: str | None = None
    kind: Kind = Kind.PAD
    pin: str | None = None


def disk(x: float, y: float, size: float) -> Any:
    """A round piece, a polygon of 256 sides about the circle's points."""
    return shapely.Point(x, y).buffer(size / 2, quad_segs=64)


def trace(net: str | None, width: float, *points: tuple[float, float]) -> Drawn:
    """A trace with round ends."""
    return Drawn(shapely.LineString(points).buffer(width / 2), net, Kind.TRACE)


def drilled(
    x: float, y: float, size: float, plated: bool | None = None, function: str | None = None
) -> Hole:
    """A round hole."""
    return Hole(((x, y),), size, plated, function, "holes.drl", 1)


def coppered(
    *holes: Hole,
    top: Sequence[Drawn] | None = None,
    bottom: Sequence[Drawn] | None = None,
    outline: Any = None,
) -> Facts:
    """A board of these pieces; a side that is None has no layer."""
    names: dict[str, int] = {}
    sides = [(side, drawn) for side, drawn in (("top", top), ("bottom", bottom)) if drawn]
    layers: list[CopperLayer] = []
    for side, drawn in sides:
        layers.append(_joined(side, drawn, names, 1000 * (1 + len(layers))))
    edge = outline and Outline(shapely.MultiPolygon([outline]), "edge.gbr", "")
    board = Board("coppered", (), tuple(layers), holes=holes, outline=edge)
    return Facts(board, Reach(), (), ())


def _joined(side: str, drawn: Sequence[Drawn], names: dict[str, int], first: int) -> CopperLayer:
    """The layer, islands from the union of the pieces; numbers of nameless ones from ``first``."""
    called = [(one.pin or ".").split(".") for one in drawn]
    pieces = [
        (Copper(one.kind, one.net, part or None, pin or None), one.shape)
        for one, (part, pin) in zip(drawn, called, strict=True)
    ]
    made = layer(side, pieces)
    islands = shapely.orient_polygons(
        shapely.get_parts(shapely.union_all([one.shape for one in drawn]))
    )
    inside = shapely.point_on_surface(np.array([one.shape for one in drawn], dtype=object))
    of = np.array([int(np.argmin(shapely.distance(islands, point))) for point in inside])
    net = first + np.arange(len(islands))
    name: list[str | None] = [None] * len(islands)
    for one, island in zip(drawn, of.tolist(), strict=True):
        if one.net is not None:
            net[island] = names.setdefault(one.net, len(names))
            name[island] = one.net
    return replace(made, islands=islands, net=net, net_name=tuple(name), island_of=of)
