"""Plans as files: Gerber X2 and XNC, written from the formats' documents alone.

Sources: the Gerber layer format specification, revision 2024.05 (and 2021.02 for single-quadrant
arcs, trailing zeros and modal operations, which it withdrew), the XNC specification 2021.11.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tests.gerber_boards.plan import (
    AS_IT_IS,
    Aperture,
    Arc,
    Area,
    Bar,
    Bend,
    Block,
    Corners,
    Dialect,
    Disc,
    Flash,
    Line,
    Loop,
    Macro,
    Mark,
    Obround,
    Part,
    Plan,
    Point,
    Rectangle,
    Regular,
    Round,
    Steps,
    Stroke,
    Thermal,
    on_rim,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    _Length = Callable[[int], str]

_FUNCTIONS = ("Copper,L1,Top", "Copper,L2,Bot")


def files(plan: Plan) -> dict[str, str]:
    """Name to text of each file of a board."""
    texts = {
        f"copper{k}.gbr": gerber(marks, plan.dialect, _FUNCTIONS[k])
        for k, marks in enumerate(plan.sides)
    }
    if plan.holes:
        texts["holes.drl"] = xnc(plan)
    return texts


def gerber(marks: tuple[Mark, ...], dialect: Dialect, function: str) -> str:
    """One layer."""
    writer = _Writer(dialect)
    writer.draw(marks)
    digits = "".join(f"{axis}{dialect.whole}{dialect.decimals}" for axis in "XY")
    lines = [
        f"%TF.FileFunction,{function}*%",
        f"%FS{dialect.zeros}A{digits}*%",
        f"%MO{'IN' if dialect.inch else 'MM'}*%",
        "G01*",
        *writer.definitions,
        *writer.lines,
        "M02*",
    ]
    return "\n".join([*lines, ""])


def xnc(plan: Plan) -> str:
    """All holes in one file, numbers with a point or as whole ones of a stated format."""
    unit = "INCH" if plan.dialect.inch else "METRIC"
    whole, decimals = (2, 4) if plan.dialect.inch else (3, 3)
    step = plan.dialect.step
    tools = sorted({hole.size for hole in plan.holes})

    def place(point: Point) -> str:
        if plan.points_written:
            return "".join(f"{a}{_decimal(v * step)}" for a, v in zip("XY", point, strict=True))
        counts = [v * step * 10**decimals for v in point]
        return "".join(
            f"{a}{'-' * (n < 0)}{abs(int(n)):0{whole + decimals}d}"
            for a, n in zip("XY", counts, strict=True)
        )

    lines = [
        "M48",
        f"; #@! TF.FileFunction,{'Plated' if plan.plated else 'NonPlated'},1,2,PTH",
        unit if plan.points_written else f"{unit},TZ,{'0' * whole}.{'0' * decimals}",
        *(f"T{k}C{_decimal(size * step)}" for k, size in enumerate(tools, 1)),
        "%",
        "G05",
    ]
    for k, size in enumerate(tools, 1):
        lines.append(f"T{k}")
        for hole in plan.holes:
            if hole.size != size:
                continue
            if hole.end is None:
                lines.append(place(hole.at))
            elif hole.routed:
                lines += [f"G00{place(hole.at)}", "M15", f"G01{place(hole.end)}", "M16", "G05"]
            else:
                lines.append(f"{place(hole.at)}G85{place(hole.end)}")
    return "\n".join([*lines, "M30", ""])


def _decimal(value: Fraction) -> str:
    """A decimal number without an exponent, exactly."""
    count = value * 10**6
    assert count.denominator == 1
    sign, digits = "-" * (count < 0), f"{abs(int(count)):07d}"
    return f"{sign}{digits[:-6]}.{digits[-6:].rstrip('0') or '0'}"


class _Writer:
    """Writes marks and keeps track of what the plotter remembers."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.definitions: list[str] = []
        self.lines: list[str] = []
        self._numbers: dict[Aperture, int] = {}
        self._forget()

    def _forget(self) -> None:
        """Nothing is known of the plotter's state."""
        self._state: dict[str, str] = {}
        self._selected = -1
        self._at: tuple[str | None, str | None] = (None, None)
        self._drawing = False

    def draw(self, marks: tuple[Mark, ...]) -> None:
        for mark in marks:
            if isinstance(mark.thing, Steps):
                self._repeat(mark.thing)
            else:
                self._mark(mark)

    def _mark(self, mark: Mark) -> None:
        match mark.thing:
            case Flash(aperture, at):
                number = self._number(aperture)
                self._prepare(mark)
                self._select(number)
                self.lines.append(f"{self._place(at)}D03*")
                self._drawing = False
            case Stroke(pen, points):
                number = self._number(pen)
                self._prepare(mark)
                self._select(number)
                self._move(points[0])
                for point in points[1:]:
                    self._line(point)
            case Arc(pen, centre, fifth, first, last, clockwise):
                number = self._number(pen)
                self._prepare(mark)
                self._select(number)
                start = on_rim(centre, fifth, first)
                self._move(start)
                self._bend(start, Bend(on_rim(centre, fifth, last), centre, clockwise))
            case Area(start, legs):
                self._prepare(mark)
                self.lines.append("G36*")
                self._move(start)
                for leg in legs:
                    if isinstance(leg, Bend):
                        self._bend(start, leg)
                        start = leg.end
                    else:
                        self._line(leg)
                        start = leg
                self.lines.append("G37*")
                self._drawing = False

    def _repeat(self, steps: Steps) -> None:
        for mark in steps.marks:
            if isinstance(mark.thing, Flash):
                self._number(mark.thing.aperture)
        nx, ny = steps.count
        dx, dy = (_decimal(v * self.dialect.step) for v in steps.step)
        self.lines.append(f"%SRX{nx}Y{ny}I{dx}J{dy}*%")
        self._forget()
        self.draw(steps.marks)
        self.lines.append("%SR*%")
        self._forget()

    def _prepare(self, mark: Mark) -> None:
        turned = AS_IT_IS if isinstance(mark.thing, Area) else mark.turned
        wanted = {
            "LP": "D" if mark.dark else "C",
            "LM": turned.mirror,
            "LR": str(turned.degrees),
            "LS": _decimal(Fraction(turned.percent, 100)),
        }
        for name, value in wanted.items():
            if self._state.get(name) != value:
                self.lines.append(f"%{name}{value}*%")
        self._state = wanted

    def _select(self, number: int) -> None:
        if number != self._selected:
            self.lines.append(f"D{number}*")
            self._selected = number

    # Operations

    def _coordinate(self, steps: int) -> str:
        count = steps * self.dialect.step * 10**self.dialect.decimals
        assert count.denominator == 1
        digits = str(abs(int(count))).zfill(self.dialect.whole + self.dialect.decimals)
        digits = digits.lstrip("0") if self.dialect.zeros == "L" else digits.rstrip("0")
        return f"{'-' if count < 0 else ''}{digits or '0'}"

    def _place(self, point: Point) -> str:
        """Both coordinates; in a modal file, those that change."""
        x, y = (self._coordinate(value) for value in point)
        old, self._at = self._at, (x, y)
        if self.dialect.modal and old != (x, y):
            return (f"X{x}" if old[0] != x else "") + (f"Y{y}" if old[1] != y else "")
        return f"X{x}Y{y}"

    def _move(self, point: Point) -> None:
        self.lines.append(f"{self._place(point)}D02*")
        self._drawing = False

    def _line(self, point: Point) -> None:
        self._draw("G01", self._place(point))

    def _bend(self, start: Point, bend: Bend) -> None:
        i, j = (c - s for c, s in zip(bend.centre, start, strict=True))
        end = self._place(bend.end)
        if self.dialect.quadrants and _within_quadrant(start, bend):
            self.lines.append("G74*")
            i, j = abs(i), abs(j)
        else:
            self.lines.append("G75*")
        offset = f"I{self._coordinate(i)}J{self._coordinate(j)}"
        self._draw("G02" if bend.clockwise else "G03", end + offset)
        self.lines.append("G01*")

    def _draw(self, mode: str, words: str) -> None:
        code = "" if self.dialect.modal and self._drawing else "D01"
        self.lines.append(f"{mode}{words}{code}*")
        self._drawing = True

    # Apertures

    def _number(self, aperture: Aperture) -> int:
        if aperture not in self._numbers:
            if isinstance(aperture, Block):
                self._block(aperture)
            else:
                number = 10 + len(self._numbers)
                self._numbers[aperture] = number
                self.definitions += self._definition(number, aperture)
        return self._numbers[aperture]

    def _block(self, block: Block) -> None:
        for mark in block.marks:
            if isinstance(mark.thing, Flash):
                self._number(mark.thing.aperture)
        outer, self.lines = self.lines, []
        self._forget()
        self.draw(block.marks)
        number = 10 + len(self._numbers)
        self._numbers[block] = number
        self.definitions += [f"%ABD{number}*%", *self.lines, "%AB*%"]
        self.lines = outer
        self._forget()

    def _length(self, steps: int) -> str:
        return _decimal(steps * self.dialect.step)

    def _definition(self, number: int, aperture: Aperture) -> list[str]:
        match aperture:
            case Round(size, hole):
                name, values = "C", [self._length(size)]
            case Rectangle(width, height, hole):
                name, values = "R", [self._length(width), self._length(height)]
            case Obround(width, height, hole):
                name, values = "O", [self._length(width), self._length(height)]
            case Regular(size, corners, turn, hole):
                name, values = "P", [self._length(size), str(corners), str(turn)]
            case Macro(parts, by_parameter):
                return self._macro(number, parts, by_parameter)
            case _:
                raise TypeError(aperture)
        if hole:
            values.append(self._length(hole))
        return [f"%ADD{number}{name},{'X'.join(values)}*%"]

    def _macro(self, number: int, parts: tuple[Part, ...], by_parameter: bool) -> list[str]:
        """With parameters the lengths are doubled outside and halved by the macro."""
        given: list[str] = []
        lines = [f"%AMM{number}*", "0 made at random*"]

        def length(steps: int) -> str:
            if not by_parameter:
                return self._length(steps)
            given.append(self._length(2 * steps))
            return f"(${len(given)}-$90)/$91"

        if by_parameter:
            lines += ["$90=1-1x1*", "$91=6/(2+1)*"]
        for part in parts:
            lines.append(",".join(_primitive(part, length)) + "*")
        use = f",{'X'.join(given)}" if given else ""
        return [*lines[:-1], lines[-1] + "%", f"%ADD{number}M{number}{use}*%"]


