"""Which keys of the profile a calibration sets, to what, and why others stay. Lengths in mm."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.calibration import combs
from checker.calibration.model import Calibration, Setting
from checker.process.bit import Spread
from checker.process.keys import KEYS

if TYPE_CHECKING:
    from collections.abc import Iterator

_STEP = 0.001  # to which lengths are written
_EXACT = 1e-9
_ONE_FLIP = "one coupon is one flip, which says nothing of how far the next one comes to lie off"


def settings_of(calibration: Calibration) -> tuple[tuple[Setting, ...], dict[str, str]]:
    """The keys to set, and key -> why it stays, of those that the readings speak of."""
    settings: list[Setting] = []
    kept: dict[str, str] = {}
    for key, found in (
        *_bit(calibration),
        ("minimum_trace", combs.minimum_trace(calibration.traces, calibration.process)),
        ("machine.flip", _flip(calibration)),
        ("machine.backlash", _backlash(calibration)),
    ):
        if isinstance(found, Setting):
            settings.append(found)
        else:
            kept[key] = found
    return tuple(settings), kept


def _bit(calibration: Calibration) -> Iterator[tuple[str, Setting | str]]:
    width, line = calibration.width, calibration.line
    n = len(calibration.measurements.readings)
    yield "bit.measured_width", _spread("bit.measured_width", width.spread, _width(calibration))
    if line.bit.shape != "cone":
        return
    if calibration.tip is None or calibration.angle is None:
        why = "the depths that were read do not give it"
        yield "bit.tip_width", why
        yield "bit.angle", why
        return
    angle = calibration.angle
    low, high = KEYS["bit.angle"].plausible
    if low <= angle.nominal <= high:
        why = (
            f"slope of the line through {n} widths; {angle.least:.1f} to {angle.most:.1f} deg with "
            "95 %"
        )
        yield "bit.angle", Setting("bit.angle", f"{angle.nominal:.2f} deg", why)
    else:
        yield "bit.angle", f"{angle.nominal:.1f} deg is no angle of a bit"
    yield "bit.tip_width", _tip(calibration)


def _tip(calibration: Calibration) -> Setting | str:
    """The tip without the runout, which the profile counts beside it."""
    key, tip, bit = "bit.tip_width", calibration.tip, calibration.line.bit
    assert tip is not None
    runout = bit.runout.nominal
    low, high = tip.interval
    least, most = KEYS[key].plausible
    if not least <= tip.value - runout <= min(most, bit.diameter):
        return (
            f"the line has a width of {tip.value:.3f} mm at depth nought, no tip with the runout "
            f"of {runout:.3f} mm: the zero of the depth is off"
        )
    spread = Spread(
        max(0.0, low - runout), tip.value - runout, min(bit.diameter, most, high - runout)
    )
    why = (
        f"the line at depth nought, {tip.value:.3f} mm, less the runout of {runout:.3f} mm that is "
        "counted beside it; an error of all depths alike is in it"
    )
    return _spread(key, spread, why)


def _width(calibration: Calibration) -> str:
    width, fit = calibration.width, calibration.line.fit
    n, places = len(fit.values), int(fit.places.max()) + 1
    parts = [f"±{width.predicted.reach:.3f} mm for scatter and the error of the fit"]
    if width.setting > _EXACT:
        parts.append(f"±{width.setting:.3f} mm for setting the depth anew")
    if width.bed > _EXACT:
        parts.append(f"±{width.bed:.3f} mm for a bed less even than the coupon's")
    aside = ""
    if any(width.aside):
        low, high = width.aside
        aside = f"; in full {low:.3f} to {high:+.3f} mm for the direction"
    where = f" at {places} places" if places > 1 else ""
    depth = "" if calibration.line.bit.shape == "beam" else f"at {width.depth:g} mm of depth, "
    return f"{n} widths read{where}; {depth}as squares: {', '.join(parts)}{aside}"


def _flip(calibration: Calibration) -> Setting | str:
    """Raised where the targets lie farther off; never lowered, see `_ONE_FLIP`."""
    key, offsets = "machine.flip", calibration.registration
    if not offsets:
        return "no target was read"
    most, old = max(offset.most for offset in offsets), calibration.process.machine.flip
    if most <= old + _EXACT:
        return f"{most:.3f} mm at most was read; {_ONE_FLIP}"
    return Setting(key, _mm(_up(most)), f"the farthest of {offsets[0].count} targets")


def _backlash(calibration: Calibration) -> Setting | str:
    key, read = "machine.backlash", calibration.measurements.backlash
    if not read:
        return "no vernier was read"
    most, old = max(read.values()), calibration.process.machine.backlash
    told = ", ".join(f"{axis} {play:g} mm" for axis, play in sorted(read.items()))
    if len(read) == 1 and most < old:
        return f"only one axis was read, {told}"
    return Setting(key, _mm(_up(most)), f"the greater of the verniers: {told}")


def _spread(key: str, spread: Spread, why: str) -> Setting:
    least, nominal, most = map(_mm, written(spread))
    return Setting(key, f"least: {least}, nominal: {nominal}, most: {most}", why)


def written(spread: Spread) -> tuple[float, float, float]:
    """Least, nominal and most in whole micrometres, the ends outwards: rounding narrows nothing."""
    nominal = round(spread.nominal / _STEP) * _STEP
    least = max(0.0, -_up(-min(spread.least, nominal)))
    return least, nominal, _up(max(spread.most, nominal))


def _up(length: float) -> float:
    return math.ceil(length / _STEP - _EXACT) * _STEP


def _mm(length: float) -> str:
    return f"{length:.3f} mm"
