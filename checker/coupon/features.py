"""The pieces of a coupon, each drawn about an origin of its own.

What is drawn along x is drawn along y with the coordinates changed over. The room of a piece holds
the cuts round it, at their widest.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.coupon import strokes
from checker.coupon.model import EACH, LABELS, VERNIER, Block, Cell, Copper, Hole, Meander, Stroke

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.coupon.model import Box, Point

TEST, SURFACE, LEAD = "TestPad", "SMDPad,CuDef", "ComponentPad"
DRILLED, MECHANICAL = "ComponentDrill", "MechanicalDrill"
PLACES = 3  # steps of the vernier to each side of its middle
_LENGTH = 1.2  # mm of a gap or a trace
_SPINE = 0.6  # mm, of the copper that the traces of a comb hang on
_ROOM = 0.1  # mm of copper left between cuts
_BEND = 0.44  # of its width that a trace is shorter at a right angle: it counts 0.56 squares (Hall)
_RUNS, _RUN = 4, 5.0  # of the serpentine, mm
_PROBED = 1.4  # mm, of a pad that two needles find room on
_WEDGE, _BESIDE = 8.0, 0.6  # mm: length of the wedge, copper on each side of it
COPPER_RESISTIVITY = 1.7241e-5  # ohm mm at 20 degrees C: annealed copper, IEC 60028


class Style(Struct, frozen=True):
    """What all pieces have in common.

    Attributes:
        widest: of a cut, mm.
        cut: its nominal width.
        sturdy: width of copper that surely survives.
        letter: height of a label; None where the bit is too wide for any, or engraves nothing.
    """

    widest: float
    cut: float
    sturdy: float
    letter: float | None


def gap_comb(style: Style, widths: Sequence[float], across: str) -> Block:
    """Fingers side by side with `EACH` gaps of each width between them."""
    finger, at = style.sturdy, style.sturdy / 2
    middles, starts = [at], [at]
    for width in widths:
        for _ in range(EACH):
            at += finger + width
            middles.append(at)
        starts.append(at)
    ends = finger / 2, _LENGTH - finger / 2
    copper = tuple(
        Copper(f"gap-{across}-{number}", tuple((x, y) for y in ends), finger)
        for number, x in enumerate(middles)
    )
    cells = tuple(
        Cell("gaps", across, width, (start, 0.0, end, _LENGTH))
        for width, start, end in zip(widths, starts, starts[1:], strict=False)
    )
    room = (0.0, 0.0, at + finger / 2, _LENGTH)
    return _labelled(style, _block(f"gaps {across}", room, style, copper, cells=cells), across)


def trace_comb(style: Style, width: float, across: str, pad: float) -> Block:
    """`EACH` traces of a width side by side, from copper in common to a pad each."""
    pitch = max(pad + style.widest, width + style.widest) + _ROOM
    net, top = f"trace-{across}-{width * 1000:.0f}", _SPINE / 2 + _LENGTH + pad / 2
    middles = [pad / 2 + number * pitch for number in range(EACH)]
    spine = Copper(net, ((middles[0], 0.0), (middles[-1], 0.0)), _SPINE)
    traces = [Copper(net, ((x, 0.0), (x, top)), width) for x in middles]
    pads = [Copper(net, ((x, top),), pad, TEST) for x in middles]
    cell = Cell(
        "traces", across, width, (0.0, _SPINE / 2, middles[-1] + pad / 2, _SPINE / 2 + _LENGTH)
    )
    room = (min(0.0, (pad - _SPINE) / 2), -_SPINE / 2, middles[-1] + pad / 2, top + pad / 2)
    block = _block(f"traces {across}", room, style, (spine, *traces, *pads), cells=(cell,))
    return _labelled(style, block, across)


def in_a_row(blocks: Sequence[Block], apart: float) -> Block:
    """One block of several, side by side along x."""
    at, placed = 0.0, []
    for block in blocks:
        placed.append(block.with_corner_at(at, 0.0))
        at += block.size[0] + apart
    return Block(
        blocks[0].name,
        (0.0, 0.0, at - apart, max(block.size[1] for block in blocks)),
        tuple(one for block in placed for one in block.copper),
        tuple(one for block in placed for one in block.strokes),
        cells=tuple(one for block in placed for one in block.cells),
    )


def grooves(style: Style, place: str, depths: Sequence[tuple[str, float]]) -> Block:
    """A groove for each depth: along x, then along the diagonal, then along y, in one stroke.

    Args:
        style: of the coupon.
        place: where it is.
        depths: name of the file and widest width of each groove, the first at the lower right.
    """
    widest = max(width for _, width in depths)
    leg, pitch = max(1.6, 2.5 * widest), widest + 0.3
    slant = leg / math.sqrt(2)
    hook = ((0.0, 0.0), (leg, 0.0), (leg + slant, slant), (leg + slant, slant + leg))
    lines = tuple(
        Stroke(file, tuple((x - number * pitch, y + number * pitch) for x, y in hook))
        for number, (file, _) in enumerate(depths)
    )
    return _block(f"grooves {place}", _bounds(lines), style, lines=lines)


def vernier(style: Style, step: float, along: str) -> Block:
    """Two rows of ticks in one closed stroke, which an axis reaches from opposite sides.

    The bit goes along the one row and back along the other, so it comes to the ticks of one from
    the left and to those of the other from the right, whichever way round it goes. Ticks in the
    middle face each other; each farther one lies a step farther off.
    """
    pitch, tick = max(0.7, 2.5 * style.cut), max(0.8, 2 * style.cut)
    apart, count = style.cut + 0.15, 2 * PLACES + 1
    near: list[Point] = []
    far: list[Point] = []
    for number in range(count):
        x, ends = number * pitch, (0.0, tick)
        near += [(x, y) for y in (ends if number % 2 == 0 else ends[::-1])]
        x += (number - PLACES) * step
        far += [(x, -apart - y) for y in (ends if number % 2 == 0 else ends[::-1])]
    last, first = near[-1][0] + pitch, -pitch
    loop = [
        (first, 0.0), *near, (last, tick), (last, -apart - tick), *far[::-1], (first, -apart),
        (first, 0.0),
    ]  # fmt: skip
    stroke = Stroke(VERNIER, tuple(loop))
    block = _block(f"vernier {along}", _bounds((stroke,)), style, lines=(stroke,))
    return block if along == "x" else _turned(block)


def serpentine(style: Style, width: float, thickness: float) -> tuple[Block, Meander]:
    """A trace that winds between two pads, and what its resistance should be.

    Args:
        style: of the coupon.
        width: of the trace.
        thickness: of the foil.
    """
    pitch = width + 2 * style.widest + _ROOM
    points: list[Point] = [(-_PROBED, 0.0)]
    for number in range(_RUNS):
        ends = (0.0, _RUN) if number % 2 == 0 else (_RUN, 0.0)
        points += [(x, number * pitch) for x in ends]
    top = (_RUNS - 1) * pitch
    points.append((-_PROBED, top))
    del points[1], points[-2]  # the ends run straight into their pads
    pads = tuple(Copper("serpentine", (at,), _PROBED, TEST) for at in (points[0], points[-1]))
    copper = (Copper("serpentine", tuple(points), width), *pads)
    bends = 2 * (_RUNS - 1)
    drawn = sum(math.dist(a, b) for a, b in pairwise(points))
    length = drawn - _PROBED - bends * _BEND * width
    ohm = COPPER_RESISTIVITY * length / (width * thickness)
    room = (-1.5 * _PROBED, -_PROBED / 2, _RUN + width / 2, top + _PROBED / 2)
    return _block("serpentine", room, style, copper), Meander(round(length, 3), width, ohm)


def wedge(style: Style, widths: Sequence[float]) -> Block:
    """Two pieces of copper whose gap narrows from the widest of the widths to the narrowest."""
    wide, narrow = widths[-1], widths[0]
    low = ((0.0, 0.0), (_WEDGE, 0.0), (_WEDGE, _BESIDE), (0.0, _BESIDE))
    top = 2 * _BESIDE + wide
    high = ((0.0, _BESIDE + wide), (_WEDGE, _BESIDE + narrow), (_WEDGE, top), (0.0, top))
    copper = (Copper("wedge-1", low), Copper("wedge-2", high))
    return _block("wedge", (0.0, 0.0, _WEDGE, top), style, copper)


def surface_pad(style: Style, width: float) -> Block:
    """A square pad without a hole."""
    copper = Copper(f"pad-{width * 1000:.0f}", ((0.0, 0.0),), width, SURFACE, square=True)
    half = width / 2
    return _block("pads", (-half, -half, half, half), style, (copper,))


def ringed_hole(
    style: Style, name: str, net: str, drill: float, pad: float, sides: Sequence[str]
) -> Block:
    """A hole in the middle of a round pad."""
    copper = tuple(Copper(net, ((0.0, 0.0),), pad, LEAD, side=side) for side in sides)
    half = pad / 2
    hole = Hole((0.0, 0.0), drill, DRILLED)
    return _block(name, (-half, -half, half, half), style, copper, holes=(hole,))


def dowel(diameter: float, margin: float) -> Block:
    """A hole without copper, with room round it."""
    half = diameter / 2 + margin
    hole = Hole((0.0, 0.0), diameter, MECHANICAL)
    return Block("dowels", (-half, -half, half, half), holes=(hole,))


def arrow(style: Style, height: float) -> Block:
    """An arrow that points up."""
    lines = (Stroke(LABELS, strokes.arrow(height)),)
    return _block("arrow", _bounds(lines), style, lines=lines)


def _block(
    name: str,
    room: Box,
    style: Style,
    copper: tuple[Copper, ...] = (),
    *,
    lines: tuple[Stroke, ...] = (),
    holes: tuple[Hole, ...] = (),
    cells: tuple[Cell, ...] = (),
) -> Block:
    """With the cut round copper, or half of it beside lines, added to the room."""
    more = style.widest if copper else style.widest / 2
    box = room[0] - more, room[1] - more, room[2] + more, room[3] + more
    return Block(name, box, copper, lines, holes, cells)


def _labelled(style: Style, block: Block, across: str) -> Block:
    """With the width of each cell, in hundredths of a mm, below it; turned to lie across y."""
    block = block if across == "x" else _turned(block)
    height = style.letter
    if height is None:
        return block
    left, low, right, top = block.box
    away, lines = style.widest / 2, []
    for cell in block.cells:
        text = f"{cell.width * 100:02.0f}"
        long = strokes.width_of(text, height)
        x, y = ((cell.box[i] + cell.box[i + 2]) / 2 for i in (0, 1))
        at = (x - long / 2, low - away - height)
        if across == "y":
            at = (left - away - long, y - height / 2)
        figure = strokes.number(text, height)
        lines.append(Stroke(LABELS, tuple((x + at[0], y + at[1]) for x, y in figure)))
    x0, y0, x1, y1 = _bounds(lines)
    box = min(left, x0 - away), min(low, y0 - away), max(right, x1 + away), max(top, y1 + away)
    return replace(block, box=box, strokes=tuple(lines))


def _turned(block: Block) -> Block:
    """The same with x and y changed over."""

    def swapped(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((y, x) for x, y in points)

    def box(of: Box) -> Box:
        return of[1], of[0], of[3], of[2]

    return replace(
        block,
        box=box(block.box),
        copper=tuple(replace(one, points=swapped(one.points)) for one in block.copper),
        strokes=tuple(replace(one, points=swapped(one.points)) for one in block.strokes),
        cells=tuple(replace(one, box=box(one.box)) for one in block.cells),
    )


def _bounds(lines: Sequence[Stroke]) -> Box:
    x, y = zip(*(point for line in lines for point in line.points), strict=True)
    return min(x), min(y), max(x), max(y)
