"""The sheet that goes with a coupon: what to cut in which order, what to read where, and a form.

One page to print, or to fill in in a browser, where a few lines of script show the finished file of
measurements. Nothing is fetched.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup
from msgspec import Struct

from checker.coupon import features
from checker.coupon.drawing import drawing_of
from checker.coupon.judging import board_of, minutes_of, predicted
from checker.coupon.layers import depth_of, layers
from checker.coupon.model import ALONG, EACH, LABELS, MIDDLE, VERNIER
from checker.coupon.readings import AXES, FIELD, fields, template, widths_of
from checker.methods import ETCHING, LASER
from checker.report import words
from checker.report.html.assets import asset, environment, policy

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.coupon.judging import Failing
    from checker.coupon.model import Coupon

_HERE, _TEMPLATE = "checker.coupon", "sheet.html.j2"


class Step(Struct, frozen=True):
    """A file to cut: its name, at which depth, and how."""

    file: str
    depth: str
    how: str


class Row(Struct, frozen=True):
    """A row of fields: the number of the piece, what it is, and a field for each column."""

    number: str
    title: str
    fields: tuple[str, ...]


class Comb(Struct, frozen=True):
    """The combs of one kind: what is drawn, rows for both directions, what is expected."""

    title: str
    widths: tuple[str, ...]
    rows: tuple[Row, ...]
    expected: str


def sheet(coupon: Coupon) -> str:
    """The page; the same bytes for the same coupon."""
    from checker.engine import check

    board, process = board_of(coupon), coupon.process
    failing = predicted(coupon, check(board, process))
    numbers = _numbers(coupon)
    style, script = (asset(name, _HERE) for name in ("sheet.css", "sheet.js"))
    return (
        environment(_TEMPLATE, _HERE)
        .get_template(_TEMPLATE)
        .render(
            coupon=coupon,
            process=process,
            drawing=drawing_of(coupon, {name: number for name, (number, _) in numbers.items()}),
            legend=tuple(dict.fromkeys(numbers.values())),
            steps=tuple(_steps(coupon)),
            grooves=tuple(_grooves(coupon, numbers)),
            along=ALONG,
            combs=tuple(_combs(coupon, numbers, failing)),
            axes=AXES,
            places=features.PLACES,
            each=EACH,
            labelled=any(block.cells and block.strokes for block in coupon.blocks),
            labels={field.name: field.label for field in fields(coupon)},
            minutes=minutes_of(coupon, board),
            cut=words.first_up(words.cut_width(process)),
            duration=words.duration,
            cautions=words.cautions(process.method),
            template=template(coupon),
            known=FIELD.pattern,
            style=Markup(style),
            script=Markup(script),
            policy=policy(style, script),
        )
    )


def _numbers(coupon: Coupon) -> dict[str, tuple[str, str]]:
    """Name of a block -> the number of its kind and what that is; alike pieces share one."""
    deep = len(coupon.depths)
    wedge = f"{coupon.gaps[-1]:.2f} to {coupon.gaps[0]:.2f} mm"
    titles = {
        "grooves middle": "grooves, middle" + ": the lowest is the shallowest" * (deep > 1),
        **{f"grooves corner {n}": f"grooves, corner {n}" for n in range(1, 5)},
        **{f"gaps {axis}": f"gaps, measured along {axis}" for axis in AXES},
        **{f"traces {axis}": f"traces, measured along {axis}" for axis in AXES},
        "wedge": f"wedge: a gap from {wedge}, to look where it closes",
        **{f"vernier {axis}": f"vernier for the backlash in {axis}" for axis in AXES},
        "serpentine": "serpentine, to measure its resistance",
        "target": "targets of both sides",
        "rings": "rings round holes, about as narrow as they hold",
        "pads": "pads, about as small as they hold",
        "dowels": "holes for dowels",
    }
    drawn = {block.name for block in coupon.blocks}
    shown = [(name, title) for name, title in titles.items() if name in drawn]
    return {name: (str(number), title) for number, (name, title) in enumerate(shown, 1)}


def _steps(coupon: Coupon) -> Iterator[Step]:
    process = coupon.process
    if process.method == ETCHING:
        for side in coupon.sides:
            yield Step(f"copper-{side}.gbr", "", f"etch as you etch a board, {side} side")
        yield Step("profile.gbr", "", "cut out once all is read, or never")
        return
    there = layers(coupon)
    follow = "the bit's middle follows the lines, one pass, nothing allowed for its width"
    by_hand = process.method == LASER
    if by_hand:
        follow = "the beam's middle follows the lines, as often as it takes on a board"
    for file in (*coupon.depths, VERNIER, LABELS):
        if f"{file}.gbr" in there:
            yield Step(f"{file}.gbr", _deep(coupon, file), follow)
            follow = "the same"
    cut = process.cut.nominal if process.cut is not None else 0.0
    isolate = f"one pass round the copper, width of the cut set to {cut:.3f} mm"
    yield Step("copper-top.gbr", _deep(coupon, "top"), isolate)
    if "holes.drl" in there:
        how = "drilled by hand where they are marked" if by_hand else "in the same set-up"
        yield Step("holes.drl", "through", how)
    if "copper-bottom.gbr" in there:
        turned = "turned over left to right, mirrored and lined up as for a board, then the same"
        yield Step("copper-bottom.gbr", _deep(coupon, "bottom"), turned)
    yield Step("profile.gbr", "", "cut out once all is read, or never")


def _deep(coupon: Coupon, file: str) -> str:
    depth = depth_of(coupon, file)
    return f"{depth:.3f}".rstrip("0").ljust(4, "0") + " mm" if depth else ""


def _grooves(coupon: Coupon, numbers: dict[str, tuple[str, str]]) -> Iterator[Row]:
    rows: dict[tuple[str, float], list[str]] = {}
    for index, groove in enumerate(coupon.grooves):
        rows.setdefault((groove.place, groove.depth), []).append(f"grooves.{index}")
    for (place, depth), names in rows.items():
        title = f"{depth:.2f} mm deep" if depth else ""
        title = title if place == MIDDLE else f"{place}, {title}" if title else place
        yield Row(numbers[f"grooves {place}"][0], title or place, tuple(names))


def _combs(coupon: Coupon, numbers: dict[str, tuple[str, str]], failing: Failing) -> Iterator[Comb]:
    for what, title, verb in (
        ("gaps", "Open gaps", "open"),
        ("traces", "Traces that survived", "survive"),
    ):
        widths = widths_of(coupon, what)
        if not widths:
            continue
        rows = tuple(
            Row(
                numbers[f"{what} {axis}"][0],
                axis,
                tuple(f"{what}.{axis}.{number}" for number in range(len(widths))),
            )
            for axis in AXES
        )
        worst = max((failing.get((what, axis)) or 0.0 for axis in AXES), default=0.0)
        good = [width for width in widths if width > worst]
        expected = f"expected to {verb}: from {good[0]:.2f} mm" if good else "none is expected to"
        yield Comb(title, tuple(f"{width:.2f}" for width in widths), rows, expected)
