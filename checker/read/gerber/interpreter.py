"""The photoplotter: obeys words one by one and records what they draw."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from checker.read.gerber.apertures import Definition, check_size, make_aperture, parse_definition
from checker.read.gerber.arcs import arc_points
from checker.read.gerber.attributes import Attributes
from checker.read.gerber.drawing import (
    DEEPEST,
    IDENTITY,
    Copies,
    Drawing,
    Flash,
    Point,
    Region,
    Stroke,
    Tag,
    Transform,
    cos_sin,
)
from checker.read.gerber.macro import Macro
from checker.read.gerber.units import LARGEST, MM_PER_INCH, Units, number, parse_format
from checker.read.gerber.words import CODE, OPERATION, Fault, Remarks, quoted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from checker.read.gerber.apertures import Aperture

MOVE, DRAW, FLASH = "2", "1", "3"
LINEAR, CLOCKWISE, COUNTERCLOCKWISE = "1", "2", "3"

# Comments after this many operations no longer tell what the layer is.
_FIRST_PART = 100
_MOST_COMMENTS = 200
# Terms of macro expressions worked out for all apertures of a file together.
_MOST_TERMS = 10_000_000

_STRUCTURED = re.compile(r"#@!\s*(T[FAOD].*)\Z", re.DOTALL)
_FACTORS = re.compile(r"(?:A([+-]?[\d.]+))?(?:B([+-]?[\d.]+))?\Z")
_STEP = re.compile(r"(?:X(\d+))?(?:Y(\d+))?(?:I([+-]?[\d.]+))?(?:J([+-]?[\d.]+))?\Z")

_WITHDRAWN = {
    "IJ": "image justification",
    "IO": "image offset",
    "KO": "knockout",
    "IF": "include file",
}


class Interpreter:
    """State of a photoplotter between two words.

    Attributes:
        drawing: what is being recorded: the image, or the block or repeat that is open.
        attributes, remarks: collected on the way.
        comments: plain comments and image or layer names of the first part.
        operations: draws, arcs and flashes obeyed.
        recognised: whether any word was Gerber at all.
        ended: the number of the word M02 or M00, None before it.
    """

    def __init__(self) -> None:
        self.drawing = Drawing()
        self.attributes = Attributes()
        self.remarks = Remarks()
        self.comments: list[str] = []
        self.units = Units()
        self.operations = 0
        self.recognised = False
        self.ended: int | None = None
        self.at = 0
        self.extended = False  # between an odd and an even percent sign
        self.unfinished = ""

        self._x = self._y = 0.0
        self._incremental = False
        self._mode = LINEAR
        self._multi_quadrant: bool | None = None
        self._last = ""
        self._dark = True
        self._transform = Transform()
        self._tag: Tag | None = None
        self._stroke: Stroke | None = None  # ends at the current point
        self._region = False
        self._contour: Region | None = None

        self._macros: dict[str, Macro] = {}
        self._macro: tuple[str, list[str]] | None = None  # being read
        self._terms = 0
        self._definitions: dict[int, Definition] = {}
        self._apertures: dict[int, Aperture | Drawing] = {}
        self._selected: int | None = None
        self._aperture: Aperture | Drawing | None = None
        self._open: list[tuple[Drawing, int | Copies]] = []  # outer drawing; block number or repeat

        # Legacy statements on the whole image.
        self._offset: Point = (0.0, 0.0)
        self._rotation = 0.0
        self._swapped = False

        self._commands: dict[str, Callable[[str], None]] = {
            "FS": self._format_statement,
            "MO": self._unit_statement,
            "AD": self._define_aperture,
            "AM": self._open_macro,
            "AB": self._block,
            "SR": self._step_and_repeat,
            "LP": self._polarity,
            "LM": self._mirror,
            "LR": self._rotate,
            "LS": self._scale,
            "TF": self._attribute,
            "TA": self._attribute,
            "TO": self._attribute,
            "TD": self._attribute,
            "IN": self._name,
            "LN": self._name,
            "IP": self._image_polarity,
            "OF": self._image_offset,
            "IR": self._image_rotation,
            "AS": self._axis_select,
            "MI": self._factors,
            "SF": self._factors,
        }

    def run(self, words: Sequence[str]) -> None:
        """Obey all words up to the end of the program."""
        operation = OPERATION.match
        for at, word in enumerate(words):
            match = operation(word)
            self.at = at
            if match is None:
                self._other(word)
                if self.ended is not None:
                    break
            elif match.end() and self._macro is None:
                self._operate(*match.groups())
        self._finish()

    def _finish(self) -> None:
        if self._region:
            self.unfinished = "a region"
            self._close_region()
        while self._open and isinstance(self._open[-1][1], Copies):
            self._close()
        if self._open:
            self.unfinished = "an aperture block"
            self.remarks.add(self.at, "file ends inside an aperture block")
            self.drawing = self._open[0][0]
        self._place_image()

    # Operations

    def _operate(
        self,
        mode: str | None,
        x: str | None,
        y: str | None,
        i: str | None,
        j: str | None,
        code: str | None,
    ) -> None:
        if mode is not None:
            self._mode = mode
        if code is None:
            if x is None and y is None and i is None and j is None:
                return
            code = self._last
            if not code:
                self.remarks.add(self.at, "coordinates before any D01, D02 or D03, taken as a move")
                code = MOVE
        else:
            self._last = code
        px, py = self._x, self._y
        nx = px if x is None else self.units.x[x]
        ny = py if y is None else self.units.y[y]
        if self._incremental:
            nx, ny = self._moved(nx, ny, x, y)
        self._x, self._y = nx, ny

        if code == DRAW:
            self.operations += 1
            if self._contour is not None:
                points = self._contour.points
            elif self._region:
                points = self._begin_contour((px, py))
            elif self._stroke is not None:
                points = self._stroke.points
            else:
                points = self._begin_stroke((px, py))
            if self._mode == LINEAR:
                points.append((nx, ny))
            else:
                self._arc(points, (px, py), (nx, ny), i, j)
        elif code == MOVE:
            if self._region:
                self._contour = None
            elif nx != px or ny != py:
                self._stroke = None
        elif self._region:
            self.remarks.add(self.at, "flash inside a region, ignored")
        else:
            if nx != px or ny != py:
                self._stroke = None
            self._flash((nx, ny))

    def _moved(self, dx: float, dy: float, x: str | None, y: str | None) -> Point:
        nx = self._x if x is None else self._x + dx
        ny = self._y if y is None else self._y + dy
        if max(abs(nx), abs(ny)) > LARGEST:
            raise Fault("incremental coordinates run away", f"at most {LARGEST:g} mm")
        return nx, ny

    def _begin_contour(self, start: Point) -> list[Point]:
        tag = self.attributes.tag(self.attributes.function)
        self._contour = Region(self.at, self._dark, tag, [start])
        self.drawing.add(self._contour)
        return self._contour.points

    def _begin_stroke(self, start: Point) -> list[Point]:
        aperture = self._current_aperture()
        if isinstance(aperture, Drawing):
            raise Fault(f"draw with aperture block D{self._selected}", "a flash (D03)")
        if aperture.shape == "macro":
            self.remarks.add(self.at, "draw with a macro aperture: its convex hull is swept")
        elif aperture.hole:
            self.remarks.add(self.at, "draw with an aperture that has a hole: the hole is ignored")
        self._stroke = Stroke(
            self.at, self._dark, self._current_tag(aperture), aperture, self._transform, [start]
        )
        self.drawing.add(self._stroke)
        return self._stroke.points

    def _flash(self, point: Point) -> None:
        self.operations += 1
        aperture = self._current_aperture()
        tag = self._current_tag(aperture)
        if isinstance(aperture, Drawing):
            matrix = self._transform.matrix
            self.drawing.add_copies(Copies(self.at, self._dark, tag, aperture, matrix, point))
        else:
            self.drawing.add(Flash(self.at, self._dark, tag, aperture, self._transform, point))

    def _arc(
        self, points: list[Point], start: Point, end: Point, i: str | None, j: str | None
    ) -> None:
        if self._multi_quadrant is None:
            self.remarks.add(self.at, "arc before G74 or G75, taken as multi-quadrant (G75)")
        di = 0.0 if i is None else self.units.x[i]
        dj = 0.0 if j is None else self.units.y[j]
        mirrored = self.units.factor_x * self.units.factor_y < 0
        if abs(self.units.factor_x) != abs(self.units.factor_y):
            raise Fault("arc under unequal scale factors (SF)", "equal factors")
        clockwise = (self._mode == CLOCKWISE) != mirrored
        single = self._multi_quadrant is False
        more = arc_points(start, end, (di, dj), clockwise=clockwise, single_quadrant=single)
        if more is None:
            self.remarks.add(self.at, "arc whose centre fits no quarter circle, drawn straight")
            more = [end]
        points += more
        self.drawing.count(0, len(more))

    # State

    def _current_aperture(self) -> Aperture | Drawing:
        if self._aperture is None:
            number = self._selected
            if number is None:
                raise Fault("draw or flash before any aperture is selected", "a word such as D10")
            if number not in self._apertures:
                if number not in self._definitions:
                    raise Fault(f"aperture D{number} is not defined", "a definition before its use")
                definition = self._definitions[number]
                if definition.shape in self._macros:
                    self._terms += self._macros[definition.shape].size
                    if self._terms > _MOST_TERMS:
                        raise Fault("macros expand without bound", f"{_MOST_TERMS} terms at most")
                self._apertures[number] = make_aperture(definition, self.units.mm, self._macros)
            self._aperture = self._apertures[number]
        return self._aperture

    def _current_tag(self, aperture: Aperture | Drawing) -> Tag:
        if self._tag is None:
            function = None if isinstance(aperture, Drawing) else aperture.function
            self._tag = self.attributes.tag(function)
        return self._tag

    def _changed(self) -> None:
        """What is drawn from here on is another object."""
        self._stroke = None
        self._tag = None

    def _select(self, number: int) -> None:
        if number != self._selected:
            self._selected = number
            self._aperture = None
            self._changed()

    # All other words

    def _other(self, word: str) -> None:
        body = word.lstrip("% \t\r\n")
        percents = word.count("%", 0, len(word) - len(body))
        if percents:
            self.extended ^= percents % 2 == 1
            self._close_macro()
        elif self._macro is not None:
            self._macro[1].append(word)
            return
        body = body.rstrip()
        command = self._commands.get(body[:2])
        if command is not None:
            self.recognised = True
            command(body)
        elif body.startswith(("G04", "G4")):
            self._comment(body)
        elif body[:2] in _WITHDRAWN:
            raise Fault(
                f"{_WITHDRAWN[body[:2]]} statement {quoted(body)}, withdrawn from the format",
                "", "export the layer anew",
            )  # fmt: skip
        elif body:
            self._codes(body)

    def _codes(self, body: str) -> None:
        """A word of several codes, such as ``G54D10`` or ``G75G03X1Y1I1J0D01``."""
        given: dict[str, str] = {}
        mode = code = None
        place = 0
        while (match := CODE.match(body, place)) is not None:
            place = match.end()
            letter, value = match.groups()
            if letter in "XYIJ" and value:
                given[letter] = value
            elif letter in "GDM" and value.isdecimal() and len(value) < 10:
                n = int(value)
                if letter == "G" and n in (1, 2, 3):
                    mode = str(n)
                elif letter == "D" and n in (1, 2, 3):
                    code = str(n)
                elif letter == "D" and n >= 10:
                    self._select(n)
                elif not self._known_code(letter, n):
                    self.remarks.add(self.at, f"unknown code {letter}{value}, ignored")
            elif letter != "N":
                self.remarks.add(self.at, f"unknown word {quoted(body)}, ignored")
                return
        if place < len(body):
            self.remarks.add(self.at, f"unknown word {quoted(body)}, ignored")
            return
        if given or mode or code:
            self._operate(mode, *map(given.get, "XYIJ"), code)

    def _known_code(self, letter: str, n: int) -> bool:
        """Obey a G or M code other than an interpolation."""
        self.recognised = True
        match letter, n:
            case "G", 0:
                self._mode = LINEAR
            case "G", 36:
                self._close_region()
                self._region = True
            case "G", 37:
                if not self._region:
                    self.remarks.add(self.at, "G37 without G36, ignored")
                self._close_region()
            case "G", (54 | 55):
                pass
            case "G", (70 | 71):
                self._set_unit(MM_PER_INCH if n == 70 else 1.0)
            case "G", (74 | 75):
                self._multi_quadrant = n == 75
            case "G", (90 | 91):
                self._incremental = n == 91
            case "G", (10 | 11 | 12):
                raise Fault(f"scaled interpolation G{n}, withdrawn from the format", "G01")
            case "M", (0 | 2):
                self.ended = self.at
            case "M", 1:
                self.remarks.add(self.at, "optional stop M01, ignored")
            case _:
                return False
        return True

    def _close_region(self) -> None:
        self._region = False
        self._contour = self._stroke = None

    def _comment(self, body: str) -> None:
        text = body.removeprefix("G04").removeprefix("G4").strip()
        if (match := _STRUCTURED.match(text)) is not None:
            self._attribute(match[1])
        elif text and self.operations < _FIRST_PART and len(self.comments) < _MOST_COMMENTS:
            self.comments.append(text[:1000])

    def _name(self, body: str) -> None:
        """IN and LN give names: no image, but they may tell what the layer is."""
        if len(self.comments) < _MOST_COMMENTS:
            self.comments.append(body[2:].strip()[:1000])

    def _attribute(self, body: str) -> None:
        self.recognised = True
        self.attributes.apply(body)
        self._changed()

    # Statements

    def _format_statement(self, body: str) -> None:
        format = parse_format(body)
        self._incremental = format.incremental
        self.units.set(format=format)

    def _unit_statement(self, body: str) -> None:
        unit = {"MM": 1.0, "IN": MM_PER_INCH}.get(body[2:].strip())
        if unit is None:
            raise Fault(f"unit {quoted(body)}", "MOMM or MOIN")
        self._set_unit(unit)

    def _set_unit(self, unit: float) -> None:
        if self.units.unit not in (None, unit):
            self.remarks.add(self.at, "unit stated again, differently: the later one holds")
        self.units.set(unit=unit)

    def _define_aperture(self, body: str) -> None:
        definition = parse_definition(body, self.attributes.function)
        self._definitions[definition.number] = definition
        self._redefined(definition.number)

    def _redefined(self, number: int) -> None:
        self._apertures.pop(number, None)
        if self._selected == number:
            self._aperture = None
            self._changed()

    def _open_macro(self, body: str) -> None:
        self._macro = (body[2:].strip(), [])

    def _close_macro(self) -> None:
        if self._macro is not None:
            name, texts = self._macro
            self._macros[name] = Macro(name, tuple(texts))
            self._macro = None

    def _polarity(self, body: str) -> None:
        polarity = body[2:].strip()
        if polarity not in ("D", "C"):
            raise Fault(f"polarity {quoted(body)}", "LPD or LPC")
        if self._dark != (polarity == "D"):
            self._dark = not self._dark
            self._changed()

    def _mirror(self, body: str) -> None:
        axes = body[2:].strip()
        if axes not in ("N", "X", "Y", "XY"):
            raise Fault(f"mirroring {quoted(body)}", "LMN, LMX, LMY or LMXY")
        self._set_transform(self._transform._replace(mirror_x="X" in axes, mirror_y="Y" in axes))

    def _rotate(self, body: str) -> None:
        degrees = number(body[2:], "rotation") % 360
        self._set_transform(self._transform._replace(degrees=degrees))

    def _scale(self, body: str) -> None:
        scale = number(body[2:], "scaling")
        if not 0 < scale <= LARGEST:
            raise Fault(f"scaling {quoted(body)}", "a positive factor")
        self._set_transform(self._transform._replace(scale=scale))

    def _set_transform(self, transform: Transform) -> None:
        if transform != self._transform:
            self._transform = transform
            self._changed()

    def _block(self, body: str) -> None:
        text = body[2:].strip()
        if text:
            match = re.match(r"D(\d{1,9})\Z", text)
            if match is None:
                raise Fault(f"aperture block {quoted(body)}", "a statement such as ABD10")
            self._push(int(match[1]))
            return
        while self._open and isinstance(self._open[-1][1], Copies):
            self.remarks.add(self.at, "aperture block closed inside a step and repeat")
            self._close()
        if self._open:
            self._close()
        else:
            self.remarks.add(self.at, "aperture block closed that was never opened, ignored")

    def _step_and_repeat(self, body: str) -> None:
        match = _STEP.match("".join(body[2:].split()))
        if match is None:
            raise Fault(f"step and repeat {quoted(body)}", "a statement such as SRX2Y3I10J5")
        if self._open and isinstance(self._open[-1][1], Copies):
            self._close()
        x, y, i, j = match.groups(default="")
        if len(x) > 12 or len(y) > 12:
            raise Fault(f"step and repeat {quoted(body)}", "counts that a plate can hold")
        count = (int(x or 1), int(y or 1))
        step = tuple(self.units.length(text, "step") if text else 0.0 for text in (i, j))
        if min(count) < 1:
            raise Fault(f"step and repeat {quoted(body)}", "counts from 1")
        if count != (1, 1):
            copies = Copies(
                self.at, True, Tag(-1, -1, -1, -1), Drawing(), IDENTITY, (0.0, 0.0), count,
                (step[0], step[1]),
            )  # fmt: skip
            self._push(copies)

    def _push(self, opener: int | Copies) -> None:
        if len(self._open) >= DEEPEST:
            raise Fault("blocks nested too deep", f"at most {DEEPEST} levels")
        self._open.append((self.drawing, opener))
        self.drawing = Drawing() if isinstance(opener, int) else opener.drawing
        self._changed()

    def _close(self) -> None:
        inner = self.drawing
        self.drawing, opener = self._open.pop()
        if isinstance(opener, Copies):
            (nx, ny), (dx, dy) = opener.count, opener.step
            if inner.objects and max((nx - 1) * abs(dx), (ny - 1) * abs(dy)) > LARGEST:
                raise Fault("step and repeat leaves the plate", f"at most {LARGEST:g} mm")
            self.drawing.add_copies(opener)
        else:
            self._redefined(opener)
            self._apertures[opener] = inner
        self._changed()

    # Legacy statements on the whole image

    def _image_polarity(self, body: str) -> None:
        if body[2:].strip() != "POS":
            raise Fault(
                f"image polarity {quoted(body)}, withdrawn from the format",
                "a positive image", "export the layer as positive",
            )  # fmt: skip

    def _pair(self, body: str, default: float) -> tuple[float, float]:
        match = _FACTORS.match("".join(body[2:].split()))
        if match is None:
            raise Fault(f"statement {quoted(body)}", "values for A and B")
        a, b = (number(text, body[:2]) if text else default for text in match.groups())
        return a, b

    def _factors(self, body: str) -> None:
        """MI and SF act on coordinates, not on apertures."""
        sx, sy = self.units.factor_x, self.units.factor_y
        if body.startswith("MI"):
            a, b = self._pair(body, 0.0)
            factors = (math.copysign(sx, -a if a else 1.0), math.copysign(sy, -b if b else 1.0))
        else:
            a, b = self._pair(body, 1.0)
            if not (0 < a <= 100 and 0 < b <= 100):
                raise Fault(f"scale factor {quoted(body)}", "factors above 0, at most 100")
            factors = (math.copysign(a, sx), math.copysign(b, sy))
        self.units.set(factors=factors)

    def _image_offset(self, body: str) -> None:
        a, b = self._pair(body, 0.0)
        if (a, b) != (0, 0):
            a, b = (check_size(abs(v) * self.units.mm, "image offset") * (1 if v > 0 else -1)
                    for v in (a, b))  # fmt: skip
            self._offset = (a, b)

    def _image_rotation(self, body: str) -> None:
        degrees = number(body[2:], "image rotation")
        if degrees % 90:
            raise Fault(f"image rotation {quoted(body)}", "0, 90, 180 or 270")
        self._rotation = degrees % 360

    def _axis_select(self, body: str) -> None:
        axes = "".join(body[2:].split())
        if axes not in ("AXBY", "AYBX"):
            raise Fault(f"axis selection {quoted(body)}", "ASAXBY or ASAYBX")
        self._swapped = axes == "AYBX"

    def _place_image(self) -> None:
        """OF, then IR, then AS, on the whole image, wherever they stood in the file."""
        if self._offset == (0.0, 0.0) and not self._rotation and not self._swapped:
            return
        c, s = cos_sin(self._rotation)
        x, y = self._offset
        point = (c * x - s * y, s * x + c * y)
        matrix = (c, -s, s, c)
        if self._swapped:
            matrix, point = (matrix[2], matrix[3], matrix[0], matrix[1]), (point[1], point[0])
        image = Drawing()
        image.add_copies(Copies(0, True, Tag(-1, -1, -1, -1), self.drawing, matrix, point))
        self.drawing = image
