"""What a file draws, in file order, before any shape is made of it.

Reading fills a `Drawing`; the module `shapes` makes shapes of it when they are asked for.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct, field

from checker.read.gerber.words import StatementError

if TYPE_CHECKING:
    from array import array

    from checker.read.gerber.apertures import Aperture

# Bounds on what a file, its repeats and its blocks may draw: four times the largest layer met, and
# what can be made in a few seconds and some 600 MB.
MOST_OBJECTS = 100_000
MOST_POINTS = 2_000_000
# Blocks in blocks, and blocks made of blocks.
DEEPEST = 64

Point = tuple[float, float]
Matrix = tuple[float, float, float, float]  # xx, xy, yx, yy
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0)


class Transform(NamedTuple):
    """What LM, LR and LS do to an aperture: mirror, then rotate, then scale."""

    mirror_x: bool = False
    mirror_y: bool = False
    degrees: float = 0.0
    scale: float = 1.0

    @property
    def turn(self) -> Matrix:
        """The mirroring and rotation, without the scaling."""
        c, s = cos_sin(self.degrees)
        x, y = (-1.0 if self.mirror_x else 1.0), (-1.0 if self.mirror_y else 1.0)
        return (c * x, -s * y, s * x, c * y)

    @property
    def matrix(self) -> Matrix:
        """All three."""
        xx, xy, yx, yy = self.turn
        k = self.scale
        return (k * xx, k * xy, k * yx, k * yy)


def cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at quarter turns."""
    quarters, rest = divmod(degrees, 90)
    if rest == 0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


class Tag(NamedTuple):
    """Indices into the table of names, -1 unknown."""

    function: int
    net: int
    component: int
    pin: int


NO_TAG = Tag(-1, -1, -1, -1)


class Flash(Struct):
    """An aperture at a point. ``at`` is the number of the word that drew it."""

    at: int
    dark: bool
    tag: Tag
    aperture: Aperture
    transform: Transform
    point: Point


class Stroke(Struct):
    """Draws with one pen that join end to end: x, y, x, y, ...; arcs are chords already."""

    at: int
    dark: bool
    tag: Tag
    aperture: Aperture
    transform: Transform
    points: array[float]


class Region(Struct):
    """One contour, closed or not: x, y, x, y, ...; arcs are chords already."""

    at: int
    dark: bool
    tag: Tag
    points: array[float]


class Copies(Struct):
    """A drawing repeated: flashed as a block, or stepped (y first, then x).

    ``dark`` False turns the polarity of everything in it; a tag fills what its objects lack.
    """

    at: int
    dark: bool
    tag: Tag
    drawing: Drawing
    matrix: Matrix
    point: Point
    count: tuple[int, int] = (1, 1)
    step: Point = (0.0, 0.0)


Entry = Flash | Stroke | Region | Copies


class Drawing(Struct):
    """Entries, and the number of objects and arc points they expand to."""

    entries: list[Entry] = field(default_factory=list)
    objects: int = 0
    points: int = 0
    depth: int = 0

    def add(self, entry: Flash | Stroke | Region) -> None:
        """Append an entry."""
        self.entries.append(entry)
        self.count(1, 0)

    def add_copies(self, entry: Copies) -> None:
        """Append copies of a drawing; those of an empty drawing are nothing."""
        inner, copies = entry.drawing, entry.count[0] * entry.count[1]
        if not inner.objects:
            return
        self.entries.append(entry)
        self.depth = max(self.depth, inner.depth + 1)
        if self.depth > DEEPEST:
            raise StatementError(
                "blocks made of blocks too deep to follow", f"at most {DEEPEST} levels"
            )
        self.count(copies * inner.objects, copies * inner.points)

    def count(self, objects: int, points: int) -> None:
        """Add to what is expanded to.

        Raises:
            StatementError: too much.
        """
        self.objects += objects
        self.points += points
        if self.objects > MOST_OBJECTS:
            raise StatementError(
                "repeats and blocks expand without bound", f"{MOST_OBJECTS} objects at most"
            )
        if self.points > MOST_POINTS:
            raise StatementError(
                "arcs and repeats expand without bound", f"{MOST_POINTS} points at most"
            )
