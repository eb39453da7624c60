"""What a coupon is: copper, strokes that the bit follows, holes, and what each of them is for.

Lengths in mm, the lower left corner of the coupon is the origin.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

if TYPE_CHECKING:
    from checker.process.model import Process

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # least x, least y, most x, most y

LABELS, VERNIER = "labels", "vernier"  # strokes at the depth of cut; all others are grooves
ALONG = ("x", "y", "diagonal")
MIDDLE = "middle"
EACH = 5  # gaps or traces of each width


class Copper(Struct, frozen=True):
    """Copper as it is drawn.

    Attributes:
        net: its net.
        points: of a line, round a region, or the middle of a pad.
        width: of the line or of the pad; 0 for a region.
        function: of its aperture, as the Gerber layer format spells it.
        square: whether a pad is a square, not a disc.
        side: "top" or "bottom".
    """

    net: str
    points: tuple[Point, ...]
    width: float = 0.0
    function: str = "Conductor"
    square: bool = False
    side: str = "top"


class Stroke(Struct, frozen=True):
    """A line that the bit's middle follows in one go.

    Attributes:
        file: `LABELS`, `VERNIER` or the name of a groove's depth.
        points: in order.
    """

    file: str
    points: tuple[Point, ...]


class Hole(Struct, frozen=True):
    """A hole: its middle, its diameter, and its drill function in the format's words."""

    at: Point
    diameter: float
    function: str


class Cell(Struct, frozen=True):
    """The gaps or traces of one drawn width.

    Attributes:
        what: "gaps" or "traces".
        across: "x" or "y", the direction in which the width is measured.
        width: as drawn.
        box: that holds them.
    """

    what: str
    across: str
    width: float
    box: Box


class Block(Struct, frozen=True):
    """A piece of the coupon: what is drawn, and the room it takes with the cuts round it."""

    name: str
    box: Box
    copper: tuple[Copper, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    holes: tuple[Hole, ...] = ()
    cells: tuple[Cell, ...] = ()

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the room it takes."""
        return self.box[2] - self.box[0], self.box[3] - self.box[1]

    def with_corner_at(self, x: float, y: float) -> Block:
        """The same elsewhere, its lower left corner at a place."""
        by = x - self.box[0], y - self.box[1]
        return Block(
            self.name,
            _moved_box(self.box, by),
            tuple(replace(one, points=_moved(one.points, by)) for one in self.copper),
            tuple(Stroke(one.file, _moved(one.points, by)) for one in self.strokes),
            tuple(replace(one, at=_moved((one.at,), by)[0]) for one in self.holes),
            tuple(replace(one, box=_moved_box(one.box, by)) for one in self.cells),
        )


class Groove(Struct, frozen=True):
    """A reading to take: how wide the cut is at a depth, along a direction, at a place."""

    depth: float
    along: str
    place: str


class Meander(Struct, frozen=True):
    """The serpentine: length and width of its trace, and its resistance in ohm at 20 degrees C."""

    length: float
    width: float
    ohm: float


class Coupon(Struct, frozen=True, eq=False):
    """A coupon for one process.

    Attributes:
        process: that it was made for.
        size: width and height.
        blocks: all that is drawn.
        depths: name of a groove's file -> the depth at which to cut it.
        grooves: every width of a cut to read.
        gaps, traces: widths of the combs, ascending.
        targets: how many registration targets there are.
        vernier_step: how much a step of the vernier tells; None without one.
        meander: None without one.
        missing: what is left out, and why.
    """

    process: Process
    size: tuple[float, float]
    blocks: tuple[Block, ...]
    depths: dict[str, float] = field(default_factory=dict)
    grooves: tuple[Groove, ...] = ()
    gaps: tuple[float, ...] = ()
    traces: tuple[float, ...] = ()
    targets: int = 0
    vernier_step: float | None = None
    meander: Meander | None = None
    missing: tuple[str, ...] = ()

    @property
    def copper(self) -> tuple[Copper, ...]:
        """All copper, in the order of the blocks."""
        return tuple(one for block in self.blocks for one in block.copper)

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """All strokes, in the order of the blocks."""
        return tuple(one for block in self.blocks for one in block.strokes)

    @property
    def holes(self) -> tuple[Hole, ...]:
        """All holes, in the order of the blocks."""
        return tuple(one for block in self.blocks for one in block.holes)

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The groups of gaps and of traces."""
        return tuple(one for block in self.blocks for one in block.cells)

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that hold copper."""
        drawn = {one.side for one in self.copper}
        return tuple(side for side in ("top", "bottom") if side in drawn)


def _moved(points: tuple[Point, ...], by: Point) -> tuple[Point, ...]:
    return tuple((x + by[0], y + by[1]) for x, y in points)


def _moved_box(box: Box, by: Point) -> Box:
    return box[0] + by[0], box[1] + by[1], box[2] + by[0], box[3] + by[1]
