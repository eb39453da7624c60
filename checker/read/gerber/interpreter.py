"""Words to actions: which statement means what."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from checker.read.gerber.legacy import WITHDRAWN, Image
from checker.read.gerber.plotter import LINEAR, Plotter
from checker.read.gerber.units import LARGEST, MM_PER_INCH, number, parse_format
from checker.read.gerber.words import CODE, OPERATION, StatementError, quoted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

# Comments after this many operations no longer tell what the layer is.
_FIRST_PART = 100
_MOST_COMMENTS = 200
_LONGEST_COMMENT = 1000

_STRUCTURED = re.compile(r"#@!\s*(T[FAOD].*)\Z", re.DOTALL)


class Interpreter:
    """Obeys a file word by word.

    Attributes:
        plotter: draws; holds what was drawn.
        comments: plain comments and image or layer names of the first part.
        recognised: whether any statement was Gerber at all.
        ended: number of the word M02 or M00, None before it.
        extended: between an odd and an even percent sign.
        unfinished: what was open when the words ended, or "".
        repeating: whether a step and repeat was.
        unknown: numbers of the words that are not understood and were ignored.
    """

    def __init__(self) -> None:
        self.plotter = Plotter()
        self.comments: list[str] = []
        self.recognised = False
        self.ended: int | None = None
        self.extended = False
        self.unfinished = ""
        self.repeating = False
        self.unknown: list[int] = []

        self._macro: tuple[str, list[str]] | None = None  # being read
        self._image = Image()
        self._commands: dict[str, Callable[[str], None]] = {
            "FS": self._format,
            "MO": self._unit,
            "AD": self._define_aperture,
            "AM": self._open_macro,
            "AB": self._block,
            "SR": self._repeat,
            "LP": self._polarity,
            "LM": self._mirror,
            "LR": self._rotate,
            "LS": self._scale,
            **dict.fromkeys(("TF", "TA", "TO", "TD"), self._attribute),
            **dict.fromkeys(("IN", "LN"), self._name),
            **dict.fromkeys(("IP", "OF", "IR", "AS", "MI", "SF"), self._image_statement),
        }

    @property
    def moved(self) -> bool:
        """Whether older statements move, turn, mirror or scale the whole image."""
        units = self.plotter.units
        return self._image.moves or not units.factor_x == units.factor_y == 1

    def run(self, words: Sequence[str]) -> None:
        """Obey all words up to the end of the program."""
        match_operation = OPERATION.match
        plotter = self.plotter
        operate = plotter.operate
        for at, word in enumerate(words):
            plotter.at = at
            match = match_operation(word)
            if match is None:
                self._other(word)
                if self.ended is not None:
                    break
            elif self._macro is None:
                operate(*match.groups())
        self._finish()

    def _finish(self) -> None:
        plotter = self.plotter
        if plotter.in_region:
            self.unfinished = "a region"
            plotter.close_region()
        while len(plotter.nest):
            if plotter.nest.in_repeat:
                self.repeating = True
                plotter.nest.close_repeat()
            else:
                self.unfinished = "an aperture block"
                plotter.nest.close_block()
        if self.unfinished:
            plotter.remark(f"file ends inside {self.unfinished}")
        plotter.nest.drawing = self._image.place(plotter.nest.drawing)

    def _other(self, word: str) -> None:
        """Any word but an operation."""
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
            self._comment(body.removeprefix("G04").removeprefix("G4").strip())
        elif body[:2] in WITHDRAWN:
            raise StatementError(
                f"{WITHDRAWN[body[:2]]} statement {quoted(body)}, withdrawn from the format",
                advice="export the layer anew",
            )
        elif body:
            self._codes(body)

    def _codes(self, body: str) -> None:
        """A word of several codes, such as ``G54D10`` or ``G75G03X1Y1I1J0D01``."""
        given: dict[str, str] = {}
        place = 0
        while (match := CODE.match(body, place)) is not None:
            place = match.end()
            letter, value = match.groups()
            if letter in "XYIJ" and value:
                given[letter] = value
            elif letter in "GDM" and value.isdecimal() and len(value) < 10:
                n = int(value)
                if letter in "GD" and n in (1, 2, 3):
                    given[letter] = str(n)
                elif not self._code(letter, n):
                    self._unknown(f"code {letter}{value}")
            elif letter != "N":  # a sequence number says nothing
                place = -1
                break
        if place < len(body):
            self._unknown(f"word {quoted(body)}")
        elif given:
            mode, x, y, i, j, code = map(given.get, "GXYIJD")
            self.plotter.operate(mode, x, y, i, j, code)

    def _unknown(self, what: str) -> None:
        self.unknown.append(self.plotter.at)
        self.plotter.remark(f"unknown {what}, ignored")

    def _code(self, letter: str, n: int) -> bool:
        """Obey a code other than an interpolation or an operation; False where unknown."""
        plotter = self.plotter
        self.recognised = True
        match letter, n:
            case "D", _ if n >= 10:
                plotter.select(n)
            case "G", 0:
                plotter.mode = LINEAR
            case "G", 36:
                plotter.open_region()
            case "G", 37:
                if not plotter.in_region:
                    plotter.remark("G37 without G36, ignored")
                plotter.close_region()
            case "G", (54 | 55):
                pass  # announce an aperture or a flash that the same word names
            case "G", (70 | 71):
                self._set_unit(MM_PER_INCH if n == 70 else 1.0)
            case "G", (74 | 75):
                plotter.single_quadrant = n == 74
            case "G", (90 | 91):
                plotter.incremental = n == 91
            case "G", (10 | 11 | 12):
                raise StatementError(f"scaled interpolation G{n}, withdrawn from the format", "G01")
            case "M", (0 | 2):
                self.ended = plotter.at
            case "M", 1:
                plotter.remark("optional stop M01, ignored")
            case _:
                return False
        return True

    # Comments and attributes

    def _comment(self, text: str) -> None:
        if (match := _STRUCTURED.match(text)) is not None:
            self._attribute(match[1])
        elif self.plotter.operations < _FIRST_PART:
            self._remember(text)

    def _name(self, body: str) -> None:
        """IN and LN give names, which draw nothing but may tell what the layer is."""
        self._remember(body[2:].strip())

    def _remember(self, text: str) -> None:
        if text and len(self.comments) < _MOST_COMMENTS:
            self.comments.append(text[:_LONGEST_COMMENT])

    def _attribute(self, body: str) -> None:
        self.recognised = True
        self.plotter.attributes.apply(body)
        self.plotter.changed()

    # Statements

    def _format(self, body: str) -> None:
        format = parse_format(body)
        self.plotter.incremental = format.incremental
        self.plotter.units.set(format=format)

    def _unit(self, body: str) -> None:
        unit = {"MM": 1.0, "IN": MM_PER_INCH}.get(body[2:].strip())
        if unit is None:
            raise StatementError(f"unit {quoted(body)}", "MOMM or MOIN")
        self._set_unit(unit)

    def _set_unit(self, unit: float) -> None:
        if self.plotter.units.unit not in (None, unit):
            self.plotter.remark("unit stated again, differently: the later one holds")
        self.plotter.units.set(unit=unit)

    def _image_statement(self, body: str) -> None:
        self._image.obey(body, self.plotter.units)

    def _define_aperture(self, body: str) -> None:
        number = self.plotter.apertures.define(body, self.plotter.attributes.function)
        self.plotter.redefined(number)

    def _open_macro(self, body: str) -> None:
        self._macro = (body[2:].strip(), [])

    def _close_macro(self) -> None:
        if self._macro is not None:
            self.plotter.apertures.define_macro(*self._macro)
            self._macro = None

    def _polarity(self, body: str) -> None:
        polarity = body[2:].strip()
        if polarity not in ("D", "C"):
            raise StatementError(f"polarity {quoted(body)}", "LPD or LPC")
        self.plotter.set_polarity(dark=polarity == "D")

    def _mirror(self, body: str) -> None:
        axes = body[2:].strip()
        if axes not in ("N", "X", "Y", "XY"):
            raise StatementError(f"mirroring {quoted(body)}", "LMN, LMX, LMY or LMXY")
        self.plotter.set_transform(mirror_x="X" in axes, mirror_y="Y" in axes)

    def _rotate(self, body: str) -> None:
        self.plotter.set_transform(degrees=number(body[2:], "rotation") % 360)

    def _scale(self, body: str) -> None:
        scale = number(body[2:], "scaling")
        if not 0 < scale <= LARGEST:
            raise StatementError(f"scaling {quoted(body)}", "a positive factor")
        self.plotter.set_transform(scale=scale)

    def _block(self, body: str) -> None:
        plotter = self.plotter
        if body != "AB":
            plotter.nest.open_block(body)
        else:
            while plotter.nest.in_repeat:
                plotter.remark("aperture block closed inside a step and repeat")
                plotter.nest.close_repeat()
            if len(plotter.nest):
                number, block = plotter.nest.close_block()
                plotter.apertures.define_block(number, block)
                plotter.redefined(number)
            else:
                plotter.remark("aperture block closed that was never opened, ignored")
        plotter.changed()

    def _repeat(self, body: str) -> None:
        if self.plotter.nest.in_repeat:
            self.plotter.nest.close_repeat()
        self.plotter.nest.open_repeat(body, self.plotter.at, self.plotter.units)
        self.plotter.changed()
