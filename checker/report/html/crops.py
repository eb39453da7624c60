"""The worst place of a cause, drawn large: the copper, the tool that does not get in, both sizes.

Coordinates are whole micrometres from the middle of the crop, as seen from the side it lies on.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.isolation import fates, parts_nets
from checker.measure.clipping import clipped
from checker.measure.leftover.pieces import blank_of
from checker.report import words
from checker.report.drawing import Frame, holes, outer_layers
from checker.report.html.left import left_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats
    from checker.findings import Finding
    from checker.measure import Facts
    from checker.process.model import Process

_ASPECT = 4 / 3
_GAPS, _LEAST_GAP = 4.6, 0.6  # a crop of a gap is so many cuts high, and at least so many mm
_RIM = 2.0  # cuts of copper beyond its edge, so that the script can tell what stays at the edge
_SIZES, _LEAST, _MOST = 7.0, 3.0, 14.0  # of any other place, in measured lengths and mm
_LETTER = 15  # letters of this part of the height


class Crop(Struct, frozen=True):
    """A drawing of one place.

    Attributes:
        width, height: um.
        markup: what is in it.
        says: the same in words.
        row: index (layer, row) of its gap; None where the place is no gap.
    """

    width: int
    height: int
    markup: str
    says: str
    row: tuple[int, int] | None


class Places:
    """Where findings stand among the gaps: by side and place, whatever rule saw them."""

    def __init__(self, facts: Facts) -> None:
        self._rows: dict[tuple[str | None, float, float], tuple[int, int]] = {}
        for index, (layer, gaps) in enumerate(zip(facts.board.copper, facts.gaps, strict=True)):
            foreign = np.flatnonzero(parts_nets(facts.board, index, gaps.islands))
            middles = ((gaps.a[foreign] + gaps.b[foreign]) / 2).tolist()
            for row, (x, y) in zip(foreign.tolist(), middles, strict=True):
                self._rows[layer.side, x, y] = index, row

    def gap(self, finding: Finding) -> tuple[int, int] | None:
        """Layer and row of the gap that a finding is about."""
        seen = finding.seen
        if seen.x is None or seen.y is None:
            return None
        return self._rows.get((seen.side, seen.x, seen.y))


def crop_of(
    facts: Facts, process: Process, finding: Finding, places: Places, name: str
) -> Crop | None:
    """The place of a finding, None where it has none; ``name`` makes its ids its own."""
    seen = finding.seen
    if seen.x is None or seen.y is None:
        return None
    sides = outer_layers(facts.board)
    layer = next((layer for _, layer in sides if layer.side == seen.side), sides[0][1])
    row = places.gap(finding)
    if row is not None and process.cut is not None:
        return _gap(facts, process, layer, row, name)
    return _place(facts, process, layer, finding, name)


def _gap(
    facts: Facts, process: Process, layer: CopperLayer, row: tuple[int, int], name: str
) -> Crop:
    index, number = row
    gaps, cut = facts.gaps[index], process.cut
    assert cut is not None
    fits = float(fates(facts, process)[index].fits[number])
    wide = max(cut.nominal, min(fits, 2 * cut.nominal))
    height = max(_LEAST_GAP, _GAPS * wide)
    tool = process.bit is not None
    x, y = ((gaps.a[number] + gaps.b[number]) / 2).tolist()
    sheet = _Sheet(layer, x, y, height, rim=_RIM * wide if tool else 0.0)
    along = sheet.direction(gaps.b[number] - gaps.a[number])
    distance = float(gaps.distance[number])
    parts = [
        *sheet.ground(facts, process, name),
        sheet.disc(cut.nominal, tool, name),
        sheet.dimension("gap", along, distance, f"gap {distance:.3f}", 1),
        sheet.dimension("cut", along, cut.nominal, f"{_what(process)} {cut.nominal:.3f}", -1),
    ]
    enters = "passes" if fits >= cut.nominal else "does not enter"
    says = (
        f"Gap of {distance:.3f} mm on the {layer.side}, drawn with the "
        f"{'disc of the cut' if tool else 'least gap'}, {cut.nominal:.3f} mm, which {enters}"
    )
    return Crop(*sheet.size, "".join(parts), says, row)


def _what(process: Process) -> str:
    return "needs" if process.bit is None else "cut"


def _place(facts: Facts, process: Process, layer: CopperLayer, finding: Finding, name: str) -> Crop:
    seen = finding.seen
    lengths = [length for length in (seen.measured, seen.limit) if length]
    height = min(_MOST, max(_LEAST, _SIZES * max(lengths, default=0.0)))
    sheet = _Sheet(layer, float(seen.x or 0.0), float(seen.y or 0.0), height)
    bars = [
        sheet.bar(number, length, f"{name} {length:.3f}")
        for number, (name, length) in enumerate(
            [("limit", seen.limit), ("measured", seen.measured)]
        )
        if length is not None and 0 < length < sheet.wide
    ]
    # What a finding on no copper is about is copper that stays.
    bare = not shapely.intersects_xy(sheet.copper(0.0), sheet.x, sheet.y)
    parts = [*sheet.ground(facts, process if bare else None, name), sheet.cross(), *bars]
    says = f"The place on the {layer.side}: {words.plain(seen.message, 300)}"
    return Crop(*sheet.size, "".join(parts), says, None)


@lru_cache(maxsize=2)
def _hole_boxes(board: Board) -> Floats:
    """(n, 4) least x and y, most x and y of each hole."""
    boxes = np.empty((len(board.holes), 4))
    for row, hole in enumerate(board.holes):
        path = np.array(hole.path, dtype=float)
        boxes[row, :2] = path.min(axis=0) - hole.diameter / 2
        boxes[row, 2:] = path.max(axis=0) + hole.diameter / 2
    return boxes


@lru_cache(maxsize=4)
def _island_boxes(layer: CopperLayer) -> Floats:
    boxes: Floats = shapely.bounds(layer.islands).reshape(-1, 4)
    return boxes


def _meeting(boxes: Floats, box: tuple[float, float, float, float]) -> NDArray[np.bool_]:
    """(n,) which boxes reach into a box."""
    x0, y0, x1, y1 = box
    return (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1) & (boxes[:, 3] > y0)


class _Sheet:
    """A crop in the making: a window round a place of a layer."""

    def __init__(
        self, layer: CopperLayer, x: float, y: float, height: float, rim: float = 0.0
    ) -> None:
        self.layer, self.x, self.y, self.rim = layer, x, y, rim
        self.high, self.wide = height, height * _ASPECT
        self.frame = Frame.round(x, y, self.wide, self.high)
        self.turn = -1 if layer.side == "bottom" else 1
        width, tall = self.frame.size
        self.size = width, tall
        self.letter = max(1, tall // _LETTER)

    def ground(self, facts: Facts, process: Process | None, name: str) -> Iterator[str]:
        """Laminate, copper, what a process leaves beside it, the holes."""
        width, height = self.size
        yield f'<rect class="laminate" width="{width}" height="{height}"/>'
        yield f'<g transform="translate({width} 0) scale(-1 1)">' if self.turn < 0 else "<g>"
        metal = self.frame.path(self.copper(self.rim))
        yield f'<path class="copper" id="metal-{name}" d="{metal}"/>'
        if process is not None and process.cut is not None and process.clears is not None:
            cut, cleared = process.cut.nominal, process.clears.nominal
            near = shapely.get_parts(self.copper(max(self.rim, cleared + cut)))
            blank = shapely.intersection(blank_of(facts.board), shapely.box(*self.frame.box))
            left = left_of(near, blank, cut, cleared)
            yield f'<path class="stays" fill="url(#stays-{name})" d="{self.frame.path(left)}"/>'
        inside = _meeting(_hole_boxes(facts.board), self.frame.box)
        shown = [facts.board.holes[row] for row in np.flatnonzero(inside).tolist()]
        for diameter, path in holes(self.frame, shown).items():
            yield f'<path class="hole" stroke-width="{diameter}" d="{path}"/>'
        yield "</g>"

    def copper(self, rim: float) -> shapely.Geometry:
        """The copper in the window and a rim round it."""
        x0, y0, x1, y1 = self.frame.box
        box = (x0 - rim, y0 - rim, x1 + rim, y1 + rim)
        touch = _meeting(_island_boxes(self.layer), box)
        return shapely.union_all(clipped(self.layer.islands[touch], box))

    def direction(self, along: Floats) -> tuple[float, float]:
        """A vector of the files as a unit vector of the crop."""
        x, y = float(along[0]) * self.turn, -float(along[1])
        length = math.hypot(x, y)
        return (x / length, y / length) if length else (1.0, 0.0)

    @property
    def middle(self) -> tuple[int, int]:
        """Where the place is in the crop."""
        return self.size[0] // 2, self.size[1] // 2

    def disc(self, wide: float, tool: bool, name: str) -> str:
        """The disc that the tool sweeps, what it would eat; or the least gap of an etchant."""
        x, y = self.middle
        circle = f'cx="{x}" cy="{y}" r="{round(wide * 500)}"'
        arm = self.letter // 3
        flip = f' transform="translate({self.size[0]} 0) scale(-1 1)"' if self.turn < 0 else ""
        return (
            f'<clipPath id="clip-{name}"><use href="#metal-{name}"{flip}/></clipPath>'
            f'<circle class="bitten" clip-path="url(#clip-{name})" {circle}/>'
            f'<circle class="{"cutter" if tool else "cutter least"}" {circle}/>'
            f'<path class="centre" d="M{x - arm} {y}h{2 * arm}M{x} {y - arm}v{2 * arm}"/>'
        )

    def dimension(
        self, name: str, along: tuple[float, float], length: float, text: str, way: int
    ) -> str:
        """A dimension as in a drawing: two extension lines, a line with arrows, the number."""
        (ux, uy), (x, y) = along, self.middle
        nx, ny = -uy * way, ux * way
        half, away, letter = length * 500, self.size[1] * 0.27, self.letter
        over = letter * 0.4
        lines = []
        for sign in (-1, 1):
            px, py = x + sign * ux * half, y + sign * uy * half
            lines.append(_line(px, py, px + nx * (away + over), py + ny * (away + over)))
        cx, cy = x + nx * away, y + ny * away
        arrow = letter * 0.55
        tails = []
        for sign in (-1, 1):  # from outside, arrows against the extension lines
            px, py = cx + sign * ux * half, cy + sign * uy * half
            tails.append(
                _line(px, py, px + sign * ux * arrow * 3, py + sign * uy * arrow * 3)
                + _arrow(px, py, -sign * ux, -sign * uy, arrow)
            )
        reach = letter * (0.9 + abs(nx) * len(text) * 0.3)
        half_text = 0.32 * letter * len(text)
        tx = min(max(cx + nx * reach, half_text), self.size[0] - half_text)
        ty = cy + ny * reach + letter * 0.35
        return (
            f'<g class="dimension {name}"><path d="{"".join(lines)}{"".join(tails)}"/>'
            f'<text x="{tx:.0f}" y="{ty:.0f}" font-size="{letter}">{text}</text></g>'
        )

    def cross(self) -> str:
        """A ring with four arms round the place."""
        x, y = self.middle
        ring, arm = self.letter * 2, self.letter
        arms = "".join(
            _line(x + a * ring, y + b * ring, x + a * (ring + arm), y + b * (ring + arm))
            for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))
        )
        return f'<g class="here"><circle cx="{x}" cy="{y}" r="{ring}"/><path d="{arms}"/></g>'

    def bar(self, number: int, length: float, text: str) -> str:
        """A length at the crop's scale, from its lower left corner up."""
        letter, long = self.letter, length * 1000
        x, y = letter, self.size[1] - letter * (1 + 2 * number)
        ends = _line(x, y - letter * 0.4, x, y + letter * 0.4)
        ends += _line(x + long, y - letter * 0.4, x + long, y + letter * 0.4)
        return (
            f'<g class="dimension bar"><path d="{_line(x, y, x + long, y)}{ends}"/>'
            f'<text x="{x + long + letter * 0.6:.0f}" y="{y + letter * 0.35:.0f}" '
            f'font-size="{letter}">{text}</text></g>'
        )


def _line(x0: float, y0: float, x1: float, y1: float) -> str:
    return f"M{x0:.0f} {y0:.0f}L{x1:.0f} {y1:.0f}"


def _arrow(x: float, y: float, dx: float, dy: float, size: float) -> str:
    """A head that points along (dx, dy) and ends at (x, y)."""
    bx, by, w = x - dx * size, y - dy * size, size * 0.28
    return (
        f"M{bx - dy * w:.0f} {by + dx * w:.0f}L{x:.0f} {y:.0f} {bx + dy * w:.0f} {by - dx * w:.0f}"
    )
