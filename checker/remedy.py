"""Remedies in numbers: what to set, buy or move so that a cut passes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.process.bed import grid_for
from checker.process.width import width_at

if TYPE_CHECKING:
    from checker.process.bit import Bit
    from checker.process.model import Process

STEP = 0.01  # what people set on a machine and in a layout, mm
FINE_STEP = 0.001
_GRID_STEP = 0.5  # grids are probed in steps of this, mm
_EXACT = 1e-9  # so that binary fractions do not push a whole number to its neighbour
_FINEST = 0.05  # no finer tip or end mill is ground for copper, mm
_SHARPEST = 10  # nor a sharper cone, degrees
_WITHOUT = " (without margin)"


def up(length: float, step: float = STEP) -> float:
    """The next whole step, not below the length."""
    return math.ceil(length / step - _EXACT) * step


def down(length: float, step: float = STEP) -> float:
    """The last whole step, not above the length."""
    return math.floor(length / step + _EXACT) * step


def probe_grid(bow: float | None, error: float) -> float:
    """The grid to probe that keeps a bowed blank within ``error``; 0 without a known bow."""
    return down(grid_for(bow, error), _GRID_STEP) if bow else 0.0


def least_depth(process: Process) -> float:
    """The nominal depth from which the foil is cut through everywhere: spread and bed at worst."""
    assert process.bit is not None
    assert process.reached is not None
    return process.foil.most + process.bit.depth.nominal - process.reached.least


class Remedies:
    """What opens a gap, if it can be had even at the widest cut, and not by a hair.

    Args:
        process: one that cuts.
        band: widths nearer than this cannot be told apart, mm.
    """

    def __init__(self, process: Process, band: float) -> None:
        assert process.cut is not None
        self._process, self._bit, self._cut = process, process.bit, process.cut
        self._spread = process.cut.most - process.cut.nominal
        # What passes the worst cut has a margin, unless nobody said how bad it gets.
        self._surely = "" if self._spread > 0 else _WITHOUT
        self._band = band
        self._known: dict[tuple[float, bool], str | None] = {}

    def missing(self, fits: float) -> tuple[float, float]:
        """How much wider a gap has to be where a cut of width ``fits`` passes, in whole steps.

        First to open at all, then to open at the widest cut; the same for a gap that opens.
        """
        nominal = self._cut.nominal + self._band
        surely = max(STEP, up(max(self._cut.most, nominal) - fits))
        return (surely if fits >= nominal else max(STEP, up(nominal - fits))), surely

    def process(self, fits: float) -> str | None:
        """The setting or the tool that passes where ``fits`` does; None where none will."""
        # Whether it opens at the nominal cut is not left to what rounding takes off.
        key = down(fits, FINE_STEP), fits - self._band >= self._cut.nominal
        if key not in self._known:
            self._known[key] = self._find(self._bit, *key) if self._bit is not None else None
        return self._known[key]

    def _find(self, bit: Bit, fits: float, opens: bool) -> str | None:
        surely, barely = fits - max(self._spread, self._band), fits - self._band
        depth = self._shallower(surely, "cut at {} mm or less" + self._surely)
        if depth is not None:
            return depth
        if opens:  # only not always
            hold = "hold the cut" if self._process.measured else "measure the cut and hold it"
            return f"{hold} to {fits:.3f} mm at its widest"
        if bit.shape == "beam":
            return self._narrower(bit, surely, "narrow the beam's cut to {:.2f} mm" + self._surely)
        if bit.shape == "flat":
            return self._narrower(bit, surely, "use a bit of {:.2f} mm or narrower" + self._surely)
        return (
            self._shallower(barely, "cut at {} mm or less" + _WITHOUT)
            or self._finer(bit, surely, self._surely)
            or self._finer(bit, barely, _WITHOUT)
        )

    def _narrower(self, bit: Bit, width: float, words: str) -> str | None:
        # A beam is told by its cut, an end mill by its diameter, which runout widens.
        size = width if bit.shape == "beam" else bit.tip_width.nominal + width - self._cut.nominal
        return words.format(down(size)) if down(size) >= _FINEST else None

    def _shallower(self, width: float, words: str) -> str | None:
        depth = self._process.depth_for_width(width)
        if depth is None:
            return None
        for step, digits in ((STEP, 2), (FINE_STEP, 3)):
            if down(depth, step) >= least_depth(self._process) - _EXACT:
                return words.format(f"{down(depth, step):.{digits}f}")
        return None

    def _finer(self, bit: Bit, width: float, proviso: str = "") -> str | None:
        """A sharper cone or a finer tip, at the least depth that clears the foil."""
        depth = up(least_depth(self._process))
        excess = width_at(bit, depth) - width
        if bit.shape != "cone" or depth <= 0 or excess <= 0:
            return None
        half = math.tan(math.radians(bit.angle / 2)) - excess / (2 * depth)
        angle = math.floor(math.degrees(2 * math.atan(half)) + _EXACT)
        at = f"{depth:.2f} mm deep{proviso}"
        if angle >= _SHARPEST:
            return f"use a bit of {angle}° or sharper with the same tip, {at}"
        tip = down(bit.tip_width.nominal - excess)
        if tip >= _FINEST:
            return f"use a tip of {tip:.2f} mm or finer at the same angle, {at}"
        return None
