"""One Gerber file: text in, statements obeyed, shapes made when they are asked for."""

from __future__ import annotations

from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.errors import ReadError
from checker.plural import count
from checker.read.gerber.curves import TOLERANCE
from checker.read.gerber.ending import end_of
from checker.read.gerber.flatten import flatten
from checker.read.gerber.interpreter import Interpreter
from checker.read.gerber.shapes import largest_scale, make_shapes
from checker.read.gerber.units import MM_PER_INCH
from checker.read.gerber.words import StatementError, lines_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from checker.board import DrawnObjects, FileEnd, Ints, Note, Shapes
    from checker.read.gerber.drawing import Drawing

# Characters and words; ten times the largest layer met.
LONGEST = 16_000_000
MOST_WORDS = 1_000_000


class GerberFile(Struct, frozen=True, eq=False, dict=True):
    """What a Gerber file says and draws.

    Attributes:
        name: file name as the user would find it.
        attributes: file attributes without the leading dot, such as
            ``{"FileFunction": ("Copper", "L1", "Top")}``.
        comments: plain comments and image or layer names of the first part of the file.
        unit: "mm" or "in".
        operations: draws, arcs and flashes in the file (moves are not counted).
        notes: everything ignored or guessed, with its line.
        mounts: component -> value of .CMnt, such as "SMD", in a component layer.
        end: what one has to know who would draw more into it.
        doubts: why it may hold more than was read, each in words.
    """

    name: str
    attributes: Mapping[str, tuple[str, ...]]
    comments: tuple[str, ...]
    unit: str
    operations: int
    notes: tuple[Note, ...]
    mounts: Mapping[str, str]
    end: FileEnd
    _drawing: Drawing
    _names: Mapping[str, int]
    _lines: Ints
    doubts: tuple[str, ...] = ()

    @cached_property
    def objects(self) -> DrawnObjects:
        """The shapes of all that is drawn, made at the first call.

        Raises:
            ReadError: a macro in use that cannot be made, or shapes beyond all bounds.
        """
        try:
            return make_shapes(self._drawing, self._names, self._lines)
        except StatementError as fault:
            raise ReadError(self.name, fault.found, fault.expected, fault.advice) from None

    @property
    def tolerance(self) -> float:
        """Bound in mm on the distance between a drawn and a true boundary.

        A block's curves are made of chords before it is enlarged, and the chords grow with it.
        """
        return TOLERANCE * largest_scale(self._drawing)

    def islands(self, remark: Callable[[str], None] | None = None) -> tuple[Shapes, Ints]:
        """What `checker.read.gerber.flatten` makes of the objects.

        Raises:
            ReadError: as `objects`, or objects that lie on each other beyond all bounds.
        """
        try:
            return flatten(self.objects, remark)
        except StatementError as fault:
            raise ReadError(self.name, fault.found, fault.expected, fault.advice) from None


def parse_gerber(text: str, name: str) -> GerberFile:
    """Read the text of a Gerber file.

    Args:
        text: all of it.
        name: what messages call it.

    Raises:
        ReadError: it is no Gerber file, it is cut off, or it states what cannot be drawn.
    """
    _refuse_other_files(text, name)
    if "\n" not in text:
        text = text.replace("\r", "\n")
    words = text.lstrip("\ufeff").split("*")
    tail = words.pop()
    if tail.strip() in ("M02", "M00"):
        words.append(tail)  # complete but for its asterisk
    lines = lines_of(words)
    interpreter = Interpreter()
    plotter = interpreter.plotter
    try:
        interpreter.run(words)
    except StatementError as fault:
        where = f"{name}:{lines[plotter.at]}"
        raise ReadError(where, fault.found, fault.expected, fault.advice) from None
    if not interpreter.recognised:
        raise ReadError(name, "no Gerber statement in it", "a Gerber layer file")
    if interpreter.ended is None:
        _check_end(interpreter, tail, name, text)
    elif "".join(words[interpreter.ended + 1 :]).strip("% \t\r\n\x1a"):
        plotter.remark("text after the end of the program, ignored")
    return GerberFile(
        name=name,
        attributes=MappingProxyType(plotter.attributes.file),
        comments=tuple(interpreter.comments),
        unit="in" if plotter.units.unit == MM_PER_INCH else "mm",
        operations=plotter.operations,
        notes=plotter.remarks.notes(name, lambda at: int(lines[at])),
        mounts=MappingProxyType(plotter.attributes.mounts),
        end=end_of(interpreter, text),
        _drawing=plotter.nest.drawing,
        _names=plotter.attributes.names,
        _lines=lines,
        doubts=_doubts(interpreter, lines),
    )


def _doubts(interpreter: Interpreter, lines: Ints) -> tuple[str, ...]:
    """Why more may be drawn than was: the file may be cut off, or says what is not understood."""
    doubts = []
    if interpreter.ended is None:
        doubts.append("no end of program (M02): the file may be cut off; export or copy it again")
    elif interpreter.unfinished:
        doubts.append(f"the file ends inside {interpreter.unfinished}; export or copy it again")
    if interpreter.unknown:
        first = int(lines[interpreter.unknown[0]])
        told = count(len(interpreter.unknown), "statement")
        doubts.append(f"{told} not understood, the first in line {first}; export the layer anew")
    return tuple(doubts)


def _refuse_other_files(text: str, name: str) -> None:
    if len(text) > LONGEST:
        raise ReadError(name, f"{len(text)} characters", f"at most {LONGEST}")
    if "\0" in text:
        raise ReadError(name, "zero bytes in it", "a Gerber layer file, which is plain text")
    words = text.count("*")
    if words > MOST_WORDS:
        raise ReadError(name, f"{words} statements", f"at most {MOST_WORDS}")
    if not words:
        raise ReadError(name, "no Gerber statement in it", "a Gerber layer file")


def _check_end(interpreter: Interpreter, tail: str, name: str, text: str) -> None:
    """A file without M02 is taken as whole only where it stops between two statements."""
    if tail.strip("% \t\r\n\x1a"):
        reason = "in mid-statement"
    elif interpreter.extended ^ (tail.count("%") % 2 == 1):
        reason = "inside a % block"
    elif interpreter.unfinished:
        reason = f"inside {interpreter.unfinished}"
    else:
        interpreter.plotter.remark("no end of program (M02), taken as complete")
        return
    last = 1 + text.rstrip().count("\n")
    raise ReadError(
        f"{name}:{last}", f"file ends {reason}", "M02* at its end", "export or copy it again"
    )
