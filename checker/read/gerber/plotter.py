"""The photoplotter: pen, position and modes, and the three operations that draw."""

from __future__ import annotations

from array import array
from typing import TYPE_CHECKING

from checker.read.gerber.apertures import ApertureTable
from checker.read.gerber.arcs import arc_points
from checker.read.gerber.attributes import Attributes
from checker.read.gerber.blocks import Nest
from checker.read.gerber.drawing import Copies, Drawing, Flash, Region, Stroke, Transform
from checker.read.gerber.units import LARGEST, Units
from checker.read.gerber.words import StatementError
from checker.read.remarks import Remarks

if TYPE_CHECKING:
    from checker.read.gerber.apertures import Aperture
    from checker.read.gerber.drawing import Point, Tag

DRAW, MOVE, FLASH = "1", "2", "3"
LINEAR, CLOCKWISE, COUNTERCLOCKWISE = "1", "2", "3"


class Plotter:
    """State between two words.

    Attributes:
        at: number of the word being obeyed.
        operations: draws, arcs and flashes so far.
        mode: LINEAR, CLOCKWISE or COUNTERCLOCKWISE.
        single_quadrant: G74 (True) or G75 (False), None before either.
        incremental: whether coordinates are steps.
        in_region: between G36 and G37.
    """

    def __init__(self) -> None:
        self.at = 0
        self.operations = 0
        self.mode = LINEAR
        self.single_quadrant: bool | None = None
        self.incremental = False
        self.in_region = False
        self.units = Units()
        self.apertures = ApertureTable()
        self.attributes = Attributes()
        self.nest = Nest()
        self.remarks = Remarks()

        self._x = self._y = 0.0
        self._last = ""  # the operation that coordinates alone repeat
        self._dark = True
        self._transform = Transform()
        self._selected: int | None = None
        # Worked out when first needed, forgotten when what they depend on changes.
        self._aperture: Aperture | Drawing | None = None
        self._tag: Tag | None = None
        # What a draw continues; a stroke ends at the current point.
        self._stroke: Stroke | None = None
        self._contour: Region | None = None

    def remark(self, text: str) -> None:
        """Note what is ignored or guessed in this word."""
        self.remarks.add(self.at, text)

    # Operations

    def operate(
        self,
        mode: str | None,
        x: str | None,
        y: str | None,
        i: str | None,
        j: str | None,
        code: str | None,
    ) -> None:
        """Obey one operation, given as the texts of its parts; with none of them, do nothing."""
        if mode is not None:
            self.mode = mode
        if code is not None:
            self._last = code
        elif x is None and y is None and i is None and j is None:
            return
        elif self._last:
            code = self._last
        else:
            self.remark("coordinates before any D01, D02 or D03, taken as a move")
            code = MOVE
        px, py = self._x, self._y
        nx = px if x is None else self.units.x[x]
        ny = py if y is None else self.units.y[y]
        if self.incremental:
            nx, ny = self._stepped(nx, ny, x, y)
        self._x, self._y = nx, ny

        if code == DRAW:
            self.operations += 1
            if self._contour is not None:
                points = self._contour.points
            elif self._stroke is not None:
                points = self._stroke.points
            else:
                points = self._begin((px, py))
            if self.mode == LINEAR:
                points.append(nx)
                points.append(ny)
            else:
                self._arc(points, (px, py), (nx, ny), i, j)
        elif code == MOVE:
            if self.in_region:
                self._close_contour()
            elif nx != px or ny != py:
                self._stroke = None
        elif self.in_region:
            self.remark("flash inside a region, ignored")
        else:
            if nx != px or ny != py:
                self._stroke = None
            self._flash((nx, ny))

    def _stepped(self, dx: float, dy: float, x: str | None, y: str | None) -> Point:
        # Rounded to a picometre, so that steps there and back end where they began.
        nx = self._x if x is None else round(self._x + dx, 9)
        ny = self._y if y is None else round(self._y + dy, 9)
        if max(abs(nx), abs(ny)) > LARGEST:
            raise StatementError("incremental coordinates run away", f"at most {LARGEST:g} mm")
        return nx, ny

    def _begin(self, start: Point) -> array[float]:
        """A new contour in a region, else a new stroke."""
        if self.in_region:
            tag = self.attributes.tag(self.attributes.function)
            self._contour = Region(self.at, self._dark, tag, array("d", start))
            self.nest.drawing.add(self._contour)
            return self._contour.points
        aperture = self._current_aperture()
        if isinstance(aperture, Drawing):
            raise StatementError(f"draw with aperture block D{self._selected}", "a flash (D03)")
        if aperture.shape == "macro":
            self.remark("draw with a macro aperture: its convex hull is swept")
        elif aperture.hole:
            self.remark("draw with an aperture that has a hole: the hole is ignored")
        tag = self._current_tag(aperture)
        self._stroke = Stroke(
            self.at, self._dark, tag, aperture, self._transform, array("d", start)
        )
        self.nest.drawing.add(self._stroke)
        return self._stroke.points

    def _arc(
        self, points: array[float], start: Point, end: Point, i: str | None, j: str | None
    ) -> None:
        fx, fy = self.units.factor_x, self.units.factor_y
        if abs(fx) != abs(fy):
            raise StatementError("arc under unequal scale factors (SF)", "equal factors")
        more, doubt = arc_points(
            start,
            end,
            (0.0 if i is None else self.units.x[i], 0.0 if j is None else self.units.y[j]),
            clockwise=(self.mode == CLOCKWISE) != (fx * fy < 0),
            single_quadrant=self.single_quadrant,
        )
        if doubt:
            self.remark(doubt)
        points.frombytes(more.tobytes())
        self.nest.drawing.count(0, len(more))

    def _flash(self, point: Point) -> None:
        self.operations += 1
        aperture = self._current_aperture()
        tag = self._current_tag(aperture)
        drawing = self.nest.drawing
        if isinstance(aperture, Drawing):
            matrix = self._transform.matrix
            drawing.add_copies(Copies(self.at, self._dark, tag, aperture, matrix, point))
        else:
            drawing.add(Flash(self.at, self._dark, tag, aperture, self._transform, point))

    # State

    def _current_aperture(self) -> Aperture | Drawing:
        if self._aperture is None:
            if self._selected is None:
                raise StatementError(
                    "draw or flash before any aperture is selected", "a word such as D10"
                )
            self._aperture = self.apertures.get(self._selected, self.units)
        return self._aperture

    def _current_tag(self, aperture: Aperture | Drawing) -> Tag:
        if self._tag is None:
            function = None if isinstance(aperture, Drawing) else aperture.function
            self._tag = self.attributes.tag(function)
        return self._tag

    def changed(self) -> None:
        """What is drawn from here on is another object."""
        self._stroke = None
        self._tag = None

    def select(self, number: int) -> None:
        """Take up an aperture; whether it is defined matters when it is used."""
        if number != self._selected:
            self._selected = number
            self.redefined(number)

    def redefined(self, number: int) -> None:
        """An aperture of this number means something else from here on."""
        if number == self._selected:
            self._aperture = None
            self.changed()

    def set_polarity(self, *, dark: bool) -> None:
        """Draw (dark) or clear from here on."""
        if dark != self._dark:
            self._dark = dark
            self.changed()

    def set_transform(self, **parts: bool | float) -> None:
        """Change parts of what apertures undergo."""
        transform = self._transform._replace(**parts)  # type: ignore[arg-type] # fields by name
        if transform != self._transform:
            self._transform = transform
            self.changed()

    def open_region(self) -> None:
        """Draws outline areas from here on."""
        self.close_region()
        self.in_region = True

    def close_region(self) -> None:
        """End of the region; harmless outside one."""
        self._close_contour()
        self.in_region = False
        self._stroke = None

    def _close_contour(self) -> None:
        if self._contour is not None:
            points = self._contour.points
            if len(points) < 6:
                self.remark("contour without area, ignored")
            elif points[:2] != points[-2:]:
                self.remark("open contour, closed by a straight line")
            self._contour = None
