"""How wide a bit cuts at a depth, fitted to readings. Lengths in mm.

A cone's width grows evenly with the depth: ``w = a + b z``. Where the depths read lie too close
together for b, and for other bits, the profile's geometry gives the shape of the curve and the
readings give how far it lies off, ``w = g(z) + a``; that is how a profile moves a measured width to
another depth too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from checker.calibration.fit import Estimate, Fit, fitted
from checker.process.width import nominal_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.calibration.fit import Floats
    from checker.calibration.model import Reading
    from checker.process.model import Bit

SURE = 0.5
"""A slope is told where its interval reaches no farther than this share of it to either side."""


@dataclass(frozen=True, slots=True)
class Line:
    """Width by depth.

    Attributes:
        bit: whose geometry gives the shape where the slope is not fitted.
        sloped: whether the slope is fitted, ``w = a + b z``.
        fit: of the readings, in their order.
    """

    bit: Bit
    sloped: bool
    fit: Fit

    def mean(self, depth: float) -> Estimate:
        """The mean width at a depth."""
        return self._at(depth, anew=False)

    def reading(self, depth: float) -> Estimate:
        """One more reading at a depth, at a place not read before."""
        return self._at(depth, anew=True)

    @property
    def tip(self) -> Estimate | None:
        """The width at depth nought, None where the slope is not fitted."""
        return self.fit.estimate((1, 0)) if self.sloped else None

    @property
    def slope(self) -> Estimate | None:
        """How much wider the cut gets per depth, None where that is not fitted."""
        return self.fit.estimate((0, 1)) if self.sloped else None

    def steepness(self, depth: float, by: float) -> float:
        """How much wider the cut gets if set deeper by so much, never negative."""
        if self.sloped:
            return max(0.0, float(self.fit.coefficients[1]) * by)
        return nominal_width(self.bit, depth + by) - nominal_width(self.bit, depth)

    def design(self, depths: Floats) -> Floats:
        """(n, p) rows of the fitted model."""
        return _design(depths, self.sloped)

    def known(self, depths: Floats) -> Floats:
        """(n,) what geometry gives, before anything is fitted."""
        return _known(self.bit, depths, self.sloped)

    def _at(self, depth: float, anew: bool) -> Estimate:
        at = np.array([depth])
        off = self.fit.estimate(self.design(at)[0].tolist(), anew)
        return Estimate(off.value + float(self.known(at)[0]), off.error, off.freedom)


def line_of(bit: Bit, readings: Sequence[Reading]) -> Line:
    """Fit the width of a bit to readings.

    Args:
        bit: as the profile has it.
        readings: at least two more than a line needs.
    """
    if bit.shape == "cone" and len({reading.depth for reading in readings}) > 1:
        line = _fitted(bit, readings, sloped=True)
        slope = line.slope
        if slope is not None and slope.reach <= SURE * slope.value:
            return line
    return _fitted(bit, readings, sloped=False)


def _fitted(bit: Bit, readings: Sequence[Reading], sloped: bool) -> Line:
    depths = np.array([reading.depth for reading in readings])
    widths = np.array([reading.width for reading in readings])
    places = [reading.place for reading in readings]
    off = widths - _known(bit, depths, sloped)
    return Line(bit, sloped, fitted(_design(depths, sloped), off, places))


def _design(depths: Floats, sloped: bool) -> Floats:
    ones = np.ones_like(depths)
    return np.column_stack([ones, depths]) if sloped else ones[:, None]


def _known(bit: Bit, depths: Floats, sloped: bool) -> Floats:
    if sloped:
        return np.zeros_like(depths)
    return np.array([nominal_width(bit, depth) for depth in depths.tolist()])
