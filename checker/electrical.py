"""Published figures on voltage and current: spacings, creepage, heating, resistance.

Volts, amperes, kelvin and ohms; lengths in mm. Everything here is for an uncoated outer layer.

Sources:
* IPC-2221, Generic Standard on Printed Board Design, table 6-1: least spacing by peak voltage, rows
  B2 (external conductors, uncoated) and A6 (component leads, uncoated).
* IEC 60664-1, Insulation coordination, table F.4: creepage by root mean square, pollution degree 2,
  material group III, to which FR-4 belongs; interpolation is allowed, reinforced is twice basic.
* IEC 62368-1, limits of class ES1: 42.4 V peak, 60 V steady.
* IPC-2221, chart of currents in the fit I = k dT^0.44 A^0.725, A in square mils, k = 0.048 outside.
* International Annealed Copper Standard: 1.7241e-8 ohm m at 20 °C, 0.00393 per K.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from checker.board import Rating

ALTERNATING_LIMIT = 42.4  # V peak
STEADY_LIMIT = 60.0  # V
FIT_ENDS = 100.0  # K: the chart of currents goes no further

# Rows of table 6-1: up to V, B2, A6.
_SPACING = (
    (15, 0.1, 0.13), (30, 0.1, 0.25), (50, 0.6, 0.4), (100, 0.6, 0.5), (150, 0.6, 0.8),
    (170, 1.25, 0.8), (250, 1.25, 0.8), (300, 1.25, 0.8), (500, 2.5, 1.5),
)  # fmt: skip
_RATES = (0.005, 0.00305)  # mm per V beyond the last row
# Rows of table F.4: V, mm. Below the first row its value holds, beyond the last 10 mm per kV.
_CREEPAGE = (
    (50, 1.2), (63, 1.25), (80, 1.3), (100, 1.4), (125, 1.5), (160, 1.6), (200, 2.0), (250, 2.5),
    (320, 3.2), (400, 4.0), (500, 5.0), (630, 6.3), (800, 8.0), (1000, 10.0),
)  # fmt: skip

_MIL = 0.0254  # mm
_FACTOR, _BY_RISE, _BY_AREA = 0.048, 0.44, 0.725
_RESISTIVITY = 1.7241e-5  # ohm mm
_PER_KELVIN = 0.00393


def spacing(peak: float, *, leads: bool = False) -> float:
    """Least spacing of uncoated conductors for a peak voltage; of ``leads`` where both are pads.

    Beyond 500 V the table adds so much per volt. Whether to the last row or from nothing is read
    both ways; the larger of the two holds here.
    """
    column = 1 + leads
    for row in _SPACING:
        if peak <= row[0]:
            return float(row[column])
    last, rate = _SPACING[-1], _RATES[leads]
    return float(max(last[column] + rate * (peak - last[0]), rate * peak))


def creepage(volts: float, *, reinforced: bool) -> float:
    """Creepage for a root mean square; reinforced towards what may be touched, else basic."""
    known, distance = zip(*_CREEPAGE, strict=True)
    basic = distance[-1] * volts / known[-1]
    if volts <= known[-1]:
        basic = np.interp(volts, known, distance)
    return float(2 * basic if reinforced else basic)


def is_hazardous(rating: Rating | None) -> bool:
    """Whether the voltage is one that must not be touched; nobody knows of a net without one."""
    if rating is None or rating.volts is None:
        return False
    return abs(rating.volts) > (ALTERNATING_LIMIT if rating.alternating else STEADY_LIMIT)


def stress(one: Rating | None, other: Rating | None) -> tuple[float, float]:
    """Peak and root mean square between two nets; one without a voltage is at common ground.

    Two steady voltages differ by their difference. A steady and an alternating one add. Two
    alternating ones come from one supply: the larger stands against the other at rest.
    """
    known = [rating for rating in (one, other) if rating is not None and rating.volts is not None]
    steady = [rating.volts or 0.0 for rating in known if not rating.alternating]
    waves = [rating.volts or 0.0 for rating in known if rating.alternating]
    level, wave = abs(steady[0] - sum(steady[1:])) if steady else 0.0, max(waves, default=0.0)
    return level + wave, math.hypot(level, wave / math.sqrt(2.0))


def spoken(rating: Rating | None) -> str:
    """A voltage in words: "230 V ac", "12 V"."""
    if rating is None or rating.volts is None:
        return "0 V"
    if rating.alternating:
        return f"{rating.volts / math.sqrt(2.0):.4g} V ac"
    return f"{rating.volts:.4g} V"


def width_for(current: float, rise: float, thickness: float) -> float:
    """Width of copper that a current warms by no more than ``rise``, in mm."""
    area = (current / (_FACTOR * rise**_BY_RISE)) ** (1 / _BY_AREA)  # square mils
    return float(area * _MIL**2 / thickness)


def rise_of(current: float, width: float, thickness: float) -> float:
    """How much warmer a current makes copper of a width, in K; beyond `FIT_ENDS` a mere hint."""
    area = width * thickness / _MIL**2
    return float((current / (_FACTOR * area**_BY_AREA)) ** (1 / _BY_RISE))


def resistance(length: float, width: float, thickness: float, celsius: float = 20.0) -> float:
    """Of a strip of copper, in ohms."""
    return _RESISTIVITY * length / (width * thickness) * (1 + _PER_KELVIN * (celsius - 20.0))
