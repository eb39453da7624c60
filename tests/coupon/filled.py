"""A coupon read by somebody: every field of the sheet filled in."""

from __future__ import annotations

import math

from checker.coupon import Coupon
from checker.coupon.readings import FIELD, fields, template

TIP, ANGLE = 0.13, 30.0  # mm, degrees: of the cone that cut it


def width(depth: float) -> float:
    """That a true cone cuts."""
    return TIP + 2 * depth * math.tan(math.radians(ANGLE) / 2)


def values(coupon: Coupon) -> dict[str, str]:
    """Name of a field -> what goes into the file."""
    found = {
        "date": "2026-03-31",
        "bit": '"30 degree, number 3"',
        "cut_before": "12 m",
        "backlash.x": "0.02",
        "backlash.y": "0.04",
        "resistance": "36 mOhm",
    }
    found |= {
        f"grooves.{number}": f"{width(groove.depth):.4f}"
        for number, groove in enumerate(coupon.grooves)
    }
    for comb, widths in (("gaps", coupon.gaps), ("traces", coupon.traces)):
        for axis in ("x", "y"):
            for number in range(len(widths)):
                found[f"{comb}.{axis}.{number}"] = f"{min(5, 2 + number)} of 5"
    for number in range(coupon.targets):
        found |= {
            f"registration.{number}.x": "0.03",
            f"registration.{number}.y": f"-0.0{number + 1}",
        }
    return {field.name: found[field.name] for field in fields(coupon)}


def text(coupon: Coupon) -> str:
    """The file with all of it filled in."""
    filled = values(coupon)
    return FIELD.sub(lambda field: filled[field[1]], template(coupon))
