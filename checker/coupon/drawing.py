"""The coupon as SVG: copper, the lines that the bit follows, holes, and a number at each piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from markupsafe import Markup

from checker.coupon.model import LABELS, VERNIER

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from checker.coupon.model import Block, Copper, Coupon, Point

_ROOM = 1.2  # mm round the coupon, for numbers that stand at its edge
_MARK = 0.75  # mm, radius of the disc behind a number


class Drawing(NamedTuple):
    """The SVG's view box and what is in it."""

    box: str
    body: Markup


def drawing_of(coupon: Coupon, numbers: Mapping[str, str]) -> Drawing:
    """The top of the coupon, a number at each block whose name has one."""
    width, height = coupon.size
    lines = [*_sheet(coupon)]
    for block in coupon.blocks:
        lines += [_copper(one, height) for one in block.copper if one.side == "top"]
        lines += _strokes(coupon, block)
        for hole in block.holes:
            x, y = _at(hole.at, height)
            lines.append(f'<circle class="hole" cx="{x}" cy="{y}" r="{_mm(hole.diameter / 2)}"/>')
    for block in coupon.blocks:
        if block.name in numbers:
            lines.append(_number(block, numbers[block.name], height))
    box = f"{-_ROOM} {-_ROOM} {_mm(width + 2 * _ROOM)} {_mm(height + 2 * _ROOM)}"
    return Drawing(box, Markup("\n".join(lines)))  # numbers and words of ours, nothing from files


def _sheet(coupon: Coupon) -> Iterator[str]:
    width, height = coupon.size
    yield f'<rect class="sheet" width="{_mm(width)}" height="{_mm(height)}"/>'


def _copper(one: Copper, height: float) -> str:
    if not one.width:
        return f'<path class="copper" d="{_path(one.points, height)}Z"/>'
    if len(one.points) > 1:
        way = _path(one.points, height)
        return f'<path class="line" stroke-width="{_mm(one.width)}" d="{way}"/>'
    (x, y), half = _at(one.points[0], height), one.width / 2
    if one.square:
        corner = f'x="{_mm(float(x) - half)}" y="{_mm(float(y) - half)}"'
        return f'<rect class="copper" {corner} width="{_mm(one.width)}" height="{_mm(one.width)}"/>'
    return f'<circle class="copper" cx="{x}" cy="{y}" r="{_mm(half)}"/>'


def _strokes(coupon: Coupon, block: Block) -> Iterator[str]:
    cut, height = coupon.process.cut, coupon.size[1]
    pen = _mm(cut.nominal if cut is not None else 0.1)
    for one in block.strokes:
        what = one.file if one.file in (LABELS, VERNIER) else "groove"
        way = _path(one.points, height)
        yield f'<path class="{what}" stroke-width="{pen}" d="{way}"/>'


def _number(block: Block, number: str, height: float) -> str:
    """At the upper left corner of the block."""
    x, y = _at((block.box[0], block.box[3]), height)
    return (
        f'<g class="number" transform="translate({x} {y})"><circle r="{_MARK}"/>'
        f'<text y="0.4">{number}</text></g>'
    )


def _path(points: tuple[Point, ...], height: float) -> str:
    return "".join(
        f"{'L' if rank else 'M'}{x} {y}"
        for rank, (x, y) in enumerate(_at(point, height) for point in points)
    )


def _at(point: Point, height: float) -> tuple[str, str]:
    return _mm(point[0]), _mm(height - point[1])


def _mm(length: float) -> str:
    return f"{length:.3f}".rstrip("0").rstrip(".")
