"""A board under construction: pads, tracks, pours, holes and legend strokes. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import cos, pi
from typing import Any

import shapely
from msgspec import Struct, field

from samples.font import strokes_of

Point = tuple[float, float]

_QUARTER = 8  # segments of a quarter circle
_ABOUT = 1 / cos(pi / (4 * _QUARTER))


class Land(Struct, frozen=True):
    """One pad of a footprint, about the footprint's origin; ``hole`` 0 is a surface pad.

    Attributes:
        shape: "circle", "rect" or "obround"; a circle's height is its width.
        slot: length of the slot that the hole is, measured along the pad's longer side; 0 is round.
    """

    pin: str
    x: float
    y: float
    width: float
    height: float
    shape: str = "rect"
    hole: float = 0.0
    slot: float = 0.0
    function: str = "ComponentPad"


class Footprint(Struct, frozen=True):
    """Lands, the body's outline (left, bottom, right, top) and unplated holes (x, y, diameter)."""

    lands: tuple[Land, ...]
    body: tuple[float, float, float, float]
    pegs: tuple[tuple[float, float, float], ...] = ()


class Pad(Struct, frozen=True):
    """A land where it lies on the board; ``part`` and ``pin`` are empty for a via."""

    x: float
    y: float
    width: float
    height: float
    shape: str
    sides: tuple[str, ...]
    net: str
    part: str = ""
    pin: str = ""
    hole: float = 0.0
    slot: float = 0.0
    function: str = "ViaPad"


class Track(Struct, frozen=True):
    """A line of copper with round ends."""

    side: str
    width: float
    points: tuple[Point, ...]
    net: str

    @property
    def sides(self) -> tuple[str, ...]:
        """A track is on one side; the word is that of a pad."""
        return (self.side,)


class Pour(Struct, frozen=True):
    """A filled region; its holes are written as "cut-in" or as regions of "clear" polarity."""

    side: str
    area: Any
    net: str
    holes_as: str = "cut-in"


class Arc(Struct, frozen=True):
    """A step along an edge: the arc to ``end`` about ``centre``."""

    end: Point
    centre: Point
    clockwise: bool = False


