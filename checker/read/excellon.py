"""Drill and rout files, Excellon (IPC-NC-349) and its strict subset XNC: header, tools and words.

The text is split once into words; how its whole numbers are meant (unit, digits, zeros) is decided
by the header or, where the header is silent, by trying several ways on one file. What the words
drill and rout is worked out in `checker.read.machine`.

Sources: XNC revision 2021.11 (header M48 to % or M95, METRIC and INCH, T<n>C<diameter>, G85 slots,
M15/M16 rout, X2 attributes as ``; #@!`` comments) and IPC-NC-349 for what older exporters write.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from checker.errors import ReadError
from checker.read.remarks import Remarks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.board import Note

INCH = 25.4
LONGEST = 40  # characters of a number
MOST_LINES = 250_000  # the largest drill file met has 5 000

_WORD = re.compile(r"([A-Z])([-+]?\d*\.?\d*)")
_UNITS = re.compile(r"^(INCH|METRIC)\b(.*)$")
_DIGITS = re.compile(r"\b(0{1,9})\.(0{1,9})\b")
# Statements to the machine such as FMAT,2 or VER,1 or R,T; and what starts like a place or code.
_MACHINE = re.compile(r"[A-Z]+\d*,(?![\d.])|(FMAT|VER|ICI|M9[78]),")
_PLACE = re.compile(r"[XYGT][-+.\d]")
_TOOL = re.compile(r"^T(\d{1,6})((?:[A-Z][-+]?[\d.]+)*)$")
_SIZE = re.compile(
    r"(?:\bT(\d{1,6})\s+)?\bhole ?size\s+(\d{1,6})\.?\s*=\s*(\d{1,9}\.?\d{0,9})(.*)$", re.IGNORECASE
)
_SIZE_UNIT = {"mm": 1.0, "metric": 1.0, "mil": 0.0254, "inch": INCH, "in": INCH, "micron": 0.001}
_FORMAT = re.compile(r"FORMAT=\{?(\d|-)[:.](\d|-)([^}]*)")
_OF_VIAS = re.compile(r"layer:.*[^a-z]vias?$", re.IGNORECASE)  # "Layer: PTH_Through_Via"
_ATTRIBUTE = re.compile(r"#@!\s*(T[FAD])\.?(\w*)(?:,(.*?))?\*?$")


class NumberFormat(Struct, frozen=True):
    """How coordinates without a decimal point are meant.

    Attributes:
        unit: mm per unit, 1 or 25.4.
        whole, fraction: digits before and after the point that is not written.
        leading: leading zeros are kept and trailing ones left out ("LZ"); else the reverse.
    """

    unit: float
    whole: int
    fraction: int
    leading: bool = False

    def __str__(self) -> str:
        unit = "inch" if self.unit == INCH else "mm"
        return f"{unit} {self.whole}.{self.fraction} {'LZ' if self.leading else 'TZ'}"

    def length(self, raw: str) -> float:
        """A coordinate in mm."""
        if "." in raw:
            return float(raw) * self.unit
        digits = raw.lstrip("+-")
        if self.leading:
            value = float(f"{digits[: self.whole].ljust(self.whole, '0')}.{digits[self.whole :]}")
        else:
            value = int(digits) / float(10**self.fraction)
        return (-value if raw[0] == "-" else value) * self.unit


class Header(Struct, frozen=True):
    """What the file says of its numbers; None where it is silent."""

    unit: float | None = None
    whole: int | None = None
    fraction: int | None = None
    leading: bool | None = None


class Tool(Struct, frozen=True):
    """A tool: ``size`` in ``unit`` mm (None: the unit of the file), plating and drill function."""

    size: float | None = None
    unit: float | None = None
    plated: bool | None = None
    function: str | None = None


class _Line(NamedTuple):
    number: int
    words: list[tuple[str, str]]


class DrillFile(Struct, frozen=True, eq=False):
    """A drill file split into words.

    Attributes:
        header: what it says of its numbers.
        whole_numbers: whether any coordinate has no decimal point.
        digits: least and most digits of such coordinates.
        suppressed: whether their trailing zeros look left out (True), or their leading ones
            (False); None where they show neither.
        plated: plating the file states for all its tools.
        ended: whether it states the end of its program.
    """

    name: str
    header: Header
    tools: dict[int, Tool]
    lines: list[_Line]
    plated: bool | None
    whole_numbers: bool
    digits: tuple[int, int]
    suppressed: bool | None
    incremental: bool
    ended: bool
    notes: tuple[Note, ...]

    @property
    def drills(self) -> bool:
        """Whether the file holds any coordinate at all."""
        return any(letter in "XY" for line in self.lines for letter, _ in line.words)

    @property
    def unsized(self) -> tuple[int, ...]:
        """Tools that are used and have no size."""
        return tuple(sorted(self._used() - self._sized() - {0}))

    @property
    def sized(self) -> bool:
        """Whether any tool that is used has a size."""
        return bool(self._used() & self._sized())

    def _used(self) -> set[int]:
        words = [word for line in self.lines for word in line.words]
        return {tool_number(raw, self.tools) for letter, raw in words if letter == "T"}

    def _sized(self) -> set[int]:
        return {number for number, tool in self.tools.items() if tool.size is not None}


def parse_drill(text: str, name: str) -> DrillFile:
    """Split a drill file into words and read its header.

    Raises:
        ReadError: a word that is not understood, or more lines than any board needs.
    """
    lines = text.count("\n")
    if lines > MOST_LINES:
        raise ReadError(name, f"{lines} lines", f"at most {MOST_LINES}")
    reader = _Header(name)
    ended = any(reader.take(n, line.strip()) for n, line in enumerate(text.split("\n"), 1))
    coordinates = [
        raw.lstrip("+-")
        for line in reader.lines
        for letter, raw in line.words
        if letter in "XY" and raw
    ]
    whole = [raw for raw in coordinates if raw and "." not in raw]
    lengths = [len(raw) for raw in whole]
    return DrillFile(
        name,
        reader.header,
        reader.tools,
        reader.lines,
        reader.plated,
        bool(whole),
        (min(lengths, default=0), max(lengths, default=0)),
        _suppressed([raw for raw in whole if len(raw) > 1]),
        reader.incremental,
        ended,
        reader.remarks.notes(name),
    )


def tool_number(raw: str, tools: Mapping[int, Tool]) -> int:
    """The tool a T word loads; four digits hold a compensation index in the last two."""
    number = int(raw or 0)
    return number // 100 if len(raw) == 4 and number not in tools else number


def _is_number(letter: str, raw: str) -> bool:
    """Whether a word's number is one: whole for codes, signed for coordinates, or none at all.

    No code is called E: where one stands, a number was written with an exponent.
    """
    if len(raw) > LONGEST or letter == "E":
        return False
    if letter in "GMTR":
        return raw.isdigit() or (raw == "" and letter != "T")
    return letter not in "XYAIJ" or raw.lstrip("+-").replace(".", "", 1).isdigit() or not raw


def _suppressed(digits: list[str]) -> bool | None:
    """Numbers of one length keep all zeros; else one end never shows a zero: it is left out."""
    leads, trails = any(d[0] == "0" for d in digits), any(d[-1] == "0" for d in digits)
    return None if leads == trails or len({len(d) for d in digits}) < 2 else leads


class _Header:
    """Reads line by line: comments, header statements, tools; the rest is split into words."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.header = Header()
        self.tools: dict[int, Tool] = {}
        self.lines: list[_Line] = []
        self.plated: bool | None = None
        self.incremental = False
        self.remarks = Remarks()
        self._inside = False
        self._group: bool | None = None  # plating of the tools that follow
        self._function: str | None = None
        self._function_plated: bool | None = None

    def take(self, number: int, line: str) -> bool:
        """Take one line; True at the end of the program."""
        if ";" in line:
            line, _, comment = line.partition(";")
            self._comment(comment.strip())
            line = line.strip()
        if not line or line.startswith(("M47", "(")):
            return False
        line = line.upper().replace(" ", "").rstrip("*")
        units = _UNITS.match(line)
        tool = _TOOL.match(line)
        if line == "M48":
            self._inside = True
        elif line in ("%", "M95"):
            self._inside = False
        elif units:
            self._units(units[1], units[2])
        elif line in ("M71", "M72", "G70", "G71"):
            self._set_unit(1.0 if line in ("M71", "G71") else INCH, number)
        elif line in ("ICI,ON", "ICI"):
            self.incremental = True
        elif tool and ("C" in tool[2] or self._inside):
            self._tool(int(tool[1]), tool[2], number)
        elif _MACHINE.match(line):
            pass
        elif line in ("M30", "M00"):
            return True
        else:
            self._split(number, line)
        return False

    def _split(self, number: int, line: str) -> None:
        words = _WORD.findall(line)
        whole = "".join(letter + raw for letter, raw in words) == line
        if line.isalpha() or not (whole or _PLACE.match(line)):
            self.remarks.add(number, f"ignored: {line[:40]}")
            return
        # A coordinate or a code that is not understood would lose a hole: no guessing here.
        bad = [letter + raw for letter, raw in words if not _is_number(letter, raw)]
        if bad or not whole:
            raise ReadError(
                f"{self.name}:{number}",
                f"{bad[0][:20] if bad else line[:40]!r} is not understood",
                "words such as X12.5, T1 or G85",
            )
        if {("M", "70"), ("M", "80"), ("M", "90")} & set(words):
            text = f"{line[:40]} (swaps or mirrors axes) ignored: look at the holes' places"
            self.remarks.add(number, text)
        self.lines.append(_Line(number, words))

    def _set_unit(self, unit: float, number: int) -> None:
        if self.header.unit is None:
            self.header = replace(self.header, unit=unit)
        elif self.header.unit != unit:
            self.remarks.add(number, "a second unit; the first one holds")

    def _units(self, name: str, rest: str) -> None:
        unit = INCH if name == "INCH" else 1.0
        digits = _DIGITS.search(rest)
        found = replace(self.header, unit=unit)
        if "LZ" in rest or "TZ" in rest:
            found = replace(found, leading="LZ" in rest)
        if digits:
            found = replace(found, whole=len(digits[1]), fraction=len(digits[2]))
        self.header = found

    def _tool(self, number: int, rest: str, line: int) -> None:
        words = _WORD.findall(rest)
        sizes = [raw for letter, raw in words if letter == "C"]
        if any(letter == "E" for letter, _ in words):
            raise ReadError(
                f"{self.name}:{line}",
                f"tool {number} has the size {rest[:20]!r}",
                "a number without an exponent, such as C0.80",
                "export the drill file again",
            )
        old = self.tools.get(number, Tool())
        size = old.size
        unit = old.unit
        if sizes:
            try:
                size, unit = float(sizes[0]) or None, None
            except ValueError:
                raise ReadError(
                    f"{self.name}:{line}", f"tool {number} has the size {sizes[0]!r}", "a number"
                ) from None
        plated = self._function_plated if self._function_plated is not None else self._group
        self.tools[number] = Tool(
            size,
            unit,
            plated if plated is not None else old.plated,
            self._function or old.function,
        )
        if not self._inside:  # defined where it is used: it is loaded as well
            self.lines.append(_Line(line, [("T", str(number))]))

    def _comment(self, text: str) -> None:
        upper = text.upper().replace(" ", "")
        attribute = _ATTRIBUTE.search(text)
        size = _SIZE.search(text)
        hint = _FORMAT.search(upper)
        if attribute:
            self._attribute(attribute[1], attribute[2], attribute[3] or "")
        elif size:
            self._sized(size)
        elif upper.startswith("TYPE="):
            self._group = upper[5:].startswith("PLATED")
            if not self.tools:
                self.plated = self._group
            elif self.plated not in (None, self._group):
                self.plated = None  # groups of both kinds: each tool knows its own
        elif _OF_VIAS.match(text):
            self._function = "ViaDrill"
        elif hint:
            self._hint(hint[1], hint[2], hint[3])

    def _attribute(self, command: str, name: str, value: str) -> None:
        fields = [field.strip() for field in value.split(",")]
        if command == "TF" and name == "FileFunction":
            self.plated = {"Plated": True, "NonPlated": False}.get(fields[0])
        elif command == "TA" and name == "AperFunction":
            self._function_plated = {"Plated": True, "NonPlated": False}.get(fields[0])
            self._function = next((f for f in fields if f.endswith("Drill")), None)
        elif command == "TD" and name in ("", "AperFunction"):
            self._function = self._function_plated = None

    def _sized(self, size: re.Match[str]) -> None:
        number, rest = int(size[1] or size[2]), size[4].lower()
        unit = next((u for key, u in _SIZE_UNIT.items() if re.search(rf"\b{key}", rest)), None)
        plated = self._group
        if "plated" in rest:
            plated = re.search(r"\bnon[_ -]?plated", rest) is None
        if self.tools.get(number, Tool()).size is None:  # the tool's own line counts for more
            self.tools[number] = Tool(float(size[3]) or None, unit, plated)

    def _hint(self, whole: str, fraction: str, rest: str) -> None:
        found = self.header
        if found.whole is None and whole.isdigit() and fraction.isdigit():
            found = replace(found, whole=int(whole), fraction=int(fraction))
        if found.unit is None and ("INCH" in rest or "METRIC" in rest):
            found = replace(found, unit=INCH if "INCH" in rest else 1.0)
        if "SUPPRESS" in rest:
            found = replace(found, leading="TRAIL" in rest)
        self.header = found
