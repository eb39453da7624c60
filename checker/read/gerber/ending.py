"""The end of a Gerber file: whether anything can be drawn after it, and how exactly."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from checker.board import FileEnd

if TYPE_CHECKING:
    from checker.read.gerber.interpreter import Interpreter

MARK = "Relief by cutworthy for a cut of {:.3f} mm"  # the comment that relief leaves
WIDE = "it is written in letters of two bytes"

_MARKS = re.compile(r"G04 " + re.escape(MARK).replace(r"\{:\.3f\}", r"(\d+\.\d{3})") + r"\*")
_CHECKSUM = "TF.MD5"


def end_of(interpreter: Interpreter, text: str) -> FileEnd:
    """What is known of a file's end once all its words are obeyed.

    Args:
        interpreter: that obeyed them.
        text: of the file.
    """
    return FileEnd(interpreter.plotter.units.step, relieved_for(text), _closed(interpreter, text))


def relieved_for(text: str) -> float:
    """The widest cut, mm, that a file has been relieved for; 0 where it never was."""
    return max((float(width) for width in _MARKS.findall(text)), default=0.0)


def _closed(interpreter: Interpreter, text: str) -> str:
    """Why nothing can be drawn after what the file draws; "" where it can."""
    if _CHECKSUM in text:
        return "it ends with a checksum of itself"
    if not interpreter.plotter.units.step:
        return "it states no unit or number format"
    if interpreter.moved:
        return "statements withdrawn from the format move or scale its whole image"
    return f"it ends inside {interpreter.unfinished}" if interpreter.unfinished else ""