def _primitive(part: Part, length: _Length) -> list[str]:
    match part:
        case Disc(on, size, (x, y), turn):
            return ["1", _bit(on), length(size), length(x), length(y), str(turn)]
        case Line(on, width, (x0, y0), (x1, y1), turn):
            ends = [length(v) for v in (x0, y0, x1, y1)]
            return ["20", _bit(on), length(width), *ends, str(turn)]
        case Bar(on, width, height, (x, y), turn):
            return ["21", _bit(on), *map(length, (width, height, x, y)), str(turn)]
        case Loop(on, points, turn):
            closed = [length(v) for point in (*points, points[0]) for v in point]
            return ["4", _bit(on), str(len(points)), *closed, str(turn)]
        case Corners(on, corners, size, (x, y), turn):
            return ["5", _bit(on), str(corners), *map(length, (x, y, size)), str(turn)]
        case Thermal((x, y), outer, inner, slot, turn):
            return ["7", *map(length, (x, y, outer, inner, slot)), str(turn)]


def _bit(on: bool) -> str:
    return "1" if on else "0"


def _within_quadrant(start: Point, bend: Bend) -> bool:
    """Whether an arc stays in one quarter of its circle."""
    (a, b), (c, d) = ((x - bend.centre[0], y - bend.centre[1]) for x, y in (start, bend.end))
    turn = a * d - b * c
    return min(a * c, b * d) >= 0 and (turn < 0 if bend.clockwise else turn > 0)