class Layout(Struct):
    """A board as it grows.

    Attributes:
        size: width and height; the lower left corner is the origin.
        sides: copper sides from top to bottom: "top", "inner 1", ..., "bottom".
        plated: whether the holes of drilled pads are plated.
        holes: unplated holes (x, y, diameter).
        strokes: lines of the legend, which is on the top.
        bodies: outlines of the parts as placed: designator, (left, bottom, right, top).
        placed: designator -> where the part's origin lies and how many quarters it is turned.
        letter: height of the designators.
        edges: the edge and its cut-outs where they are no rectangle of ``size``: lines through
            points and arcs, each from its first point to its last.
    """

    name: str
    size: Point
    sides: tuple[str, ...] = ("top", "bottom")
    plated: bool = True
    pads: list[Pad] = field(default_factory=list)
    tracks: list[Track] = field(default_factory=list)
    pours: list[Pour] = field(default_factory=list)
    holes: list[tuple[float, float, float]] = field(default_factory=list)
    strokes: list[tuple[Point, ...]] = field(default_factory=list)
    bodies: list[tuple[str, tuple[float, float, float, float]]] = field(default_factory=list)
    placed: dict[str, tuple[float, float, int]] = field(default_factory=dict)
    letter: float = 1.2
    edges: list[tuple[Point | Arc, ...]] = field(default_factory=list)

    def place(
        self,
        footprint: Footprint,
        part: str,
        x: float,
        y: float,
        nets: Mapping[str, str] | Iterable[str],
        turn: int = 0,
    ) -> None:
        """Put a part on the top, turned by ``turn`` quarters counter-clockwise.

        ``nets`` maps pins to nets, or lists the nets in the order of the lands; a pin without a
        net stays alone.
        """
        if not isinstance(nets, Mapping):
            nets = dict(zip((land.pin for land in footprint.lands), nets, strict=False))
        unknown = set(nets) - {land.pin for land in footprint.lands}
        if unknown:
            raise ValueError(f"{part} has no pin {sorted(unknown)}")
        for land in footprint.lands:
            px, py = _turned(land.x, land.y, turn)
            upright = turn % 2 == 0
            self.pads.append(
                Pad(
                    round(x + px, 4),
                    round(y + py, 4),
                    land.width if upright else land.height,
                    land.height if upright else land.width,
                    land.shape,
                    self.sides if land.hole else ("top",),
                    nets.get(land.pin, ""),
                    part,
                    land.pin,
                    land.hole,
                    land.slot,
                    land.function,
                )
            )
        for px, py, diameter in footprint.pegs:
            px, py = _turned(px, py, turn)
            self.holes.append((round(x + px, 4), round(y + py, 4), diameter))
        corners = [_turned(cx, cy, turn) for cx, cy in (footprint.body[:2], footprint.body[2:])]
        left, right = sorted(x + corner[0] for corner in corners)
        bottom, top = sorted(y + corner[1] for corner in corners)
        self.bodies.append((part, (left, bottom, right, top)))
        self.placed[part] = (x, y, turn)
        self.box(left, bottom, right, top)

    def pegs(self) -> list[Pad]:
        """The unplated holes as things of no net to keep off."""
        return [Pad(x, y, d, d, "circle", self.sides, "") for x, y, d in self.holes]

    def track(self, side: str, width: float, net: str, *points: Point) -> None:
        """Lay a track through the points."""
        self.tracks.append(Track(side, width, points, net))

    def via(self, x: float, y: float, net: str, pad: float, hole: float) -> None:
        """Put a via through every side."""
        self.pads.append(Pad(x, y, pad, pad, "circle", self.sides, net, hole=hole))

    def text(self, text: str, x: float, y: float, height: float) -> None:
        """Write a legend text, lower left corner at (x, y)."""
        self.strokes += _written(text, x, y, height)

    def legend(self) -> list[tuple[Point, ...]]:
        """All lines of the legend: each designator stands beside its part where it covers least."""
        lines = list(self.strokes)
        margin, height = self.letter / 4, self.letter
        taken = [copper_of(pad, margin) for pad in [*self.pads, *self.pegs()]]
        taken += [shapely.box(*body) for _, body in self.bodies]
        inside = shapely.box(margin, margin, self.size[0] - margin, self.size[1] - margin)
        for part, (left, bottom, right, top) in self.bodies:
            width = height * (0.75 * len(part) - 0.25)
            above, below = top + margin, bottom - margin - height
            before, after = left - margin - width, right + margin
            corners = [(left, above), (left, below), (after, bottom), (before, bottom)]
            corners += [(right - width, above), (after, top - height), (before, top - height)]
            boxes = [shapely.box(x, y, x + width, y + height) for x, y in corners]
            covered = [
                sum(box.intersection(other).area for other in taken) + (box - inside).area
                for box in boxes
            ]
            best = covered.index(min(covered))
            taken.append(boxes[best].buffer(margin))
            lines += _written(part, *corners[best], height)
        return lines

    def box(self, left: float, bottom: float, right: float, top: float) -> None:
        """Draw a rectangle on the legend."""
        corners = ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
        self.strokes.append(tuple((round(a, 4), round(b, 4)) for a, b in corners))


def core_of(thing: Pad | Track) -> tuple[Any, float]:
    """A point, line or box and the radius by which growing it makes the pad or the track."""
    if isinstance(thing, Track):
        return shapely.LineString(thing.points), thing.width / 2
    radius = 0.0 if thing.shape == "rect" else min(thing.width, thing.height) / 2
    dx, dy = thing.width / 2 - radius, thing.height / 2 - radius
    left, low, right, high = thing.x - dx, thing.y - dy, thing.x + dx, thing.y + dy
    if dx and dy:
        return shapely.box(left, low, right, high), radius
    if dx or dy:
        return shapely.LineString([(left, low), (right, high)]), radius
    return shapely.Point(thing.x, thing.y), radius


def copper_of(thing: Pad | Track, by: float = 0.0) -> Any:
    """The copper of a pad or a track, grown by ``by`` with round corners.

    Round parts are polygons about the true arc, so that grown copper keeps off by ``by`` at least.
    """
    core, radius = core_of(thing)
    return core.buffer((radius + by) * _ABOUT, _QUARTER)


def _written(text: str, x: float, y: float, height: float) -> list[tuple[Point, ...]]:
    return [
        tuple((round(x + px * height, 4), round(y + py * height, 4)) for px, py in line)
        for line in strokes_of(text)
    ]


def _turned(x: float, y: float, quarters: int) -> Point:
    for _ in range(quarters % 4):
        x, y = -y, x
    return x, y
