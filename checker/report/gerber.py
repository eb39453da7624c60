"""Findings as a Gerber X2 layer, to load over the layout in any viewer of Gerber files.

Every finding is a flash right at its place with a frame round it and the number of its cause in
the text report beside it; what concerns the whole board stands in a row below it. Lines are
strokes, digits too, so that nothing depends on a viewer's fonts. Attributes of the objects tell
which finding it is (Gerber layer format, 5.5 and 5.6).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from checker.findings import Finding, Report

    Point = tuple[float, float]

BEGINS = "G04 Findings of cutworthy*\n"
_UNIT = 1_000_000  # units in a mm: digits of format 4.6
_PEN, _DOT = 0.1, 0.2  # mm
_SIZE = 0.6  # mm from the middle of a mark to its corners
_DIGIT, _ADVANCE = 1.0, 0.7  # mm: height of a digit, and from one to the next
_BELOW, _APART = 3.0, 4.0  # mm: of what concerns the whole board
_LONGEST = 300
_LONGEST_REASON = 4000  # with all that could not be checked for it

# Strokes in tenths of a digit's height: of a number, and of the frame round a mark.
_SEGMENTS = {
    "a": ((0, 10), (5, 10)),
    "b": ((5, 10), (5, 5)),
    "c": ((5, 5), (5, 0)),
    "d": ((0, 0), (5, 0)),
    "e": ((0, 5), (0, 0)),
    "f": ((0, 10), (0, 5)),
    "g": ((0, 5), (5, 5)),
}
_DIGITS = ("abcdef", "fe", "abged", "abgcd", "fgbc", "afgcd", "afgedc", "abc", "abcdefg", "abcdfg")
_FRAMES = {
    "not-makeable": ((10, 0), (0, 10), (-10, 0), (0, -10)),
    "marginal": ((0, 10), (-10, -7), (10, -7)),
    "remark": ((10, 4), (4, 10), (-4, 10), (-10, 4), (-10, -4), (-4, -10), (4, -10), (10, -4)),
}


def gerber(report: Report) -> str:
    """The layer, in the coordinates of the board's files."""
    from checker import __version__

    lines = [
        BEGINS.rstrip(),
        *(
            f"%TF{name},{','.join(_field(value, _LONGEST_REASON) for value in values)}*%"
            for name, *values in (
                (".GenerationSoftware", "cutworthy", "cutworthy", __version__),
                (".FileFunction", "Other", "Findings"),
                (".FilePolarity", "Positive"),
                ("CutworthyBoard", report.board.name),
                ("CutworthyProfile", report.process.name),
                ("CutworthyVerdict", report.verdict.value),
                *_unchecked(report),
            )
        ),
        "%FSLAX46Y46*%",
        "%MOMM*%",
        "%TA.AperFunction,Other,Finding*%",
        f"%ADD10C,{_PEN}*%",
        f"%ADD11C,{_DOT}*%",
        "%TD*%",
        "%LPD*%",
        "G01*",
    ]
    numbers = {
        found.id: number
        for number, cause in enumerate(report.causes, 1)
        for found in cause.findings
    }
    for found, place in _placed(report):
        lines += _mark(found, place, numbers.get(found.id, 0))
    return "\n".join([*lines, "M02*", ""])


def _unchecked(report: Report) -> Iterator[tuple[str, ...]]:
    """An attribute with a field for each reason: a layer without marks must not pass for a pass."""
    reasons = words.by_reason(report.unchecked)
    if reasons:
        yield "CutworthyUnchecked", *(f"{', '.join(what)}: {why}" for why, what in reasons.items())


def _placed(report: Report) -> Iterator[tuple[Finding, Point]]:
    """Every finding with where its mark stands."""
    left, bottom, *_ = report.board.box
    for found in report.findings:
        if found.seen.x is not None and found.seen.y is not None:
            yield found, (found.seen.x, found.seen.y)
        else:
            yield found, (left, bottom - _BELOW)
            left += _APART


def _mark(found: Finding, place: Point, number: int) -> Iterator[str]:
    seen = found.seen
    for name, value in (
        ("Id", found.id),
        ("Rule", found.rule),
        ("Severity", found.severity.value),
        ("State", seen.state.value),
        ("Side", seen.side or "board"),
        ("Message", words.message(found)),
        ("Remedy", seen.remedy),
    ):
        yield f"%TOCutworthy{name},{_field(value)}*%"
    yield "D11*"
    yield f"{_at(place)}D03*"
    yield "D10*"
    frame = _FRAMES[seen.state.value]
    yield from _stroke((*frame, frame[0]), place, _SIZE)
    x, y = place[0] + 1.5 * _SIZE, place[1] - _DIGIT / 2
    for rank, digit in enumerate(str(number)):
        for segment in _DIGITS[int(digit)]:
            yield from _stroke(_SEGMENTS[segment], (x + rank * _ADVANCE, y), _DIGIT)
    yield "%TD*%"


def _stroke(points: Iterable[tuple[int, int]], origin: Point, size: float) -> Iterator[str]:
    """A line through points given in tenths of a size."""
    for rank, (x, y) in enumerate(points):
        at = (origin[0] + x * size / 10, origin[1] + y * size / 10)
        yield f"{_at(at)}D0{1 if rank else 2}*"


def _at(place: Point) -> str:
    x, y = (round(length * _UNIT) for length in place)
    return f"X{x}Y{y}"


def _field(text: str, longest: int = _LONGEST) -> str:
    """A field of an attribute (3.4.3 of the format): what would end it is written as its code."""
    return "".join(
        letter if letter.isascii() and letter not in '%*,\\"' else _coded(letter)
        for letter in words.plain(text, longest)
    )


def _coded(letter: str) -> str:
    units = letter.encode("utf-16-be")
    return "".join(f"\\u{units[i : i + 2].hex().upper()}" for i in range(0, len(units), 2))
