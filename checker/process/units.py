"""Lengths and angles as people write them: ``0.1 mm``, ``4 mil``, ``1/64 in``, ``0.1 mm ± 10 %``.

A standard deviation is told by its sign, ``0.1 mm sd 0.01 mm``, and counts `COVERAGE` times.

Inside, lengths are millimetres and angles degrees. Every quantity goes through a gate of what is
plausible for it, because a slip of unit by 10 or 25.4 is the commonest fault of such files; the
error guesses which slip it was.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.errors import ProfileError
from checker.process.bit import Spread

if TYPE_CHECKING:
    from collections.abc import Mapping

# Exact by definition: 1 in = 25.4 mm, 1 mil = 0.001 in.
LENGTH: Mapping[str, float] = {
    "mm": 1.0, "mil": 0.0254, "thou": 0.0254, "um": 0.001, "µm": 0.001, "μm": 0.001,
    "in": 25.4, "inch": 25.4,
}  # fmt: skip
# Foil goes by weight: 1 oz/ft² is 305.15 g/m², 34.3 um of copper at 8.9 g/cm³ (IPC-4562 nominal).
FOIL: Mapping[str, float] = {"oz": 0.0343, **LENGTH}
ANGLE: Mapping[str, float] = {"deg": 1.0, "°": 1.0, "degrees": 1.0}
AREA: Mapping[str, float] = {"mm2": 1.0, "mm²": 1.0, "cm2": 100.0, "cm²": 100.0}
FEED: Mapping[str, float] = {"mm/min": 1.0, "mm/s": 60.0, "m/min": 1000.0, "in/min": 25.4}
TURNS: Mapping[str, float] = {"rpm": 1.0}
WAY: Mapping[str, float] = {"m": 1.0}
TIME: Mapping[str, float] = {"h": 1.0, "min": 1 / 60, "s": 1 / 3600}
SHARE: Mapping[str, float] = {"%": 0.01, "": 1.0}
RISE: Mapping[str, float] = {"K": 1.0, "C": 1.0, "°C": 1.0}

# So many standard deviations lie between a value and the ends of its spread: the coverage factor of
# JCGM 100:2008, 6.3.3, that holds about 95 % of a normal scatter.
COVERAGE = 2.0

_LONGEST = 80  # characters of a quantity
_SLIPS = {"rad": math.degrees(1.0)}  # nobody is asked to write radians, but some do
DECIMAL = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"  # bounded by _LONGEST
_QUANTITY = re.compile(
    rf"(?P<number>[+-]?{DECIMAL}(?:[eE][+-]?[0-9]{{1,2}})?)(?:\s*/\s*(?P<below>{DECIMAL}))?"
    r"\s*(?P<unit>[^\s0-9.,/+-][^0-9]*2?)?"
)
_SIGN = re.compile(r"\s*(±|\+/-|\+-|\bsd\b)\s*")  # what stands before a spread


class Measure(Struct, frozen=True):
    """What a quantity may be.

    Attributes:
        units: first the one of a bare number.
        plausible: bounds.
        hint: what helps where a value is out of bounds by no slip that can be guessed.
        nought: what helps where nought is out of bounds.
    """

    units: Mapping[str, float]
    plausible: tuple[float, float]
    hint: str = ""
    nought: str = ""

    @property
    def bare(self) -> str:
        """The unit of a number without one."""
        return next((unit for unit, size in self.units.items() if size == 1.0), "")


def read_quantity(text: str, measure: Measure, where: str) -> float:
    """A plausible length in mm or angle in degrees.

    Raises:
        ProfileError: not a number, an unknown unit, or not plausible.
    """
    if sign := _SIGN.search(_bounded(text, where)):
        wanted = "sd" if sign[1] == "sd" else "±"
        raise ProfileError(where, f"{text!r} has a spread", f"one value without {wanted}")
    number, unit = _split(text, measure, where)
    return _gated(number, unit or measure.bare, measure, where)


def read_spread(text: str, measure: Measure, where: str) -> Spread:
    """``value``, ``value ± spread`` or ``value sd deviation``.

    The value's unit holds for the spread too, which may be in %.

    Raises:
        ProfileError: as `read_quantity`, or a spread that is wider than its value.
    """
    value, *spreads = _SIGN.split(_bounded(text, where))
    if not spreads:
        nominal = read_quantity(value, measure, where)
        return Spread(nominal, nominal, nominal)
    sign, *spreads = spreads
    deviates = sign == "sd"
    called = "standard deviation" if deviates else "spread"
    if len(spreads) > 1 or not value or not spreads[0]:
        raise ProfileError(where, f"{text!r} is not a value with a spread", "0.1 mm ± 0.02 mm")
    if spreads[0].endswith("%"):
        nominal = read_quantity(value, measure, where)
        percent, _ = _split(spreads[0].removesuffix("%").rstrip(), Measure({}, (0, 0)), where)
        spread, unit = nominal * (percent / 100), "%"  # 100 % is all of it
    else:
        number, unit = _split(value, measure, where)
        wide, wide_unit = _split(spreads[0], measure, where)
        if not unit and wide_unit not in ("", measure.bare):  # 4 ± 1 mil, or 0.1 ± 20 um?
            raise ProfileError(where, f"{value!r} has no unit and its spread has {wide_unit!r}",
                               "a unit on both")  # fmt: skip
        nominal = _gated(number, unit or measure.bare, measure, where)
        unit = wide_unit or unit or measure.bare
        spread = wide * measure.units[unit]
    if spread < 0:
        found = f"the {called} {spreads[0]!r} is negative"
        raise ProfileError(where, found, f"a {called} of 0 or more")
    if deviates:
        spread *= COVERAGE
    if spread > nominal:
        twice = "twice " * deviates
        found = f"{twice}the {called} {spreads[0]!r} is wider than the value {value!r}"
        slip = unit != "%" and spread > 5 * nominal
        guess = _guess(wide, unit, measure, (nominal / 100, nominal)) if slip else ""
        raise ProfileError(where, found, "a spread below the value", guess)
    return Spread(nominal - spread, nominal, nominal + spread)


def _split(text: str, measure: Measure, where: str) -> tuple[float, str]:
    """The number and the unit as written, "" where there is none."""
    found = _QUANTITY.fullmatch(_bounded(text, where).strip())
    if found is None:
        expected = f"a number with or without a unit ({_choices(measure)})"
        if re.search(r"[0-9],[0-9]", text):
            point = re.sub(r"([0-9]),([0-9])", r"\1.\2", text)
            raise ProfileError(where, f"{text!r} has a decimal comma", advice=f"write {point}")
        raise ProfileError(where, f"{text!r} is not a number", expected)
    number, unit = float(found["number"]), (found["unit"] or "").strip()
    if found["below"]:
        below = float(found["below"])
        number = number / below if below else math.inf
    if not math.isfinite(number):
        raise ProfileError(where, f"{text!r} is not a number", "a finite number")
    if unit and unit not in measure.units:
        advice = ""
        if unit == "oz":
            advice = "ounces are for foil only"
        elif unit in _SLIPS:
            advice = f"write {number * _SLIPS[unit]:.4g} {measure.bare}"
        elif (lower := unit.lower().rstrip("s.")) in measure.units:
            advice = f"write {lower}"
        elif len(unit) > 1 and (longer := [u for u in measure.units if u.startswith(unit)]):
            advice = f"write {longer[0]}"  # mm for mm2 or mm/min
        raise ProfileError(where, f"{unit!r} is not a unit known here", _choices(measure), advice)
    return number, unit


def _bounded(text: str, where: str) -> str:
    if len(text) > _LONGEST:
        raise ProfileError(where, f"{text[:20]!r}... is not a number")
    return text


def _choices(measure: Measure) -> str:
    return ", ".join(unit for unit in measure.units if unit.isascii()) or "%"


def _gated(number: float, unit: str, measure: Measure, where: str) -> float:
    value = number * measure.units[unit]
    low, high = measure.plausible
    within = min(max(value, low), high)
    if math.isclose(value, within):  # 95 * 0.01 is more than 0.95
        return within
    found = f"{' '.join(filter(None, (f'{number:g}', unit)))} is not plausible"
    shown = measure.bare or next(iter(measure.units))  # a share is shown in percent
    scale = measure.units[shown]
    expected = f"{low / scale:g} to {high / scale:g} {shown}"
    guess = _guess(number, unit, measure, measure.plausible) or measure.hint
    raise ProfileError(where, found, expected, guess if number else measure.hint or measure.nought)


def _guess(number: float, unit: str, measure: Measure, bounds: tuple[float, float]) -> str:
    """The slip that would explain a number out of bounds: a sign, a unit, a factor 10 or 25.4."""
    low, high = bounds
    bare = measure.bare
    if number < 0 and low <= -number * measure.units[unit] <= high:
        return f"did you mean {-number:g} {unit}?".replace(" ?", "?")
    slips = _SLIPS if bare == "deg" else {}
    for other, size in {**measure.units, **slips}.items():
        value = number * size
        if other != unit and low <= value <= high:
            as_bare = (
                f" ({value:.4g} {bare})"
                if bare not in ("", other) and other in measure.units
                else ""
            )
            if other in slips:
                return f"if that is {number:g} {other}, write {value:.4g} {bare}"
            return f"did you mean {number:g} {other}{as_bare}?"
    if bare in ("", "deg"):  # shares are guessed by their sign, angles are hardly ten times wrong
        return ""
    factors = [10, 0.1, 100, 0.01, 1000, 0.001]
    if "in" in measure.units:
        factors += [25.4, 1 / 25.4]
    middle = math.sqrt(max(low, high / 1000) * high)
    values = [number * factor for factor in factors]
    likely = [v for v in values if low <= v * measure.units[unit] <= high]
    if not likely:
        return ""
    best = min(likely, key=lambda v: abs(math.log(v * measure.units[unit] / middle)))
    return f"did you mean {round(best) if best >= 1000 else f'{best:.4g}'} {unit}?"
