"""Boards of tracks and pads by net, with ratings, made by hand."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace

from checker.board import Board, CopperLayer, DrawnObjects, Hole, Kind, Outline, Rating
from checker.measure import Facts, Reach

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.board import Shapes

Point = tuple[float, float]


class Net(Struct, frozen=True):
    """A net: pads as (x, y, diameter) and tracks as (width, points)."""

    name: str
    pads: Sequence[tuple[float, float, float]] = ()
    tracks: Sequence[tuple[float, Sequence[Point]]] = ()


def steady(volts: float | None = None, amperes: float | None = None) -> Rating:
    """A steady voltage, or a current."""
    return Rating(volts, False, amperes, None, "board-note.yaml:2")


def mains(volts: float = 230.0, cleared: float | None = None) -> Rating:
    """An alternating voltage, given as root mean square."""
    return Rating(volts * sqrt(2), True, None, cleared, "board-note.yaml:2")


class _Names(Struct, frozen=True):
    texts: list[str] = field(default_factory=list)

    def at(self, text: str) -> int:
        if text not in self.texts:
            self.texts.append(text)
        return self.texts.index(text)


def layer(side: str, nets: Sequence[Net], order: Sequence[str]) -> CopperLayer:
    """A layer with these nets; their numbers are their places in ``order``."""
    names, rows, net, island_of = _Names(), [], [], []
    islands: list[Any] = []
    for one in nets:
        drawn = [(shapely.Point(x, y), d, Kind.PAD) for x, y, d in one.pads]
        drawn += [(shapely.LineString(points), w, Kind.TRACE) for w, points in one.tracks]
        shapes = [spine.buffer(pen / 2, quad_segs=32) for spine, pen, _ in drawn]
        pieces = shapely.get_parts(shapely.union_all(shapes)).tolist()
        for pin, (shape, (spine, pen, kind)) in enumerate(zip(shapes, drawn, strict=True)):
            owner = next(k for k, piece in enumerate(pieces) if piece.intersects(shape))
            island_of.append(len(islands) + owner)
            rows.append((shape, spine, pen, kind, one.name, str(pin)))
        islands += pieces
        net += [order.index(one.name)] * len(pieces)
    count = len(rows)

    def shapes_of(column: int) -> Shapes:
        found: Shapes = np.empty(count, object)
        found[:] = [row[column] for row in rows]
        return found

    is_pad = np.array([row[3] == Kind.PAD for row in rows], bool)
    objects = DrawnObjects(
        shape=shapes_of(0),
        spine=shapes_of(1),
        pen=np.array([row[2] for row in rows]),
        dark=np.ones(count, bool),
        kind=np.array([row[3] for row in rows], np.int8),
        function=np.full(count, -1),
        net=np.array([names.at(row[4]) for row in rows], np.int64),
        component=np.where(is_pad, [names.at("J" + row[4]) for row in rows], -1),
        pin=np.where(is_pad, [names.at(row[5]) for row in rows], -1),
        line=np.arange(1, count + 1),
        names=tuple(names.texts),
    )
    column = np.empty(len(islands), object)
    column[:] = islands
    return CopperLayer(
        side,
        f"{side}.gbr",
        objects,
        shapely.orient_polygons(column),
        np.array(net, np.int64),
        tuple(order[number] for number in net),
        np.array(island_of, np.int64),
    )


def rated(
    top: Sequence[Net],
    ratings: Mapping[str, Rating] | None = None,
    bottom: Sequence[Net] = (),
    holes: Sequence[tuple[float, float, float]] = (),
    size: tuple[float, float, float, float] | None = None,
) -> Facts:
    """The facts of a board; only what rules on ratings look at is measured."""
    order = list(dict.fromkeys(net.name for net in (*top, *bottom)))
    layers = [layer("top", top, order)]
    if bottom:
        layers.append(layer("bottom", bottom, order))
    board = Board(
        "rated",
        (),
        tuple(layers),
        holes=tuple(Hole(((x, y),), d, True, None, "holes.drl", 1) for x, y, d in holes),
        ratings=dict(ratings or {}),
    )
    if size is not None:
        area = shapely.MultiPolygon([shapely.box(*size)])
        board = replace(board, outline=Outline(area, "edge.gbr", "by hand"))
    return Facts(board, Reach(0.0, 0.0), (), ())
