"""Which widths and depths a coupon tries: those round the limits of its process, and no others."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.process.width import width_at

if TYPE_CHECKING:
    from checker.process.bit import Bit, Spread
    from checker.process.model import Process

STEP = 0.05  # mm from one width of a comb to the next, where the cut is neither sure nor vague
# For a spread up to so much, mm: the step.
_STEPS = ((0.03, 0.01), (0.075, 0.02), (0.25, STEP), (0.5, 0.1), (math.inf, 0.2))
_LEAST_COUNT = 4  # widths of a comb
_BELOW, _ABOVE = 2, 1  # steps round the narrowest trace: most say they can make less than they can
_DEPTHS = 5
_WIDER = 0.016  # mm that a groove should be wider than the one before
_DEEPER = 0.02, 0.04  # mm from depth to depth, at least and at most
_EXACT = 1e-6


def gap_widths(likely: Spread) -> tuple[float, ...]:
    """Widths of gaps round the width of a cut, from what it hardly passes to what it surely does.

    Args:
        likely: the cut; errors as root sum of squares.
    """
    spread = likely.most - likely.least
    step = next(step for most, step in _STEPS if spread <= most) if spread else STEP
    first = max(1, math.floor(likely.least / step + _EXACT))
    last = max(first, math.ceil(likely.most / step - _EXACT))
    while last - first + 1 < _LEAST_COUNT:
        last += 1
        if last - first + 1 < _LEAST_COUNT and first > 1:
            first -= 1
    return tuple(round(step * number, 6) for number in range(first, last + 1))


def trace_widths(minimum: float) -> tuple[float, ...]:
    """Widths of traces round the narrowest that is trusted to survive."""
    middle = max(1, round(minimum / STEP))
    first = max(1, middle - _BELOW)
    return tuple(round(STEP * number, 6) for number in range(first, middle + _ABOVE + 1))


def sure_depth(process: Process) -> float:
    """The least depth to set, in hundredths, at which the foil is cut wherever the bed lies."""
    bit = process.bit
    setting = 0.0 if bit is None else bit.depth.nominal - bit.depth.least
    return up(process.foil.most + process.bed_error + setting, 0.01)


def groove_depths(process: Process) -> tuple[float, ...]:
    """Depths to cut grooves at, ascending: the least surely cuts the foil, the depth set is within.

    They lie so far apart that widths tell the angle of a cone. A beam has one, 0.
    """
    bit = process.bit
    if bit is None:
        return ()
    if bit.shape == "beam":
        return (0.0,)
    first = sure_depth(process)
    slope = _slope(bit)
    least, most = _DEEPER
    step = min(max(up(_WIDER / slope, 0.01), least), most) if slope > _EXACT else least
    beyond = up((bit.depth.nominal - first) / (_DEPTHS - 2), 0.01)
    return tuple(round(first + number * max(step, beyond), 6) for number in range(_DEPTHS))


def corner_depth(depths: tuple[float, ...]) -> float:
    """Of the depths in the middle the one that is cut at the corners too, to tell the bed."""
    return depths[1] if len(depths) > 1 else depths[0]


def up(length: float, step: float) -> float:
    """The next whole step that is no less."""
    return round(math.ceil(length / step - _EXACT) * step, 6)


def _slope(bit: Bit) -> float:
    """How much wider the bit cuts per depth, at the depth it is set to."""
    depth, deeper = bit.depth.nominal, _DEEPER[0]
    return (width_at(bit, depth + deeper) - width_at(bit, depth)) / deeper
