"""Readings that cannot be meant: mixed units, one of them off by a unit or a decimal place."""

from __future__ import annotations

import math
from itertools import groupby
from statistics import median
from typing import TYPE_CHECKING

from checker.errors import MeasurementError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.calibration.measurements import Reading

INCH = 25.4
_OFF = 5.0  # times; a cone at the depths of a coupon cuts no such range of widths
_NEAR = 2.5  # times; so near a slip must bring a reading to the others
_DISAGREE = 1.5  # times
_FEWEST = 3
_IMPERIAL = ("in", "inch", "mil", "thou")
_SLIPS = {INCH: "in", 1 / INCH: "", 10: "", 0.1: "", 100: "", 0.01: "", 1000: "", 0.001: ""}


def refuse_slips(readings: Sequence[Reading], texts: Sequence[str]) -> None:
    """Refuse readings that no groove of one coupon can have.

    Args:
        readings: all of a file.
        texts: their widths as written.

    Raises:
        MeasurementError: at the first that cannot be meant.
    """
    _mixed(readings, texts)
    if len(readings) >= _FEWEST:
        middle = median(reading.width for reading in readings)
        for reading in readings:
            _slipped(reading, middle)
    _disagreeing(readings)


def factor_of(ratio: float) -> float | None:
    """The slip that explains a ratio: a power of ten or 25.4 to either side; None if none does."""
    best = min(_SLIPS, key=lambda factor: abs(math.log(ratio * factor)))
    return best if abs(math.log(ratio * best)) <= math.log(_NEAR) else None


def _mixed(readings: Sequence[Reading], texts: Sequence[str]) -> None:
    imperial = [text.rstrip().endswith(_IMPERIAL) for text in texts]
    odd = sum(imperial) * 2 <= len(imperial)  # the fewer are the odd ones
    for reading, text, inches in zip(readings, texts, imperial, strict=True):
        if inches == odd and 0 < sum(imperial) < len(imperial):
            theirs = "millimetres" if odd else "inches or mils"
            raise MeasurementError(
                f"{reading.where}: grooves.width",
                f"{text!r} among readings in {theirs}",
                "one system of units for all widths",
                f"write {reading.width:.4g} mm" if odd else f"write {reading.width / INCH:.4g} in",
            )


def _slipped(reading: Reading, middle: float) -> None:
    ratio = reading.width / middle
    if 1 / _OFF <= ratio <= _OFF:
        return
    found = f"{reading.width:.4g} mm among widths of about {middle:.3g} mm"
    factor, advice = factor_of(ratio), "read it again, or leave it out"
    if factor is not None and _SLIPS[factor]:
        advice = f"did you mean {reading.width:.4g} {_SLIPS[factor]}?"
    elif factor is not None:
        advice = f"did you mean {reading.width * factor:.4g} mm?"
    raise MeasurementError(f"{reading.where}: grooves.width", found, advice=advice)


def _disagreeing(readings: Sequence[Reading]) -> None:
    def groove(reading: Reading) -> tuple[float, str, str]:
        return reading.depth, reading.along, reading.place

    for (depth, along, place), group in groupby(sorted(readings, key=groove), groove):
        same = sorted(group, key=lambda reading: reading.width)
        low, high = same[0], same[-1]
        if along and place and high.width >= _DISAGREE * low.width:
            first, second = sorted((low, high), key=readings.index)
            line = first.where.rpartition(":")[2]
            deep = f"{depth:g} mm deep, " if depth else ""
            raise MeasurementError(
                f"{second.where}: grooves.width",
                f"{second.width:.4g} mm, but line {line} has {first.width:.4g} mm for the same "
                f"groove ({deep}along {along}, {place})",
                "readings that agree",
                "read it again, and leave out the wrong one",
            )
