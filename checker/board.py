"""The board as drawn: frozen values, lengths in millimetres, coordinates those of the files.

Columns of many things are numpy arrays of one length; shapes are numpy object arrays of
shapely geometries. Nothing here knows a file format or a process.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

from msgspec import Struct, field

from checker.remarks import Note as Note  # noqa: TC001 - what knows boards has them from here
from checker.remarks import Rating as Rating  # noqa: TC001
from checker.remarks import Unchecked as Unchecked  # noqa: TC001

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy as np
    from numpy.typing import NDArray
    from shapely import MultiPolygon, Polygon

    Shapes = NDArray[np.object_]
    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]


class Kind(IntEnum):
    """What a drawn object is: the trade's three words."""

    PAD = 0
    TRACE = 1
    POUR = 2


class DrawnObjects(Struct, frozen=True, eq=False):
    """What one layer file drew, in file order; columns of length n.

    Attributes:
        shape: (n,) Polygon or MultiPolygon each, as drawn, before later clearing.
        spine: (n,) LineString (centre line of draws with one pen, chained), Point (flash) or
            None (region).
        pen: (n,) pen width in mm of a draw, 0 where not a round-pen draw.
        dark: (n,) bool, False where the object clears copper drawn before it.
        kind: (n,) values of `Kind`.
        function: (n,) index into ``names`` of the aperture function ("ViaPad"), -1 unknown.
        net: (n,) index into ``names`` of the net, -1 unknown.
        component: (n,) index into ``names`` of the reference designator, -1 unknown.
        pin: (n,) index into ``names`` of the pin number or name, -1 unknown.
        line: (n,) 1-based line of the file in which the object is drawn.
        names: texts the index columns point into.
    """

    shape: Shapes
    spine: Shapes
    pen: Floats
    dark: NDArray[np.bool_]
    kind: NDArray[np.int8]
    function: Ints
    net: Ints
    component: Ints
    pin: Ints
    line: Ints
    names: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.shape)

    def name(self, column: Ints, row: int) -> str | None:
        """The text an index column holds in a row, None where unknown."""
        index = int(column[row])
        return None if index < 0 else self.names[index]


class FileEnd(Struct, frozen=True):
    """What one has to know of a layer's file who would draw more into it.

    Attributes:
        step: mm of the last digit of its coordinates, the coarser of the two axes; 0 unknown, as
            of copper that is from no file.
        relieved: mm, the widest cut that it has been relieved for; 0 where it never was.
        closed: why nothing can be drawn after what it draws, in words; "" where it can.
    """

    step: float = 0.0
    relieved: float = 0.0
    closed: str = ""


class CopperLayer(Struct, frozen=True, eq=False):
    """One layer of copper.

    Attributes:
        side: "top", "bottom" or "inner N" (1 next to the top).
        source: file name as the user would find it.
        objects: what was drawn, dark and clear.
        islands: (n,) Polygon each, what remains in one piece; exteriors counter-clockwise.
        net: (n,) the net number of each island; equal numbers are one net by design, on any side.
        net_name: (n,) the name of that net, None where the files give none.
        island_of: (len(objects),) index into ``islands`` of the island that holds the object,
            -1 where it is clear or was cleared away whole.
        end: of its file.
    """

    side: str
    source: str
    objects: DrawnObjects
    islands: Shapes
    net: Ints
    net_name: tuple[str | None, ...]
    island_of: Ints
    end: FileEnd = FileEnd()


class Hole(Struct, frozen=True):
    """A drilled hole (one point) or a slot (the cutter's path, two points or more).

    Attributes:
        path: centre line, ((x, y), ...).
        diameter: finished diameter or slot width in mm.
        plated: whether the files say it is plated; None where they say nothing.
        function: drill function from the file ("ViaDrill"), None where unknown.
        source: file name; ``line`` is 1-based.
    """

    path: tuple[tuple[float, float], ...]
    diameter: float
    plated: bool | None
    function: str | None
    source: str
    line: int

    @property
    def is_slot(self) -> bool:
        """A slot has a path longer than a point."""
        return len(self.path) > 1


class Outline(Struct, frozen=True, eq=False):
    """The board's edge: a MultiPolygon (several boards of a panel; interiors are cut-outs).

    Attributes:
        area: the material inside the edge.
        source: file the edge comes from.
        how: in words, such as "closed centre lines of the profile layer".
        openings: (x, y, size) in mm of places where the drawn edge is not closed, the widest
            first; ``area`` is what it encloses with these closed straight.
    """

    area: MultiPolygon
    source: str
    how: str
    openings: tuple[tuple[float, float, float], ...] = ()


