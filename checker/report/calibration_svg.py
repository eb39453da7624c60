"""The fit as a picture: readings, fitted line, where one more cut falls, and the profile's line."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from msgspec import Struct

from checker.calibration.measurements import DIRECTIONS
from checker.process.width import nominal_width
from checker.report import calibration_words as said
from checker.report import words
from checker.report.svg import FAINT, INK, PAPER

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from checker.calibration import Calibration

MARKS = {"x": "M-6 0H6", "y": "M0-6V6", "diagonal": "M-5 5L5-5", "": "M-3-3H3V3H-3z"}
"""How a reading is drawn: a stroke along its groove, a square where the file doesn't say."""

_LINE, _BAND, _BEFORE = "#0a5a68", "#8fc4c9", "#a12612"
_WIDE, _HIGH = 760, 470
_LEFT, _RIGHT, _TOP, _BOTTOM = 64, 20, 46, 62  # margins
_STEPS = 48  # of the curves
_TICKS = 6
_LETTER = 6.4  # room for a letter of the key
_ASIDE, _MOST_ASIDE = 9.0, 60.0  # room for a mark beside another, and for all of a depth
_FONT = 'font-family="Helvetica, Arial, sans-serif"'


class _Frame(Struct, frozen=True):
    """From depth and width in mm to the picture."""

    deepest: float
    low: float
    high: float

    def x(self, depth: float) -> float:
        return _LEFT + depth / self.deepest * (_WIDE - _LEFT - _RIGHT)

    def y(self, width: float) -> float:
        share = (width - self.low) / (self.high - self.low)
        return _HIGH - _BOTTOM - share * (_HIGH - _TOP - _BOTTOM)

    def curve(self, width: Callable[[float], float], start: str = "M") -> str:
        depths = [self.deepest * step / _STEPS for step in range(_STEPS + 1)]
        return self.path(((depth, width(depth)) for depth in depths), start)

    def path(self, points: Iterator[tuple[float, float]], start: str = "M") -> str:
        placed = (f"{self.x(depth):.1f} {self.y(width):.1f}" for depth, width in points)
        return start + "L".join(placed)


def calibration_svg(calibration: Calibration) -> str:
    """Width by depth, the profile's depth marked."""
    frame = _frame(calibration)
    title = f"Width of the cut by depth: {said.head(calibration)}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" '
        f'role="img" aria-label="{escape(title, {chr(34): "&quot;"})}" {_FONT} font-size="13">',
        "<!-- made by cutworthy -->",
        f'<rect width="{_WIDE}" height="{_HIGH}" fill="{PAPER}"/>',
        *_axes(frame),
        *_curves(calibration, frame),
        *_readings(calibration, frame),
        *_key(calibration),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _frame(calibration: Calibration) -> _Frame:
    line, depth = calibration.line, calibration.width.depth
    readings = calibration.measurements.readings
    deepest = 1.08 * max(depth, *(reading.depth for reading in readings)) or 1.0
    ends = [_one_more(calibration, at) for at in (0.0, deepest)]
    widths = [width for end in ends for width in end] + [reading.width for reading in readings]
    widths += [nominal_width(line.bit, at) for at in (0.0, deepest)]
    room = 0.06 * (max(widths) - min(widths)) or 0.1
    return _Frame(deepest, max(0.0, min(widths) - room), max(widths) + room)


def _one_more(calibration: Calibration, depth: float) -> tuple[float, float]:
    """Where one more cut falls, whatever its direction."""
    low, high = calibration.line.reading(depth).interval
    narrowest, widest = calibration.width.aside
    return low + narrowest, high + widest


