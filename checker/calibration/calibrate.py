"""From a process and what was measured on its coupon to a `Calibration`."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from checker.calibration import combs
from checker.calibration.doubts import doubts
from checker.calibration.fit import Estimate
from checker.calibration.line import differ, directions_of, line_of
from checker.calibration.model import Calibration, Direction, Offset, Width
from checker.calibration.settings import settings_of
from checker.errors import MeasurementError, ProfileError
from checker.methods import LASER, MILLING
from checker.process.bit import Spread
from checker.process.keys import KEYS
from checker.process.units import COVERAGE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from checker.calibration.line import Line
    from checker.calibration.measurements import Measurements, Reading
    from checker.process.bit import Bit
    from checker.process.model import Process

FEWEST = {"cone": 5, "flat": 4, "ball": 4, "beam": 4}
"""Readings without which nothing is fitted: three more than what is fitted."""

_STEPS = (0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)  # mm by which scales are divided
_EXACT = 1e-6
_BY_HAND = "write what its combs say into a profile of your own, as minimum_gap and minimum_trace"


def calibrate(process: Process, measurements: Measurements) -> Calibration:
    """Fit what was read, and say what goes into a profile.

    Raises:
        ProfileError: the process cuts with no tool.
        MeasurementError: too few readings, one without a depth, or no cut that could be.
    """
    bit = process.bit
    if bit is None or bit.shape not in FEWEST:
        expected = f"a process of {MILLING} or {LASER}"
        found = f"{process.method} cuts no grooves to measure"
        raise ProfileError(process.source, found, expected, _BY_HAND if process.cut else "")
    readings, fewest = measurements.readings, FEWEST[bit.shape]
    if len(readings) < fewest:
        found = f"{len(readings)} of the grooves have a width"
        raise MeasurementError(measurements.source, found, f"{fewest} or more for a {bit.shape}")
    if bit.shape != "beam":
        _must_have_depths(readings)
    line, apart = line_of(bit, readings), line_of(bit, readings, directions_of(bit, readings))
    if differ(apart):
        line = apart
    slope = line.slope
    width = _width(process, bit, line, _step(measurements))
    _must_be_a_cut(width, measurements.source)
    calibration = Calibration(
        process=process,
        measurements=measurements,
        line=line,
        tip=line.tip,
        angle=None if slope is None else _angle(slope),
        width=width,
        directions=tuple(Direction(*one) for one in apart.differences()),
        gaps=combs.rows(measurements.gaps),
        traces=combs.rows(measurements.traces),
        registration=tuple(_registration(measurements)),
        settings=(),
        kept={},
        warnings=(),
    )
    settings, kept = settings_of(calibration)
    return replace(calibration, settings=settings, kept=kept, warnings=tuple(doubts(calibration)))


def _must_have_depths(readings: Sequence[Reading]) -> None:
    for reading in readings:
        if not reading.depth:
            expected = "the depth at which that groove was cut"
            raise MeasurementError(f"{reading.where}: grooves", "depth is missing", expected)


def _must_be_a_cut(width: Width, source: str) -> None:
    """Readings that contradict each other, carried on to the profile's depth, give anything."""
    low, high = KEYS["bit.measured_width"].plausible
    if low <= width.spread.nominal and width.spread.most <= high:
        return
    raise MeasurementError(
        source,
        f"at the profile's depth of {width.depth:g} mm the grooves give a cut of "
        f"{width.spread.nominal:.3f} mm, up to {width.spread.most:.3f}",
        f"{low:g} to {high:g} mm",
        "read grooves near that depth again, and their depths",
    )


def _angle(slope: Estimate) -> Spread:
    """The included angle of a cone that widens so much per depth.

    An angle is the more the steeper the slope, so the ends of the slope's interval give those of
    the angle's, exactly; no linear approximation is made.
    """
    low, high = slope.interval
    least, nominal, most = (
        math.degrees(2 * math.atan(max(0.0, b) / 2)) for b in (low, slope.value, high)
    )
    return Spread(least, nominal, most)


def _step(measurements: Measurements) -> float:
    """The coarsest step by which all widths go: they were read to no less."""
    for step in _STEPS:
        parts = [reading.width / step for reading in measurements.readings]
        if all(abs(part - round(part)) * step < _EXACT for part in parts):
            return step
    return 0.0


def _width(process: Process, bit: Bit, line: Line, step: float) -> Width:
    depth = bit.depth.nominal
    fitted_there, predicted = line.mean(depth), line.reading(depth)
    # Readings that agree to the step in which they were read may differ within it: a rectangular
    # distribution, JCGM 100:2008, 4.3.7.
    rounding = max(0.0, step**2 / 12 - line.fit.residual)
    predicted = replace(predicted, error=math.sqrt(predicted.error**2 + rounding))
    setting = line.steepness(depth, bit.depth.most - depth)
    bed = line.steepness(depth, process.bed_error)
    unseen = math.sqrt(max(0.0, bed**2 - COVERAGE**2 * line.fit.between))
    half = math.hypot(predicted.reach, setting, unseen)
    low, high = (predicted.value + off for off in line.aside)
    spread = Spread(max(0.0, low - half), predicted.value, high + half)
    return Width(depth, fitted_there, predicted, setting, unseen, line.aside, spread)


def _registration(measurements: Measurements) -> Iterator[Offset]:
    targets = measurements.registration
    if not targets:
        return
    for axis, values in zip(("x", "y"), zip(*targets, strict=True), strict=True):
        yield _offset(axis, values)


def _offset(axis: str, values: Sequence[float]) -> Offset:
    n = len(values)
    error = float(np.std(values, ddof=1)) / math.sqrt(n) if n > 1 else math.inf
    mean = Estimate(float(np.mean(values)), error, max(n - 1, 1))
    return Offset(axis, n, mean, max(map(abs, values)))
