"""Plans of boards: what is drawn, in whole steps of a grid, before any format or unit.

A step is 0.01 mm or half a mil, as the dialect of a file has it, so that every coordinate and size
is written exactly. Angles are whole degrees, counter-clockwise.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

Point = tuple[int, int]

RIM: tuple[Point, ...] = (
    *((5, 0), (4, 3), (3, 4), (0, 5), (-3, 4), (-4, 3)),
    *((-5, 0), (-4, -3), (-3, -4), (0, -5), (3, -4), (4, -3)),
)
"""Whole points on a circle of radius 5, counter-clockwise: where arcs begin and end."""


def on_rim(centre: Point, fifth: int, place: int) -> Point:
    """A point on the circle of radius ``5 * fifth``."""
    x, y = RIM[place % len(RIM)]
    return centre[0] + fifth * x, centre[1] + fifth * y


# Primitives of a macro; with ``on`` False they clear the earlier ones, ``turn`` is about its origin


class Disc(Struct, frozen=True):
    on: bool
    size: int
    at: Point
    turn: int


class Line(Struct, frozen=True):
    on: bool
    width: int
    start: Point
    end: Point
    turn: int


class Bar(Struct, frozen=True):
    on: bool
    width: int
    height: int
    at: Point
    turn: int


class Loop(Struct, frozen=True):
    on: bool
    points: tuple[Point, ...]
    turn: int


class Corners(Struct, frozen=True):
    on: bool
    corners: int
    size: int
    at: Point
    turn: int


class Thermal(Struct, frozen=True):
    at: Point
    outer: int
    inner: int
    slot: int
    turn: int


Part = Disc | Line | Bar | Loop | Corners | Thermal

# Apertures; a hole of 0 is none


class Round(Struct, frozen=True):
    size: int
    hole: int = 0


class Rectangle(Struct, frozen=True):
    width: int
    height: int
    hole: int = 0


class Obround(Struct, frozen=True):
    width: int
    height: int
    hole: int = 0


class Regular(Struct, frozen=True):
    size: int
    corners: int
    turn: int
    hole: int = 0


class Macro(Struct, frozen=True):
    """``by_parameter``: its lengths are given where it is defined as an aperture, not within."""

    parts: tuple[Part, ...]
    by_parameter: bool = False


class Block(Struct, frozen=True):
    marks: tuple[Mark, ...]


Aperture = Round | Rectangle | Obround | Regular | Macro | Block

# What is drawn


class Flash(Struct, frozen=True):
    aperture: Aperture
    at: Point


class Stroke(Struct, frozen=True):
    pen: Round | Rectangle
    points: tuple[Point, ...]


class Arc(Struct, frozen=True):
    """A draw along a circle of radius ``5 * fifth`` from one place of `RIM` to another."""

    pen: Round
    centre: Point
    fifth: int
    first: int
    last: int
    clockwise: bool


class Bend(Struct, frozen=True):
    """A leg of a contour along a circle, to ``end``."""

    end: Point
    centre: Point
    clockwise: bool


class Area(Struct, frozen=True):
    """A region of one contour: legs from ``start`` and back to it."""

    start: Point
    legs: tuple[Point | Bend, ...]


class Steps(Struct, frozen=True):
    """Marks repeated (columns, rows) times at these steps."""

    count: Point
    step: Point
    marks: tuple[Mark, ...]


class Turned(Struct, frozen=True):
    """What an aperture undergoes: mirroring ("N", "X", "Y", "XY"), then rotation, then scaling."""

    mirror: str = "N"
    degrees: int = 0
    percent: int = 100

    @property
    def scale(self) -> float:
        return self.percent / 100


AS_IT_IS = Turned()


class Mark(Struct, frozen=True):
    """One thing drawn, dark or clear."""

    thing: Flash | Stroke | Arc | Area | Steps
    dark: bool = True
    turned: Turned = AS_IT_IS


class Hole(Struct, frozen=True):
    """A hole, or a slot where it has an end; ``plated`` None: the file does not say."""

    at: Point
    size: int
    end: Point | None = None
    routed: bool = False


class Dialect(Struct, frozen=True):
    """How numbers are written; coordinates have ``whole`` and ``decimals`` digits."""

    inch: bool = False
    whole: int = 3
    decimals: int = 6
    zeros: str = "L"
    quadrants: bool = False
    modal: bool = False

    @property
    def step(self) -> Fraction:
        """A step in the unit of the file."""
        return Fraction(5, 10_000) if self.inch else Fraction(1, 100)

    @property
    def mm(self) -> float:
        """A step in mm."""
        return float(self.step * (Fraction(254, 10) if self.inch else 1))


class Plan(Struct, frozen=True):
    """A board: one copper layer or two, and holes that are all plated or all not."""

    dialect: Dialect
    top: tuple[Mark, ...]
    bottom: tuple[Mark, ...] = ()
    holes: tuple[Hole, ...] = ()
    plated: bool = True
    points_written: bool = True

    @property
    def sides(self) -> tuple[tuple[Mark, ...], ...]:
        """Marks of each layer, from the top."""
        return (self.top, self.bottom) if self.bottom else (self.top,)
