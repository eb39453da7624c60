"""A picture of a board and its faults as one SVG: both sides, marks, and what they are about."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from msgspec import Struct

from checker.measure.leftover.pieces import blank_of
from checker.report import accepted, words
from checker.report.drawing import Frame, holes, outer_layers, strokes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from checker.board import Board
    from checker.findings import Cause, Report
    from checker.measure import Facts

PAPER, INK, FAINT = "#f7f4ec", "#1d2a33", "#5b6a73"
LAMINATE, COPPER, EDGE, LEGEND, MASK = "#1c2b2e", "#cf8f5b", "#efe9d9", "#efe9d9", "#7fd0d6"
BEAR = {"not-makeable": "#ff8f73", "marginal": "#f5c451", "remark": "#b9c7ff"}
"""Colour of a mark by state; its shape says the same."""
TEXT = {
    "not-makeable": "#a12612",
    "marginal": "#7a4d00",
    "makeable": "#0a5a68",
    "not-checked": "#4a4f57",
    "remark": "#3d4a8f",
}

_FONT = 'font-family="Helvetica, Arial, sans-serif"'
_WIDE = 1200  # pixels
_MOST_MARKS = 400  # beside the numbered ones
_MOST_CAUSES = 12
_LETTERS = 96  # of a line below the picture
_LINE = 1.6  # heights of a letter from line to line


class Layer(Struct, frozen=True):
    """The groups of one side, each markup in the drawing's own coordinates, "" where empty."""

    side: str
    outline: str
    copper: str
    mask: str
    legend: str
    holes: str


def layer_of(board: Board, frame: Frame, index: int) -> Layer:
    """What is drawn of a side; island i of the layer is path i of the copper's group."""
    layer = board.copper[index]
    graphics = {"mask": "", "legend": ""}
    for graphic in board.graphics:
        if graphic.side == layer.side:
            filled, lines = strokes(frame, graphic.objects)
            graphics[graphic.role] += f'<path stroke="none" d="{filled}"/>' * bool(
                filled
            ) + "".join(
                f'<path fill="none" stroke-width="{pen}" d="{path}"/>'
                for pen, path in lines.items()
            )
    return Layer(
        side=layer.side,
        outline=f'<path d="{frame.path(blank_of(board))}"/>',
        copper="".join(f'<path d="{path}"/>' for path in frame.paths(layer.islands)),
        mask=graphics["mask"],
        legend=graphics["legend"],
        holes="".join(
            f'<path stroke-width="{diameter}" d="{path}"/>'
            for diameter, path in holes(frame, board.holes).items()
        ),
    )


