"""Small boards for the odds, drawn as files and read again, and the shops that make them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.engine import reach_for
from checker.measure import Reach, measure
from checker.process.bit import Bit, Spread
from checker.process.model import Process
from checker.process.shop import Drills, Machine
from checker.process.width import cut_width
from samples.layout import Layout, Pad
from tests.handmade import PLAIN, exactly
from tests.joined import board_of
from tests.layouts import Islands
from tests.layouts import board_of as layers_of
from tests.oracles.mill import PIXEL, Sheet

if TYPE_CHECKING:
    from pathlib import Path

    from checker.board import Board, CopperLayer
    from checker.measure import Facts


def by_sd(value: float, sd: float, more: float | None = None) -> Spread:
    """A length with its standard deviation, another one above it where ``more`` is given."""
    return Spread(value - 2 * sd, value, value + 2 * (sd if more is None else more))


NONE, TENTH, FOIL = exactly(0.0), exactly(0.1), exactly(0.035)


def shop(
    shape: str = "cone",
    tip: Spread = TENTH,
    angle: float = 30.0,
    depth: Spread = TENTH,
    runout: Spread = NONE,
    foil: Spread = FOIL,
    bed: float = 0.0,
    wave: float = 5.0,
    registration: float = 0.0,
    wander: float = 0.0,
    flip: float = 0.0,
    bite: float = 0.0,
) -> Process:
    """A process with such a bit; standard deviations of bed, registration, wander and flip."""
    cone = shape == "cone"
    bit = Bit(
        shape, tip, angle if cone else 0.0, depth, 3.175 if cone else tip.nominal, runout,
        exactly(0.0),
    )  # fmt: skip
    return replace(
        PLAIN,
        method="laser" if shape == "beam" else "milling",
        bit=bit,
        cut=cut_width(bit, 2 * bed),
        foil=foil,
        bed_error=2 * bed,
        bite=bite,
        machine=Machine(wave=wave, registration=2 * registration, flip=2 * flip),
        drills=Drills(wander=2 * wander),
    )


def facts_of(layout: Layout | Islands, process: Process, folder: Path) -> Facts:
    """The layout as read, measured farther than any draw cuts."""
    reach = reach_for(process)
    board = board_of(layout, folder) if isinstance(layout, Layout) else layers_of(layout)
    return measure(board, Reach(0.8, max(reach.copper, 0.3), reach.bites))


def plain(*sides: str) -> Layout:
    """An empty board of 14 mm on the bottom, or on these sides."""
    return Layout("plain", (14.0, 14.0), sides=sides or ("bottom",), plated=False)


def pad(
    layout: Layout, x: float, y: float, net: str, width: float, height: float | None = None,
    shape: str = "rect", side: str = "bottom",
) -> None:  # fmt: skip
    """A pad without a hole."""
    name = f"P{len(layout.pads) + 1}"
    height = width if height is None else height
    layout.pads.append(Pad(x, y, width, height, shape, (side,), net, name, "1", 0.0, 0.0, "SMDPad"))


def post(
    layout: Layout, x: float, y: float, net: str, width: float, hole: float, shape: str = "circle"
) -> None:
    """A pad with a hole for a lead on every side of the board."""
    name = f"J{len(layout.pads) + 1}"
    layout.pads.append(
        Pad(x, y, width, width, shape, layout.sides, net, name, "1", hole, 0.0, "ComponentPad")
    )


class Milled(Struct, frozen=True):
    """The sides of a board as the virtual mill has them; columns 0 top and 1 bottom."""

    sheets: dict[int, Sheet]
    holes: int

    @classmethod
    def of(cls, layout: Layout | Islands, board: Board, pixel: float = PIXEL) -> Milled:
        """All pads without a hole and both ends of every track must stay together."""
        holes = [(*hole.path[0], hole.diameter) for hole in board.holes]
        sheets = {
            ("top", "bottom").index(layer.side): Sheet(
                list(layer.islands), layer.net.tolist(), _terminals(layout, layer), holes, pixel
            )
            for layer in board.copper
            if len(layer.islands)
        }
        return cls(sheets, len(board.holes))


def _terminals(layout: Layout | Islands, layer: CopperLayer) -> list[tuple[float, float, int]]:
    if not isinstance(layout, Layout):
        inside = [island.representative_point() for island in layer.islands]
        return [(at.x, at.y, net) for at, net in zip(inside, layer.net.tolist(), strict=True)]
    number = dict(zip(layer.net_name, layer.net.tolist(), strict=True))
    pads = [
        (pad.x, pad.y, number[pad.net])
        for pad in layout.pads
        if layer.side in pad.sides and not pad.hole
    ]
    ends = [
        (x, y, number[track.net])
        for track in layout.tracks
        if track.side == layer.side
        for x, y in (track.points[0], track.points[-1])
        if not _drilled(layout, x, y)
    ]
    return pads + ends


def _drilled(layout: Layout, x: float, y: float) -> bool:
    return any(np.hypot(p.x - x, p.y - y) < p.hole / 2 + 0.3 for p in layout.pads if p.hole)
