"""A small board as it is drawn: pads, traces, pours and holes on one side or two. Lengths in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from checker.board import Board, CopperLayer, DrawnObjects, Hole, Kind, Outline
from checker.read.gerber.curves import TOLERANCE, circle

if TYPE_CHECKING:
    from checker.board import Floats, Ints, Shapes

Point = tuple[float, float]

# Values of .AperFunction in the Gerber layer format, without what follows their first comma.
SURFACE, LEAD, VIA, CONDUCTOR = "SMDPad", "ComponentPad", "ViaPad", "Conductor"
_DRILLED = {LEAD: "ComponentDrill", VIA: "ViaDrill"}
_MECHANICAL = "MechanicalDrill"


class _Object(NamedTuple):
    side: str
    shape: Any
    spine: Any
    pen: float
    kind: Kind
    function: str
    net: str
    part: str | None
    pin: str | None


class Plan:
    """A board that grows until `board` is asked of it.

    Args:
        width: of the board, its lower left corner the origin.
        height: of the board.
        sides: of copper, from top to bottom.
    """

    def __init__(self, width: float, height: float, sides: tuple[str, ...] = ("top",)) -> None:
        self.size = width, height
        self.sides = sides
        self._objects: list[_Object] = []
        self._holes: list[Hole] = []

    def pad(
        self,
        at: Point,
        size: tuple[float, float] | float,
        net: str,
        pin: tuple[str, str] | None = None,
        function: str = SURFACE,
        hole: float = 0.0,
    ) -> None:
        """A pad on every side: a rectangle, or a disc where ``size`` is one number.

        Args:
            at: its middle.
            size: width and height, or diameter.
            net: its net.
            pin: component and pin.
            function: what it is for.
            hole: diameter of the hole in its middle, 0 for none.
        """
        if isinstance(size, float):
            shape = shapely.Polygon(circle(size / 2) + np.array(at))
        else:
            (x, y), (width, height) = at, size
            shape = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        part, number = pin or (None, None)
        for side in self.sides:
            self._objects.append(
                _Object(side, shape, shapely.Point(at), 0.0, Kind.PAD, function, net, part, number)
            )
        if hole:
            self._drill(at, hole, _DRILLED[function])

    def trace(self, width: float, net: str, *points: Point) -> None:
        """A trace with square ends on every side."""
        line = shapely.LineString(points)
        shape = line.buffer(width / 2, cap_style="square", join_style="mitre")
        for side in self.sides:
            self._objects.append(
                _Object(side, shape, line, width, Kind.TRACE, CONDUCTOR, net, None, None)
            )

    def pour(self, area: Any, net: str) -> None:
        """A filled area on every side."""
        for side in self.sides:
            self._objects.append(
                _Object(side, area, None, 0.0, Kind.POUR, CONDUCTOR, net, None, None)
            )

    def hole(self, at: Point, diameter: float) -> None:
        """A hole without copper."""
        self._drill(at, diameter, _MECHANICAL)

    def board(self, name: str) -> Board:
        """The board as drawn; what of a net touches is one island."""
        nets = list(dict.fromkeys(one.net for one in self._objects))
        outline = shapely.MultiPolygon([shapely.box(0.0, 0.0, *self.size)])
        return Board(
            name=name,
            sources=(),
            copper=tuple(self._layer(side, nets) for side in self.sides),
            holes=tuple(self._holes),
            outline=Outline(outline, name, "as drawn"),
            nets_from="layer attributes",
            tolerance=TOLERANCE,
        )

    def _drill(self, at: Point, diameter: float, function: str) -> None:
        plated = False if function == _MECHANICAL else None
        self._holes.append(Hole((at,), diameter, plated, function, "drill", len(self._holes) + 1))

    def _layer(self, side: str, nets: list[str]) -> CopperLayer:
        drawn = [one for one in self._objects if one.side == side]
        shapes = _column([one.shape for one in drawn])
        names: dict[str, int] = {}

        def index(text: str | None) -> int:
            return -1 if text is None else names.setdefault(text, len(names))

        def column(texts: list[str | None]) -> Ints:
            return np.array([index(text) for text in texts], dtype=np.int64)

        islands: list[Any] = []
        island_net: list[str] = []
        for net in nets:
            own = [one.shape for one in drawn if one.net == net]
            pieces = shapely.get_parts(shapely.union_all(own)) if own else []
            islands += [shapely.orient_polygons(piece) for piece in pieces]
            island_net += [net] * len(pieces)
        inside, held = shapely.STRtree(_column(islands)).query(
            shapely.point_on_surface(shapes), predicate="intersects"
        )
        island_of = np.full(len(drawn), -1, dtype=np.int64)
        island_of[inside] = held
        return CopperLayer(
            side=side,
            source=side,
            objects=DrawnObjects(
                shape=shapes,
                spine=_column([one.spine for one in drawn]),
                pen=_floats([one.pen for one in drawn]),
                dark=np.ones(len(drawn), dtype=bool),
                kind=np.array([one.kind for one in drawn], dtype=np.int8),
                function=column([one.function for one in drawn]),
                net=column([one.net for one in drawn]),
                component=column([one.part for one in drawn]),
                pin=column([one.pin for one in drawn]),
                line=np.arange(1, len(drawn) + 1),
                names=tuple(names),
            ),
            islands=_column(islands),
            net=np.array([nets.index(net) for net in island_net], dtype=np.int64),
            net_name=tuple(island_net),
            island_of=island_of,
        )


def _column(values: list[Any]) -> Shapes:
    column: Shapes = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def _floats(values: list[float]) -> Floats:
    return np.array(values, dtype=float)