def _axes(frame: _Frame) -> Iterator[str]:
    left, bottom = frame.x(0), frame.y(frame.low)
    for width in _ticks(frame.low, frame.high):
        y = frame.y(width)
        yield (
            f'<path d="M{left} {y:.1f}H{_WIDE - _RIGHT}" stroke="{FAINT}" stroke-opacity=".25"/>'
            f'<text x="{left - 8}" y="{y + 4:.1f}" text-anchor="end" fill="{FAINT}">{width:g}'
            "</text>"
        )
    for depth in _ticks(0, frame.deepest):
        x = frame.x(depth)
        yield (
            f'<path d="M{x:.1f} {bottom}v6" stroke="{FAINT}"/><text x="{x:.1f}" '
            f'y="{bottom + 20}" text-anchor="middle" fill="{FAINT}">{depth:g}</text>'
        )
    yield (
        f'<path d="M{left} {_TOP}V{bottom}H{_WIDE - _RIGHT}" fill="none" stroke="{INK}"/>'
        f'<text x="{(left + _WIDE - _RIGHT) / 2}" y="{_HIGH - 22}" text-anchor="middle" '
        f'fill="{INK}">depth, mm</text>'
        f'<text transform="translate(18 {(_TOP + bottom) / 2:.0f}) rotate(-90)" '
        f'text-anchor="middle" fill="{INK}">width of the cut, mm</text>'
    )


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers between two."""
    rough = (high - low) / _TICKS
    power = 10 ** math.floor(math.log10(rough))
    step = next(power * by for by in (1, 2, 5, 10) if power * by >= rough)
    first, last = math.ceil(low / step), math.floor(high / step)
    return [round(number * step, 6) for number in range(first, last + 1)]


def _curves(calibration: Calibration, frame: _Frame) -> Iterator[str]:
    line = calibration.line
    ends = [frame.deepest * step / _STEPS for step in range(_STEPS + 1)]
    upper = frame.curve(lambda depth: _one_more(calibration, depth)[1])
    back = ((depth, max(frame.low, _one_more(calibration, depth)[0])) for depth in reversed(ends))
    yield f'<path d="{upper}{frame.path(back, "L")}z" fill="{_BAND}" fill-opacity=".45"/>'
    before = frame.curve(lambda depth: nominal_width(line.bit, depth))
    yield (
        f'<path d="{before}" fill="none" stroke="{_BEFORE}" stroke-width="1.5" '
        'stroke-dasharray="7 5"/>'
    )
    fitted = frame.curve(lambda depth: line.mean(depth).value)
    yield f'<path d="{fitted}" fill="none" stroke="{_LINE}" stroke-width="2"/>'
    depth, spread = calibration.width.depth, calibration.width.spread
    x, y = frame.x(depth), frame.y(spread.nominal)
    low, high = frame.y(max(frame.low, spread.least)), frame.y(min(frame.high, spread.most))
    yield (
        f'<path d="M{x:.1f} {low:.1f}V{high:.1f}M{x - 6:.1f} {low:.1f}h12'
        f'M{x - 6:.1f} {high:.1f}h12" fill="none" stroke="{INK}" stroke-width="1.5"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>'
    )


def _readings(calibration: Calibration, frame: _Frame) -> Iterator[str]:
    """Those of one depth side by side, so that none hides another."""
    readings = calibration.measurements.readings
    counts = Counter(reading.depth for reading in readings)
    seen: Counter[float] = Counter()
    for reading in readings:
        count = counts[reading.depth]
        aside = min(_ASIDE, _MOST_ASIDE / count) * (seen[reading.depth] - (count - 1) / 2)
        seen[reading.depth] += 1
        at = f"{frame.x(reading.depth) + aside:.1f} {frame.y(reading.width):.1f}"
        along = f", along {reading.along}" if reading.along else ""
        place = words.plain(reading.place)
        says = f"{reading.width:g} mm at {reading.depth:g} mm{along}, {place}".rstrip(", ")
        yield (
            f'<path transform="translate({at})" d="{MARKS[reading.along]}" fill="none" '
            f'stroke="{INK}" stroke-width="1.8"><title>{escape(says)}</title></path>'
        )


def _key(calibration: Calibration) -> Iterator[str]:
    told = {reading.along for reading in calibration.measurements.readings}
    band = f'<path d="M-14-6H10V6H-14z" fill="{_BAND}" fill-opacity=".45"/>'
    entries = [
        (f'<path d="M-14 0H10" stroke="{_LINE}" stroke-width="2"/>', "fitted"),
        (band, "one more cut, 95 %"),
        (f'<path d="M-14 0H10" stroke="{_BEFORE}" stroke-dasharray="7 5"/>', "catalogue"),
        (f'<circle r="4" fill="{INK}"/>', "into the profile"),
    ]
    entries += [
        (f'<path d="{MARKS[along]}" stroke="{INK}" stroke-width="1.8" fill="none"/>', along)
        for along in DIRECTIONS
        if along in told
    ]
    x = _LEFT + 16.0
    for mark, name in entries:
        yield (
            f'<g transform="translate({x:.0f} 22)">{mark}'
            f'<text x="14" y="4" fill="{INK}">{escape(name)}</text></g>'
        )
        x += 44 + _LETTER * len(name)
