"""How wide a bit cuts at a depth, fitted to readings. Lengths in mm.

A cone's width grows evenly with the depth: ``w = a + b z``. Where the depths read lie too close
together for b, and for other bits, the profile's geometry gives the shape of the curve and the
readings give how far it lies off, ``w = g(z) + a``; that is how a profile moves a measured width to
another depth too.

Where cuts along some directions come out wider than along others by more than chance, each
direction has an offset of its own, all of them zero on the mean. The line is that mean.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.calibration.fit import Estimate, Fit, fitted, students_t
from checker.calibration.measurements import DIRECTIONS
from checker.process.width import nominal_width

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from checker.calibration.fit import Floats
    from checker.calibration.measurements import Reading
    from checker.process.bit import Bit

SURE = 0.5
"""A slope is told where its interval reaches no farther than this share of it to either side."""

CHANCE = 0.01
"""Directions are fitted apart where chance makes such differences of one coupon in a hundred."""

_FEWEST = 2  # readings along a direction


class Line(Struct, frozen=True):
    """Width by depth.

    Attributes:
        bit: whose geometry gives the shape where the slope is not fitted.
        sloped: whether the slope is fitted, ``w = a + b z``.
        apart: the directions that have offsets of their own; none, or two and more.
        fit: of the readings, in their order.
    """

    bit: Bit
    sloped: bool
    apart: tuple[str, ...]
    fit: Fit

    def mean(self, depth: float) -> Estimate:
        """The mean width at a depth, over all directions."""
        return self._at(depth, anew=False)

    def reading(self, depth: float) -> Estimate:
        """One more reading at a depth, at a place not read before, along no direction apart."""
        return self._at(depth, anew=True)

    @property
    def tip(self) -> Estimate | None:
        """The width at depth nought, None where the slope is not fitted."""
        return self.fit.estimate((1, 0, *self._nowhere)) if self.sloped else None

    @property
    def slope(self) -> Estimate | None:
        """How much wider the cut gets per depth, None where that is not fitted."""
        return self.fit.estimate((0, 1, *self._nowhere)) if self.sloped else None

    @property
    def aside(self) -> tuple[float, float]:
        """How far the narrowest and the widest direction lie off the mean of all."""
        offsets = [float(self._offset(along) @ self.fit.coefficients) for along in self.apart]
        return min(offsets, default=0.0), max(offsets, default=0.0)

    def differences(self) -> Iterator[tuple[str, str, Estimate]]:
        """Of every two directions apart: the second's name, the first's, how much wider it cuts."""
        for one, other in combinations(self.apart, 2):
            row = self._offset(other) - self._offset(one)
            yield other, one, self.fit.estimate(row.tolist())

    def steepness(self, depth: float, by: float) -> float:
        """How much wider the cut gets if set deeper by so much, never negative."""
        if self.sloped:
            return max(0.0, float(self.fit.coefficients[1]) * by)
        return nominal_width(self.bit, depth + by) - nominal_width(self.bit, depth)

    def _at(self, depth: float, anew: bool) -> Estimate:
        row = (1, depth) if self.sloped else (1,)
        off = self.fit.estimate((*row, *self._nowhere), anew)
        return Estimate(off.value + _known(self.bit, depth, self.sloped), off.error, off.freedom)

    @property
    def _nowhere(self) -> tuple[float, ...]:
        return _code(self.apart, "")

    def _offset(self, along: str) -> Floats:
        return np.array([0.0] * (1 + self.sloped) + [*_code(self.apart, along)])


def line_of(bit: Bit, readings: Sequence[Reading], apart: Sequence[str] = ()) -> Line:
    """Fit the width of a bit to readings.

    Args:
        bit: as the profile has it.
        readings: at least two more than a line needs.
        apart: directions to give offsets of their own; see `directions_of`.
    """
    if _angled(bit, readings):
        line = _fitted(bit, readings, True, tuple(apart))
        slope = line.slope
        if slope is not None and slope.reach <= SURE * slope.value:
            return line
    return _fitted(bit, readings, False, tuple(apart))


def slope_of(bit: Bit, readings: Sequence[Reading]) -> Estimate | None:
    """The slope that readings give, however unsure; None where they give none."""
    return _fitted(bit, readings, True, ()).slope if _angled(bit, readings) else None


def directions_of(bit: Bit, readings: Sequence[Reading]) -> tuple[str, ...]:
    """The directions that readings can tell apart; none where there are too few of any."""
    names = [reading.along for reading in readings]
    told = tuple(name for name in DIRECTIONS if names.count(name) >= _FEWEST)
    if len(told) < 2:
        return ()
    design = _design(readings, _angled(bit, readings), told)
    n, p = design.shape
    return told if n >= p + 2 and np.linalg.matrix_rank(design) == p else ()


def differ(line: Line) -> bool:
    """Whether the directions of a line differ by more than chance; Bonferroni over the pairs."""
    found = [wider for _, _, wider in line.differences()]
    return any(
        abs(one.value) > students_t(one.freedom, CHANCE / len(found)) * one.error for one in found
    )


def _angled(bit: Bit, readings: Sequence[Reading]) -> bool:
    """Whether there is a slope to fit."""
    return bit.shape == "cone" and len({reading.depth for reading in readings}) > 1


def _fitted(bit: Bit, readings: Sequence[Reading], sloped: bool, apart: tuple[str, ...]) -> Line:
    off = [reading.width - _known(bit, reading.depth, sloped) for reading in readings]
    places = [reading.place for reading in readings]
    return Line(bit, sloped, apart, fitted(_design(readings, sloped, apart), np.array(off), places))


def _design(readings: Sequence[Reading], sloped: bool, apart: Sequence[str]) -> Floats:
    rows = [
        (1.0, *((reading.depth,) if sloped else ()), *_code(apart, reading.along))
        for reading in readings
    ]
    return np.array(rows)


def _code(apart: Sequence[str], along: str) -> tuple[float, ...]:
    """What a direction counts in the columns of all but the first, whose offset is what is left."""
    if along not in apart:
        return (0.0,) * max(0, len(apart) - 1)
    if along == apart[0]:
        return (-1.0,) * (len(apart) - 1)
    return tuple(float(along == name) for name in apart[1:])


def _known(bit: Bit, depth: float, sloped: bool) -> float:
    return 0.0 if sloped else nominal_width(bit, depth)
