"""What a drill file's words drill and rout: the machine that runs them.

Sources: XNC revision 2021.11 (G85 slots, M15/M16 rout, G00 to G03, G05) and IPC-NC-349 for what
older exporters write (repeats, incremental coordinates, M17, arcs by radius).
"""

from __future__ import annotations

from itertools import islice
from math import hypot
from typing import TYPE_CHECKING

from checker.board import Hole
from checker.errors import ReadError
from checker.read.arcs import arc_by_centre, arc_by_radius
from checker.read.excellon import Tool, tool_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.read.excellon import DrillFile, NumberFormat

LARGEST = 250.0  # mm; a tool wider than this is a misread unit
FARTHEST = 1e4  # mm from the origin, as far as a layer may draw
MOST = 200_000  # holes and points of paths; the largest board met has 5 000

_Point = tuple[float, float]
# Words that move nothing: feeds, speeds, tool data, messages, cutter compensation, origin.
_IDLE_G = {7, 40, 41, 42, 70, 71, 92, 93}
_NO_PLACE = {4, 92, 93}  # their X is a time, their X and Y set the zero point
_IDLE_M = {0, 3, 5, 6, 9, 30, 47, 48, 50, 70, 71, 72, 80, 90, 95}


def drill_holes(
    file: DrillFile,
    numbers: NumberFormat,
    plated: bool | None = None,
    *,
    most: int | None = None,
) -> list[Hole]:
    """Holes and slots in mm; ``plated`` is what else is known, used where the file is silent.

    Routed paths of tools without a size are left out; `DrillFile.unsized` names these tools. No
    more than ``most`` are given, where not all are wanted.

    Raises:
        ReadError: a hole is drilled with a tool that has no size, or a statement is not known.
    """
    machine = _Machine(file, numbers, file.plated if file.plated is not None else plated)
    return list(islice(machine, most))


