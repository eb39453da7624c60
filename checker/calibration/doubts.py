"""What speaks against readings: sentences without their full stops."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.calibration.fit import FEWEST_PLACES, students_t
from checker.calibration.line import SURE, slope_of
from checker.calibration.slips import factor_of
from checker.process.width import nominal_width

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.calibration.fit import Floats
    from checker.calibration.model import Calibration

FALSE_ALARM = 0.01
"""Of good coupons so many are called bent; and so many are said to have an outlier."""

_UNITS = 5.0  # times; no bit is off its catalogue by that
_EXACT = 1e-9
_STEP = 0.01  # mm of depth over which a slope is taken
_SMALL = 1e-6  # mm; what is left of readings that agree


def doubts(calibration: Calibration) -> Iterator[str]:
    """What to look at again."""
    measurements, line = calibration.measurements, calibration.line
    depths = np.array([reading.depth for reading in measurements.readings])
    yield from _made_for(calibration)
    yield from _units(calibration, depths)
    if line.bit.shape == "cone" and not line.sloped:
        slope = slope_of(line.bit, measurements.readings)
        if slope is not None and slope.interval[1] < line.steepness(0, _STEP) / _STEP:
            yield (
                f"the widths grow less with the depth than those of a cone of {line.bit.angle:g} "
                "deg: another bit, a broken tip, or a depth that was not reached"
            )
        yield (
            f"the depths read, {depths.min():g} to {depths.max():g} mm, do not tell the angle to "
            f"{100 * SURE:.0f} % of its slope: that of the profile, {line.bit.angle:g} deg, is "
            "taken; read grooves of depths farther apart"
        )
    depth = calibration.width.depth
    if (
        line.bit.shape in ("cone", "ball")
        and not depths.min() - _EXACT <= depth <= depths.max() + _EXACT
    ):
        yield (
            f"the profile's depth of {depth:g} mm lies outside those read, {depths.min():g} to "
            f"{depths.max():g} mm: its width is carried on beyond what was seen"
        )
    places = {reading.place for reading in measurements.readings}
    if len(places) < FEWEST_PLACES and line.bit.shape != "beam":
        yield (
            f"widths were read at {len(places)} place{'s' * (len(places) > 1)}: what the bed does "
            "elsewhere is taken from the profile"
        )
    yield from _outliers(calibration)
    yield from _bend(calibration, depths)
    for one in calibration.directions:
        if one.differs:
            wide, narrow = one.along, one.against
            if one.wider.value < 0:
                wide, narrow = narrow, wide
            low, high = sorted(map(abs, one.wider.interval))
            yield (
                f"cuts along {wide} come out {abs(one.wider.value):.3f} mm wider than along "
                f"{narrow} ({low:.3f} to {high:.3f}): play of an axis, or a head that tilts"
            )
    widest = calibration.width.spread.most
    for row in calibration.gaps:
        comb = row.comb
        if comb.good < comb.of and comb.drawn > widest:
            yield (
                f"{comb.of - comb.good} of {comb.of} gaps of {comb.drawn:g} mm stayed closed "
                f"across {comb.along}, where the widest cut of {widest:.3f} mm fits: foil left "
                "uncut, or no path was led through"
            )


def _made_for(calibration: Calibration) -> Iterator[str]:
    coupon, name = calibration.measurements.coupon, calibration.process.name
    if coupon is not None and coupon != name:
        yield f"the coupon was made for {coupon}, and {name} is calibrated"


def _units(calibration: Calibration, depths: Floats) -> Iterator[str]:
    bit = calibration.line.bit
    widths = np.array([reading.width for reading in calibration.measurements.readings])
    expected = np.array([nominal_width(bit, depth) for depth in depths.tolist()])
    ratio = float(np.median(widths / expected))
    if 1 / _UNITS <= ratio <= _UNITS:
        return
    factor = factor_of(ratio)
    slip = "" if factor is None else f", about {max(factor, 1 / factor):g} times: a slip of unit?"
    yield (
        f"the widths are {max(ratio, 1 / ratio):.1f} times {'wider' if ratio > 1 else 'narrower'} "
        f"than the profile's bit cuts{slip}"
    )


def _outliers(calibration: Calibration) -> Iterator[str]:
    """Residuals, each against the scatter of all others; Bonferroni over the readings."""
    fit = calibration.line.fit
    n, p = fit.design.shape
    base = np.linalg.qr(fit.design)[0]
    left = fit.values - base @ (base.T @ fit.values)
    leverage = np.minimum((base**2).sum(1), 1 - _EXACT)
    squares = float(left @ left)
    if n - p < 2 or squares < _SMALL**2:
        return
    others = np.maximum(squares - left**2 / (1 - leverage), 0.0) / (n - p - 1)
    studentized = np.abs(left) / np.sqrt(np.maximum(others, _SMALL**2) * (1 - leverage))
    for i in np.flatnonzero(studentized > students_t(n - p - 1, FALSE_ALARM / n)).tolist():
        reading = calibration.measurements.readings[i]
        yield (
            f"{reading.where}: {reading.width:g} mm at {reading.depth:g} mm of depth lies "
            f"{left[i]:+.3f} mm off the others: read it again"
        )


def _bend(calibration: Calibration, depths: Floats) -> Iterator[str]:
    """Whether a line with a square of the depth fits better than chance explains."""
    fit = calibration.line.fit
    n, p = fit.design.shape
    if len(set(depths.tolist())) < 3 or not calibration.line.sloped or n - p < 3:
        return
    base = np.linalg.qr(fit.design)[0]
    bent, left = (column - base @ (base.T @ column) for column in (depths**2, fit.values))
    if float(bent @ bent) < _EXACT**2:  # the directions were read at depths of their own
        return
    explained = float(bent @ left) ** 2 / float(bent @ bent)
    rest = max(float(left @ left) - explained, _SMALL**2) / (n - p - 1)
    if explained / rest > students_t(n - p - 1, FALSE_ALARM) ** 2:
        yield (
            "the widths do not lie on a straight line by depth: the zero of the depth, a chipped "
            "tip, or grooves without a clean edge"
        )