class GraphicLayer(Struct, frozen=True, eq=False):
    """A mask or legend layer kept for rules: role "mask" or "legend", side "top" or "bottom".

    ``draw`` makes the shapes: most checks ask for none of them.
    """

    role: str
    side: str
    source: str
    draw: Callable[[], DrawnObjects]

    @property
    def objects(self) -> DrawnObjects:
        """What the layer draws."""
        return self.draw()


class Pin(Struct, frozen=True):
    """A point a netlist file names: net, component, pin; ``side`` None means both."""

    net: str
    component: str | None
    pin: str | None
    x: float
    y: float
    side: str | None

    @property
    def called(self) -> str | None:
        """What a person calls it, such as "U1.3"; None where no component is named."""
        whole = self.component is None or self.pin is None
        return self.component if whole else f"{self.component}.{self.pin}"


class Part(Struct, frozen=True, eq=False):
    """A component as a component layer tells of it.

    Attributes:
        name: reference designator.
        side: "top" or "bottom", where its body sits.
        x, y: its reference point in mm.
        body: what its body covers, a Polygon; None where the files do not say.
        courtyard: the room it keeps, a Polygon; None where the files do not say.
        mount: "through hole", "surface" or "other"; None where the files do not say.
    """

    name: str
    side: str
    x: float
    y: float
    body: Polygon | None = None
    courtyard: Polygon | None = None
    mount: str | None = None

    @property
    def cover(self) -> Polygon | None:
        """The body, or the courtyard where the files give no body."""
        return self.courtyard if self.body is None else self.body


class Board(Struct, frozen=True, eq=False):
    """All that the files say.

    Attributes:
        name: folder, archive or file stem.
        sources: (file name, role) of every file looked at; role "not used" included.
        copper: layers from top to bottom, at least one.
        holes: drilled holes and slots.
        outline: None where no file gives one.
        graphics: mask and legend layers.
        pins: points named by a netlist file.
        nets_from: "layer attributes", "netlist file" or "drawn connectivity".
        notes: what the reader ignored or guessed.
        unchecked: files that could not be read and what is missing because of it.
        tolerance: bound in mm on the distance between a drawn and a true boundary.
        ties: groups of net names that drawn copper joins.
        parts: components of the component layers; None where there is no such layer.
        ratings: net name -> what a board note says of it.
        stray_outline: where ``outline`` is None, a closed edge that does not go round the copper.
        open_edge: where ``outline`` is None, the openings that a profile has too wide to be
            closed, as in `Outline`.
        crossed_edge: (x, y) in mm of places where the profile, used as ``outline`` or not, is
            closed and meets itself.
    """

    name: str
    sources: tuple[tuple[str, str], ...]
    copper: tuple[CopperLayer, ...]
    holes: tuple[Hole, ...] = ()
    outline: Outline | None = None
    graphics: tuple[GraphicLayer, ...] = ()
    pins: tuple[Pin, ...] = ()
    nets_from: str = "drawn connectivity"
    notes: tuple[Note, ...] = ()
    unchecked: tuple[Unchecked, ...] = ()
    tolerance: float = 0.001
    ties: tuple[tuple[str, ...], ...] = ()
    parts: tuple[Part, ...] | None = None
    ratings: Mapping[str, Rating] = field(default_factory=dict)
    stray_outline: Outline | None = None
    open_edge: tuple[tuple[float, float, float], ...] = ()
    crossed_edge: tuple[tuple[float, float], ...] = ()

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that hold copper, from top to bottom."""
        return tuple(layer.side for layer in self.copper)

    @property
    def edge_wants(self) -> str:
        """What is wrong with the edge where there is no outline, in words."""
        crosses = "crosses itself" if self.crossed_edge else "is not known"
        return "is not closed" if self.open_edge else crosses

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top in mm of the outline, or of the copper where there is none.

        Zeros where there is neither.
        """
        import shapely

        if self.outline is not None:
            left, bottom, right, top = self.outline.area.bounds
            return left, bottom, right, top
        islands = [island for layer in self.copper for island in layer.islands]
        if not islands:
            return 0.0, 0.0, 0.0, 0.0
        left, bottom, right, top = shapely.total_bounds(islands).tolist()
        return left, bottom, right, top

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in mm of that box."""
        left, bottom, right, top = self.box
        return right - left, top - bottom