class _Machine:
    """Runs the words of one file with one number format; iterating gives the holes."""

    def __init__(self, file: DrillFile, numbers: NumberFormat, plated: bool | None) -> None:
        self.file = file
        self.length = numbers.length
        self.unit = numbers.unit
        self.plated = plated
        self.at: _Point = (0.0, 0.0)
        self.tool = 0
        self.incremental = file.incremental
        self.motion = -1  # -1 drilling, else the last of G00 to G03
        self.down = False
        self.path: list[_Point] = []
        self.line = 0
        self.points = 0
        self.plunges = any(w in (("M", "15"), ("M", "14")) for ln in file.lines for w in ln.words)

    def __iter__(self) -> Iterator[Hole]:
        for line, words in self.file.lines:
            self.line = line
            yield from self._run(words)
        yield from self._lift()

    def _run(self, words: list[tuple[str, str]]) -> Iterator[Hole]:
        ahead: dict[str, float] = {}
        start: dict[str, float] | None = None
        repeats = 0
        aside = False
        for letter, raw in words:
            if letter in "XYAIJ":
                if raw.strip("+-."):
                    ahead[letter] = self.length(raw)
            elif letter == "R":
                repeats = int(raw or 0)
            elif letter == "T":
                yield from self._lift()
                self.tool = tool_number(raw, self.file.tools)
                self.motion = -1 if self.motion < 0 else 0
            elif letter == "G" and raw == "85":
                start, ahead = ahead, {}
            elif letter == "G":
                code = int(raw or -1)
                aside = code in _NO_PLACE
                if code == 4:
                    return
                yield from self._mode(code)
            elif letter == "M":
                yield from self._auxiliary(int(raw or -1))
        if aside:
            self._keep_origin(ahead)
        elif start is not None:
            first = self._to(start)
            self.at = first
            second = self._to(ahead)
            self.at = second
            yield self._hole([first, second] if first != second else [first])
        elif repeats:
            for _ in range(repeats):
                self.at = (self.at[0] + ahead.get("X", 0.0), self.at[1] + ahead.get("Y", 0.0))
                yield self._hole([self.at])
        elif "X" in ahead or "Y" in ahead:
            yield from self._move(ahead)

    def _keep_origin(self, ahead: dict[str, float]) -> None:
        if any(ahead.values()):
            raise ReadError(
                f"{self.file.name}:{self.line}",
                "a moved zero point",
                "coordinates from one zero point",
                "export the drill file without an offset",
            )

    def _mode(self, code: int) -> Iterator[Hole]:
        if code in (0, 1, 2, 3):
            if code == 0:
                yield from self._lift()
            self.motion = code
        elif code in (5, 81):
            yield from self._lift()
            self.motion = -1
        elif code in (90, 91):
            self.incremental = code == 91
        elif code not in _IDLE_G:
            raise ReadError(
                f"{self.file.name}:{self.line}",
                f"G{code:02d} is not understood",
                "drilling, G85 slots or routing",
                "export the drill file in plain Excellon or XNC",
            )

    def _auxiliary(self, code: int) -> Iterator[Hole]:
        if code in (14, 15):
            self.down = True
            self.path = [self.at]
        elif code in (16, 17, 18):
            yield from self._lift()
        elif code not in _IDLE_M:
            raise ReadError(
                f"{self.file.name}:{self.line}",
                f"M{code:02d} is not understood",
                "drilling or routing without repeated patterns",
                "export the drill file without step and repeat",
            )

    def _move(self, ahead: dict[str, float]) -> Iterator[Hole]:
        target = self._to(ahead)
        if self.motion < 0:
            self.at = target
            yield self._hole([target])
            return
        if self.motion > 0 and not self.down and not self.plunges:
            self.down, self.path = True, [self.at]  # rout file that never says M15
        if self.motion > 0 and self.down:
            self.path += self._stretch(target, ahead)
        self.at = target

    def _stretch(self, target: _Point, ahead: dict[str, float]) -> list[_Point]:
        clockwise = self.motion == 2
        if self.motion > 1 and "A" in ahead:
            return arc_by_radius(self.at, target, ahead["A"], clockwise)
        if self.motion > 1 and ("I" in ahead or "J" in ahead):
            centre = (self.at[0] + ahead.get("I", 0.0), self.at[1] + ahead.get("J", 0.0))
            return arc_by_centre(self.at, target, centre, clockwise)
        return [target]

    def _to(self, ahead: dict[str, float]) -> _Point:
        if self.incremental:
            return (self.at[0] + ahead.get("X", 0.0), self.at[1] + ahead.get("Y", 0.0))
        return (ahead.get("X", self.at[0]), ahead.get("Y", self.at[1]))

    def _lift(self) -> Iterator[Hole]:
        if self.down and self.path:
            path = [p for i, p in enumerate(self.path) if not i or p != self.path[i - 1]]
            tool = self.file.tools.get(self.tool)
            if tool is not None and tool.size is not None:
                yield self._hole(path)
        self.down, self.path = False, []

    def _hole(self, path: list[_Point]) -> Hole:
        self.points += len(path)
        if self.points > MOST:
            raise ReadError(self.file.name, f"more than {MOST} holes and points of paths")
        tool = self.file.tools.get(self.tool, Tool())
        if tool.size is None:
            raise ReadError(
                f"{self.file.name}:{self.line}",
                f"tool {self.tool} has no size",
                f"a line such as T{max(self.tool, 1):02d}C0.80 in the header",
                "export the drill file again, or leave it out with --layer ignore=FILE",
            )
        size = tool.size * (self.unit if tool.unit is None else tool.unit)
        reach = max(hypot(*p) for p in path)
        if not 0 <= size <= LARGEST or not reach < FARTHEST:
            x, y = path[0]
            raise ReadError(
                f"{self.file.name}:{self.line}",
                f"a hole of {size:.4g} mm at x {x:.4g}, y {y:.4g} mm",
                f"0 to {LARGEST:.0f} mm, less than {FARTHEST:.0f} mm from the origin",
                "check the unit of the file",
            )
        plated = tool.plated if tool.plated is not None else self.plated
        return Hole(tuple(path), size, plated, tool.function, self.file.name, self.line)
