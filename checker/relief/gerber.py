"""Channels in a Gerber file: the file kept word for word, clearing strokes put before its end.

Strokes of clear polarity with a round pen (Gerber layer format: 4.2 for what sets the state, 4.9
for polarity, 4.4.2 for the round aperture) take copper off whatever was drawn before, and leave
every attribute of it alone. Unit and number format may stand once in a file, so the strokes are
written in those of the file; whatever else is in force at its end is set before them.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.read.gerber.ending import MARK, WIDE, end_of
from checker.read.gerber.interpreter import Interpreter
from checker.read.gerber.words import StatementError
from checker.read.package import is_wide

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from checker.board import FileEnd, Floats
    from checker.relief.model import Channel

COARSEST = 0.003
"""Steps of coordinates in mm that strokes may be rounded to; four decimals of an inch are finer."""

_LEAST, _HIGHEST = 10, 2**31 - 1  # numbers of apertures
_APERTURE = re.compile(rb"D(\d{2,10})")
_TURNS = re.compile(rb"%\s*L[MRS]")  # statements that mirror, turn or scale apertures
_TAGS = re.compile(rb"%\s*T[AO]")
_TAGS_IN_COMMENTS = re.compile(rb"#@!\s*T[AO]")


class AppendError(Exception):
    """Why nothing can be put at the end of a file, in words."""


class Ending(Struct, frozen=True):
    """Where a file ends, and what is in force there.

    Attributes:
        at: byte before which strokes go; ``ended`` whether the end of the program follows.
        unit: mm of the file's unit; ``digits`` of its coordinates (whole, decimal), x and y.
        newline: how its lines end.
        aperture: a number that no aperture has.
        opening: statements that set what strokes need.
    """

    at: int
    ended: bool
    unit: float
    digits: tuple[tuple[int, int], tuple[int, int]]
    newline: str
    aperture: int
    opening: tuple[str, ...]


def refusal(end: FileEnd) -> str:
    """Why no stroke can be put into a file with that end, in words; "" where one can."""
    if not end.closed and end.step > COARSEST:
        return (
            f"its coordinates go in steps of {end.step:g} mm, too coarse to place a stroke by: "
            "export it with more decimals"
        )
    return end.closed


def ending_of(content: bytes, text: str) -> Ending:
    """Where strokes can be put into a file that was read without fault.

    Args:
        content: the file.
        text: the same as the reader has it.

    Raises:
        AppendError: no stroke can be put there, see `refusal`.
    """
    if is_wide(content):
        raise AppendError(WIDE)
    reader, words = Interpreter(), text.lstrip("\ufeff").split("*")
    if words[-1].strip() not in ("M02", "M00"):
        words.pop()
    try:
        reader.run(words)
    except StatementError as fault:
        raise AppendError(fault.found) from None
    if why := refusal(end_of(reader, text)):
        raise AppendError(why)
    units = reader.plotter.units
    assert units.format is not None  # or it were refused
    opening = ["G01*"]
    if reader.repeating:
        opening.append("%SR*%")
    if reader.plotter.incremental:
        opening.append("G90*")
    if _TURNS.search(content):
        opening += ["%LMN*%", "%LR0*%", "%LS1*%"]
    if _TAGS.search(content):
        opening.append("%TD*%")
    elif _TAGS_IN_COMMENTS.search(content):
        opening.append("G04 #@! TD*")
    used = [int(number) for number in _APERTURE.findall(content)]
    return Ending(
        _place(content, reader.ended),
        reader.ended is not None,
        units.mm,
        (units.format.x, units.format.y),
        "\r\n" if b"\r\n" in content else "\n",
        max([_LEAST - 1, *(number for number in used if number < _HIGHEST - 99)]) + 1,
        tuple(opening),
    )


def _place(content: bytes, ended: int | None) -> int:
    """The byte at which the end of the program begins, or that after the last statement."""
    if ended is None:
        return (
            len(content.rstrip(b"% \t\r\n\x1a\x00"))
            if content.rstrip().endswith(b"*")
            else len(content.rstrip(b" \t\r\n\x1a\x00"))
        )
    at = -1
    for _ in range(ended):
        at = content.index(b"*", at + 1)
    word = content[at + 1 :]
    return at + 1 + len(word) - len(word.lstrip(b"% \t\r\n\x00\xef\xbb\xbf"))


def appended(content: bytes, ending: Ending, channels: Iterable[Channel], width: float) -> bytes:
    """The file with strokes that clear the channels, for a cut of that width (mm) to pass."""
    lines = [f"G04 {MARK.format(width)}*", *ending.opening]
    pens: dict[float, int] = {}
    body: list[str] = []
    for channel in channels:
        number = pens.setdefault(channel.pen, ending.aperture + len(pens))
        body += [f"D{number}*", *_stroke(channel.path, ending)]
    lines += [f"%ADD{number}C,{_size(pen, ending)}*%" for pen, number in pens.items()]
    lines += ["%LPC*%", *body, "%LPD*%"]
    head = content[: ending.at]
    tail = content[ending.at :] if ending.ended else b"M02*\n"
    text = "".join(line + ending.newline for line in lines)
    gap = b"" if head.endswith(b"\n") else ending.newline.encode()
    return head + gap + text.encode() + tail


def _size(pen: float, ending: Ending) -> str:
    """The pen in the file's unit; never narrower than asked for."""
    return f"{math.ceil(pen / ending.unit * 1e6 - 1e-3) / 1e6:.6f}"


def _stroke(path: Floats, ending: Ending) -> Iterator[str]:
    (_, dx), (_, dy) = ending.digits
    steps = np.round(path / ending.unit * [10.0**dx, 10.0**dy]).astype(np.int64)
    kept = np.r_[True, (np.diff(steps, axis=0) != 0).any(axis=1)]
    for rank, (x, y) in enumerate(steps[kept].tolist()):
        yield f"X{_digits(x, ending.digits[0])}Y{_digits(y, ending.digits[1])}D0{1 if rank else 2}*"


def _digits(value: int, digits: tuple[int, int]) -> str:
    """All digits, so that it says the same whichever zeros the file leaves out."""
    return f"{'-' if value < 0 else ''}{abs(value):0{sum(digits)}d}"
