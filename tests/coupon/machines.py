"""Machines drawn within what a profile says of them, and their coupons on the virtual mill.

The owner of a machine has measured how wide it cuts and planned the path for that; what is left to
chance is where the bed lies higher or lower. A trace survives where as much copper is left of it as
the profile trusts.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.coupon import predicted
from checker.engine import check, reach_for
from checker.measure import Facts, measure
from checker.process.bit import Spread
from checker.process.model import Process
from checker.process.vary import at_depth
from tests.coupon.made import board, built_in
from tests.oracles.mill import Sheet, Tool

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.coupon.model import Cell

    Height = Callable[[np.ndarray], np.ndarray]

Failing = dict[tuple[str, str], float | None]

_PIXEL, _STEP = 0.025, 0.5  # mm; pixels on which the middles of traces lie, steps of the surface
_WAVES = 6


class Machine(Struct, frozen=True):
    """A tool as it is, and how high the surface lies where it is set to 0 (mm)."""

    tool: Tool
    height: Height

    @property
    def width(self) -> float:
        """Of its cut on the whole."""
        return self.tool.trial


def machine_of(process: Process, seed: int) -> Machine:
    """One that the profile allows: each error anywhere between its ends, the bed in waves."""
    random = np.random.default_rng(seed)
    bit = process.bit
    assert bit is not None

    def drawn(of: Spread) -> float:
        share = random.random(2)
        ends = (of.least, of.nominal) if share[0] < 0.5 else (of.nominal, of.most)
        return ends[0] + float(share[1]) * (ends[1] - ends[0])

    tip, depth, runout, foil = map(drawn, (bit.tip_width, bit.depth, bit.runout, process.foil))
    turn, phase = random.uniform(0, 2 * np.pi, (2, _WAVES))
    length = random.uniform(15.0, 60.0, _WAVES)
    low = random.uniform(-0.5, 0.5) * process.bed_error  # where the whole coupon lies

    def height(places: np.ndarray) -> np.ndarray:
        along = places[..., :1] * np.cos(turn) + places[..., 1:] * np.sin(turn)
        waves: np.ndarray = np.sin(2 * np.pi * along / length + phase).mean(-1)
        return 0.5 * process.bed_error * waves

    tool = Tool(bit.shape, tip, bit.angle, depth + low, foil, runout)
    return Machine(tool, height)


def known_to_its_owner(process: Process, machine: Machine) -> Process:
    """The process with the width of the cut that this machine makes, exactly."""
    bit = process.bit
    assert bit is not None
    width = Spread(machine.width, machine.width, machine.width)
    return at_depth(replace(process, bit=replace(bit, measured_width=width)), bit.depth.nominal)


@cache
def facts_of(name: str) -> Facts:
    """Of the coupon, for any machine of its profile."""
    return measure(board(name), reach_for(built_in(name).process))


def told(name: str, machine: Machine) -> Failing:
    """What a check with the machine's own width says fails."""
    coupon = built_in(name)
    process = known_to_its_owner(coupon.process, machine)
    return dict(predicted(coupon, check(board(name), process, facts=facts_of(name))))


def milled(name: str, machine: Machine, only: tuple[str, str] | None = None) -> Failing:
    """What fails on the virtual mill, of all combs or one."""
    failing: Failing = {}
    for cell in built_in(name).cells:
        key = cell.what, cell.across
        if only not in (None, key):
            continue
        worst = failing.setdefault(key, None)
        if _fails(name, cell, machine):
            failing[key] = max(worst or 0.0, cell.width)
    return failing


def _fails(name: str, cell: Cell, machine: Machine) -> bool:
    sheet = _sheet(name, cell)
    higher = machine.height(sheet.surface(_STEP))
    if cell.what == "gaps":
        return bool(sheet.faults(machine.tool, higher) & {"joined", "film"})
    least = built_in(name).process.minimum_trace
    assert least is not None
    # As if the cut were wider by the least that must be left, its path where it is: what is then
    # in one piece has as much left everywhere, at the top of the copper.
    tool = replace(machine.tool, foil=0.0, extra=machine.tool.extra + least)
    return "severed" in sheet.faults(tool, higher, bite=least / 2)


@lru_cache(maxsize=32)  # those of one profile; all of them take a gigabyte
def _sheet(name: str, cell: Cell) -> Sheet:
    layer, box = board(name).copper[0], shapely.box(*cell.box)
    near = [island for island in layer.islands if island.distance(box) < 0.01]
    # Copper of no net that keeps the rim of the sheet away from what is cut.
    x0, y0, x1, y1 = shapely.total_bounds(near)
    far = [shapely.Point(*at).buffer(0.1) for at in ((x0 - 2, y0 - 2), (x1 + 2, y1 + 2))]
    if cell.what == "gaps":
        terminals = [(*_middle(island), number) for number, island in enumerate(near)]
        return Sheet([*near, *far], [*range(len(near)), -1, -2], terminals, pixel=_PIXEL)
    pads = [
        (*one.points[0], 0)
        for one in built_in(name).copper
        if one.function == "TestPad" and shapely.Point(one.points[0]).distance(near[0]) == 0
    ]
    return Sheet([*near, *far], [0, -1, -2], pads, pixel=_PIXEL)


def _middle(island: Any) -> tuple[float, float]:
    x0, y0, x1, y1 = island.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def steps_between(widths: tuple[float, ...], one: float | None, other: float | None) -> int:
    """How many steps of a comb two first failing widths lie apart; none counts as one below."""
    places = [-1 if width is None else widths.index(width) for width in (one, other)]
    return abs(places[0] - places[1])