def svg_picture(report: Report, facts: Facts) -> str:
    """Both sides as they lie on the bench, the bottom as seen from below, and the causes."""
    board, frame = facts.board, Frame.of(facts.board)
    layers = [layer_of(facts.board, frame, index) for index, _ in outer_layers(board)]
    width, height = frame.size
    size = max(width, height) // 45 + 250  # of a letter, um
    text = list(_text(report, [layer.side for layer in layers]))
    across = max(len(layers) * width, _LETTERS * size * 6 // 10)
    down = 3 * size + height + 2 * size + round(len(text) * _LINE * size) + size
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {across} {down}" '
        f'width="{_WIDE}" height="{round(_WIDE * down / across)}" role="img" {_FONT}>',
        "<!-- made by cutworthy -->",
        f"<title>{escape(_title(report))}</title>",
        f'<rect width="{across}" height="{down}" fill="{PAPER}"/>',
    ]
    for number, layer in enumerate(layers):
        below = layer.side == "bottom"
        left = number * width
        seen = (
            f"translate({left + (width if below else 0)} {2 * size}) scale({-1 if below else 1} 1)"
        )
        name = f"{layer.side}, as seen from {'below' if below else 'above'}"
        parts += [
            _label(left + 2 * size, size * 3 // 2, size, name, FAINT),
            f'<g transform="{seen}">{_side(layer, width)}</g>',
            *_marks(report, frame, layer.side, left, 2 * size, size),
        ]
    y = 4 * size + height
    for colour, weight, line in text:
        parts.append(_label(2 * size, y, size, line, colour, weight))
        y += round(_LINE * size)
    return "\n".join((*parts, "</svg>\n"))


def _side(layer: Layer, width: int) -> str:
    hair = max(60, width // 900)
    return (
        f'<g fill="{LAMINATE}" fill-rule="evenodd" stroke="{INK}" stroke-width="{hair}">'
        f"{layer.outline}</g>"
        f'<g fill="{COPPER}" fill-rule="evenodd">{layer.copper}</g>'
        f'<g fill="{LEGEND}" stroke="{LEGEND}" stroke-linecap="round" stroke-linejoin="round" '
        f'opacity="0.55">{layer.legend}</g>'
        f'<g stroke="{PAPER}" fill="none" stroke-linecap="round">{layer.holes}</g>'
    )


def _label(x: int, y: int, size: int, text: str, colour: str = INK, weight: str = "normal") -> str:
    return (
        f'<text x="{x}" y="{y}" font-size="{size}" fill="{colour}" font-weight="{weight}">'
        f"{escape(text)}</text>"
    )


def _marks(
    report: Report, frame: Frame, side: str, left: int, top: int, size: int
) -> Iterator[str]:
    """The places of a side: the worst of each cause with the cause's number, the others small."""
    width, _ = frame.size
    small, numbered = [], []
    for number, cause in enumerate(report.causes, 1):
        for rank, finding in enumerate(cause.findings):
            seen = finding.seen
            if seen.x is None or seen.y is None or seen.side not in (side, None):
                continue
            x, y = frame.at(seen.x, seen.y)
            x = left + (width - x if side == "bottom" else x)
            if rank == 0:
                numbered.append(_numbered(x, top + y, size, seen.state.value, number))
            else:
                small.append(mark(x, top + y, size // 3, seen.state.value))
    yield from small[:_MOST_MARKS]
    yield from reversed(numbered)  # what weighs most lies on top


def mark(x: int, y: int, size: int, state: str) -> str:
    """A square on its corner, a triangle or a circle, by state; ``size`` is half its width."""
    match state:
        case "not-makeable":
            shape = f"M{x - size} {y}L{x} {y - size} {x + size} {y} {x} {y + size}z"
        case "marginal":
            shape = f"M{x} {y - size}L{x + size} {y + size * 3 // 4}H{x - size}z"
        case _:
            arc = f"a{size} {size} 0 1 0"
            shape = f"M{x - size} {y}{arc} {2 * size} 0{arc} -{2 * size} 0z"
    return (
        f'<path d="{shape}" fill="{BEAR.get(state, INK)}" stroke="{INK}" '
        f'stroke-width="{max(1, size // 6)}"/>'
    )


def _numbered(x: int, y: int, size: int, state: str, number: int) -> str:
    letter = size * 3 // 4
    return mark(x, y, size, state) + (
        f'<text x="{x}" y="{y + letter * 2 // 5}" font-size="{letter}" font-weight="bold" '
        f'text-anchor="middle" fill="{INK}">{number}</text>'
    )


def _title(report: Report) -> str:
    verdict = words.first_up(words.state(report.verdict.value))
    names = f"{words.plain(report.board.name)} with {words.plain(report.process.name)}"
    return f"{verdict}: {names}{words.how_far(report)}{accepted.told(report)}"


def _unmarked(report: Report, sides: Sequence[str]) -> int:
    """How many places have no mark: those beyond what a side holds, and those of inner layers."""
    every = [found.seen for cause in report.causes for found in cause.findings]
    inside = sum(seen.x is not None and seen.side not in (*sides, None) for seen in every)
    small = [found.seen for cause in report.causes for found in cause.findings[1:]]
    for side in sides:
        marks = sum(seen.x is not None and seen.side in (side, None) for seen in small)
        inside += max(0, marks - _MOST_MARKS)
    return inside


def _text(report: Report, sides: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """The lines below the picture: colour, weight, text."""
    for part in textwrap.wrap(_title(report), _LETTERS):
        yield TEXT[report.verdict.value], "bold", part
    yield INK, "normal", words.first_up(words.cut_width(report.process))
    for number, cause in enumerate(report.causes[:_MOST_CAUSES], 1):
        yield from _cause(number, cause)
    rest = len(report.causes) - _MOST_CAUSES
    if rest > 0:
        yield FAINT, "normal", f"and {words.count(rest, 'more cause')}"
    if unmarked := _unmarked(report, sides):
        yield FAINT, "normal", f"{words.count(unmarked, 'place')} not marked above"
    for why, what in words.by_reason(report.unchecked).items():
        for part in textwrap.wrap(f"Not checked: {', '.join(what)}: {why}", _LETTERS):
            yield FAINT, "normal", part


def _cause(number: int, cause: Cause) -> Iterator[tuple[str, str, str]]:
    places = words.count(len(cause.findings), "place")
    head = f"{number}  {words.first_up(words.plain(cause.cause, 200))}: {places}"
    for part in textwrap.wrap(f"{head}, {words.state(cause.state.value)}", _LETTERS):
        yield TEXT[cause.state.value], "bold", part
    for part in textwrap.wrap(words.first_up(words.plain(cause.remedy, 300)), _LETTERS - 4):
        yield INK, "normal", "\u2003" + part
