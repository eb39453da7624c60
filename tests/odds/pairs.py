"""Boards and bits whose odds lie between 5 and 95 %, each with a way of its own to fail."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.odds.chance import offsets, setups, wanders
from checker.odds.told import any_of
from checker.odds.whole import Machines, features_of
from tests.layouts import layout
from tests.odds.boards import Milled, by_sd, facts_of, pad, plain, post, shop
from tests.oracles.mill import PIXEL, Tool

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from checker.process.model import Process
    from samples.layout import Layout
    from tests.layouts import Islands

    Bools = NDArray[np.bool_]

_STEP = 0.25  # mm between points at which the mill is told the surface; waves are 5 mm and more


def slots(gap: float) -> Layout:
    """Traces side by side, each between two pads, a straight gap between every two."""
    board = plain()
    for k in range(4):
        y = 3.0 + k * (0.4 + gap)
        board.track("bottom", 0.4, f"T{k}", (3.0, y), (9.0 + k % 2, y))
    return board


def dots(gap: float, width: float = 0.8) -> Layout:
    """Round pads in rows: gaps that a cut passes though it is wider than they are."""
    board = plain()
    for k in range(4):
        for i in range(2):
            x, y = 3.0 + i * (width + gap), 2.5 + 2.5 * k
            pad(board, x, y, f"D{k}{i}", width, shape="circle")
    return board


def corners(gap: float) -> Layout:
    """Square pads that face each other with their corners, and ends of traces before pads."""
    board = plain()
    off = 0.8 + gap / np.sqrt(2)
    for k in range(3):
        pad(board, 3.0, 2.5 + 3.5 * k, f"L{k}", 0.8)
        pad(board, round(3.0 + off, 4), round(2.5 + 3.5 * k + off, 4), f"R{k}", 0.8)
    board.track("bottom", 0.3, "E", (8.0, 4.0), (11.0, 4.0))
    pad(board, round(8.0 - 0.15 - gap - 0.5, 4), 4.0, "F", 1.0)
    return board


def scattered() -> Layout:
    """Pads all over the board, far apart: only the foil can stay uncut."""
    board = plain()
    for k in range(16):
        pad(board, 1.5 + 3.5 * (k % 4), 1.5 + 3.5 * (k // 4), f"S{k}", 1.0)
    return board


def lonely() -> Layout:
    """Two pads near each other: no bed bends over so little."""
    board = plain()
    pad(board, 3.0, 3.0, "A", 0.6)
    pad(board, 4.5, 3.0, "B", 0.6)
    return board


def necks(*widths: float) -> Layout:
    """Pads joined in pairs by thin traces, level with the pixels of the mill."""
    board = plain()
    for k, width in enumerate(widths):
        y = 2.0 + 2.0 * k
        pad(board, 3.0, y, f"N{k}", 1.0)
        pad(board, 7.0, y, f"N{k}", 1.0)
        board.track("bottom", width, f"N{k}", (3.0, y), (7.0, y))
    return board


def rings(width: float, hole: float, shape: str = "circle", count: int = 6) -> Layout:
    """Pads with holes for leads, each with a trace that leaves it."""
    board = plain()
    for k in range(count):
        x, y = 2.5 + 4.0 * (k % 3), 3.0 + 5.0 * (k // 3)
        post(board, x, y, f"H{k}", width, hole, shape)
        board.track("bottom", 0.3, f"H{k}", (x, y), (x, y + 2.5))
    return board


def both_sides(width: float, hole: float) -> Layout:
    """Holes whose leads are soldered on the bottom, and a trace on the top."""
    board = plain("top", "bottom")
    for k in range(4):
        x, y = 3.0 + 5.0 * (k % 2), 3.0 + 5.0 * (k // 2)
        post(board, x, y, f"H{k}", width, hole)
        board.track("bottom", 0.3, f"H{k}", (x, y), (x, y + 2.5))
    board.track("top", 0.4, "T", (1.0, 12.5), (12.0, 12.5))
    return board


def all_at_once(gap: float, neck: float, width: float, hole: float) -> Layout:
    """Slots, dots, a neck and holes."""
    board = plain()
    for k in range(2):
        post(board, 3.0 + 4.0 * k, 11.0, f"H{k}", width, hole)
        board.track("bottom", 0.3, f"H{k}", (3.0 + 4.0 * k, 11.0), (3.0 + 4.0 * k, 8.0))
    board.track("bottom", 0.4, "T0", (2.0, 2.0), (7.0, 2.0))
    board.track("bottom", 0.4, "T1", (2.0, 2.4 + gap), (7.0, 2.4 + gap))
    pad(board, 9.0, 3.0, "D0", 0.8, shape="circle")
    pad(board, 9.8 + gap, 3.0, "D1", 0.8, shape="circle")
    pad(board, 3.0, 5.0, "N", 1.0)
    pad(board, 7.0, 5.0, "N", 1.0)
    board.track("bottom", neck, "N", (3.0, 5.0), (7.0, 5.0))
    return board


fine = partial(shop, tip=by_sd(0.1, 0.008, 0.015), depth=by_sd(0.1, 0.012),
               runout=by_sd(0.02, 0.008))  # fmt: skip
deep = partial(shop, angle=60.0, depth=by_sd(0.14, 0.01), foil=by_sd(0.018, 0.001))
loose = partial(shop, depth=by_sd(0.1, 0.01), registration=0.03, wander=0.02)

cut_out = partial(shop, depth=by_sd(0.1, 0.02), runout=by_sd(0.02, 0.008), bed=0.01)


class Pair(Struct, frozen=True):
    """A board or pieces of copper, a shop, and how fine the mill must look (mm)."""

    layout: Layout | Islands
    process: Process
    pixel: float = PIXEL


PAIRS: dict[str, Pair] = {
    # Gaps: (0.1 + 0.02 + 0.1 x 0.536 = 0.174 mm is cut in the middle of `fine`).
    "slots 0.16": Pair(slots(0.16), fine(bed=0.01)),
    "slots 0.18": Pair(slots(0.18), fine(bed=0.01)),
    "slots 0.20": Pair(slots(0.20), fine(bed=0.015)),
    "slots, end mill": Pair(slots(0.42), shop("flat", by_sd(0.4, 0.02), runout=by_sd(0.02, 0.01))),
    "slots, beam": Pair(slots(0.10), shop("beam", by_sd(0.095, 0.01))),
    "dots 0.15": Pair(dots(0.15), fine(bed=0.012)),
    "dots 0.17": Pair(dots(0.17), fine(bed=0.012)),
    "small dots 0.14": Pair(dots(0.14, 0.4), fine(bed=0.01)),
    "dots 0.22, blunt": Pair(dots(0.22), shop(
        angle=60, tip=by_sd(0.12, 0.03), depth=by_sd(0.1, 0.01), bed=0.01)),
    "corners 0.15": Pair(corners(0.15), fine(bed=0.01)),
    "corners 0.17": Pair(corners(0.17), fine(bed=0.01)),
    "slots 0.15, bitten": Pair(slots(0.15), fine(bed=0.01, bite=0.015)),
    "dots 0.15, bitten": Pair(dots(0.15), fine(bed=0.01, bite=0.01)),
    # Pieces of copper as they come, each a net of its own.
    "piece 1": Pair(layout("ordinary", 1), cut_out(tip=by_sd(0.03, 0.015)), 0.01),
    "piece 2": Pair(layout("ordinary", 2), cut_out(tip=by_sd(0.14, 0.015)), 0.01),
    "piece 4": Pair(layout("ordinary", 4), cut_out(tip=by_sd(0.02, 0.015)), 0.01),
    "piece 8": Pair(layout("ordinary", 8), cut_out(tip=by_sd(0.12, 0.015)), 0.01),
    "piece 11": Pair(layout("ordinary", 11), cut_out(tip=by_sd(0.04, 0.015)), 0.01),
    # Film.
    "film, lonely pads": Pair(lonely(), shop(depth=by_sd(0.06, 0.01), bed=0.02, wave=20)),
    "film, all over": Pair(scattered(), shop(depth=by_sd(0.08, 0.005), bed=0.02)),
    "film, half the time": Pair(scattered(), shop(depth=by_sd(0.07, 0.01), bed=0.02, wave=8)),
    "film, shallow": Pair(scattered(), shop(depth=by_sd(0.06, 0.01), bed=0.02, wave=8)),
    "film, rough bed": Pair(scattered(), shop(depth=by_sd(0.08, 0.005), bed=0.03, wave=6)),
    # Necks.
    "necks 0.04": Pair(necks(0.04, 0.06), deep(bed=0.035)),
    "necks 0.04, four": Pair(necks(0.04, 0.04, 0.04, 0.04), deep(bed=0.05)),
    "necks 0.04, long waves": Pair(necks(0.04, 0.08), deep(bed=0.05, wave=12)),
    # Rings.
    "rings 0.09": Pair(rings(0.98, 0.8), loose(bed=0.01)),
    "rings 0.05": Pair(rings(0.9, 0.8), loose(bed=0.01)),
    "rings 0.075": Pair(rings(0.95, 0.8), loose(bed=0.01)),
    "square rings 0.075": Pair(rings(0.95, 0.8, "rect"), loose()),
    "rings, other side": Pair(both_sides(1.1, 0.8), loose(flip=0.06)),
    # All.
    "all": Pair(all_at_once(0.18, 0.08, 1.0, 0.8), fine(registration=0.03, wander=0.02, bed=0.02)),
    "all, deep": Pair(all_at_once(0.28, 0.04, 0.94, 0.8), deep(
        registration=0.03, wander=0.02, bed=0.03, tip=by_sd(0.1, 0.01))),
}  # fmt: skip


class Judged(Struct, frozen=True):
    """(draws,) whether drawn set-ups spoil the board, as the odds and as the mill have it."""

    ours: Bools
    mill: Bools
    faults: dict[str, int]


def judged(pair: Pair, folder: Path, draws: int, seed: int = 7) -> Judged:
    """Both on the same drawn machines."""
    process = pair.process
    facts = facts_of(pair.layout, process, folder)
    drawn = setups(process, draws, seed)
    machines = Machines(facts, process, drawn, draws, seed)
    ours = any_of(features_of(machines), draws)
    milled = Milled.of(pair.layout, facts.board, pair.pixel)
    wander = wanders(np.arange(milled.holes), process.drills.wander, draws, seed)
    registration = offsets("registration", process.machine.registration, draws, seed)
    flip = offsets("flip", process.machine.flip, draws, seed)
    faults: dict[str, int] = {}
    mill = np.zeros(draws, bool)
    for side, sheet in milled.sheets.items():
        surface = sheet.surface(_STEP)
        heights = np.zeros((draws, *surface.shape[:2]))
        if machines.bed is not None:
            heights = machines.residual(side, surface.reshape(-1, 2)).reshape(heights.shape)
        second = side == 1 and len(milled.sheets) == 2
        for draw in range(draws):
            off = (registration + flip * second)[draw] + wander[:, draw].T
            tool = Tool(drawn.shape, drawn.tip[draw], drawn.angle, drawn.depth[draw, side],
                        drawn.foil[draw], 0.0)  # fmt: skip
            found = sheet.faults(
                tool.cutting(drawn.trial[draw, side]), heights[draw], off, process.bite
            )
            mill[draw] |= bool(found)
            for fault in found:
                faults[fault] = faults.get(fault, 0) + 1
    return Judged(ours, mill, faults)
