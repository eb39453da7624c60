"""A calibration as one document, schema ``cutworthy.calibration/1``. Lengths in mm.

An interval is ``low``, ``value``, ``high`` and holds the truth with 95 %; ``error`` is the standard
error, ``freedom`` its degrees of freedom, null where one reading gives none.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.report.json import number, profile_document, unchecked_document

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.calibration import Calibration, Change
    from checker.calibration.fit import Estimate
    from checker.calibration.model import Row
    from checker.process.bit import Spread
    from checker.report.json import Document


def calibration_document(calibration: Calibration, changes: Sequence[Change] = ()) -> Document:
    """All that a coupon says of a process."""
    told, fit, width = calibration.measurements, calibration.line.fit, calibration.width
    slope = calibration.line.slope
    return {
        "schema": "cutworthy.calibration/1",
        "profile": profile_document(calibration.process),
        "measured": {
            "file": told.source,
            "coupon": told.coupon,
            "date": told.date,
            "bit": told.bit,
            "cut_before_m": told.cut_before,
        },
        "warnings": list(calibration.warnings),
        "width_mm": {
            "depth": number(width.depth),
            **_spread(width.spread),
            "mean": _estimate(width.fitted),
            "one_more": _estimate(width.predicted),
            "setting": number(width.setting),
            "bed": number(width.bed),
            "directions": [number(off) for off in width.aside],
        },
        "fit": {
            "slope_fitted": calibration.line.sloped,
            "slope": None if slope is None else _estimate(slope),
            "tip_mm": None if calibration.tip is None else _estimate(calibration.tip),
            "angle_deg": None if calibration.angle is None else _spread(calibration.angle),
            "residual_mm": number(math.sqrt(fit.residual)),
            "between_places_mm": number(math.sqrt(fit.between)),
            "places": int(fit.places.max()) + 1,
        },
        "readings": [
            {
                "depth": number(reading.depth),
                "width": number(reading.width),
                "along": reading.along,
                "place": reading.place,
                "off": number(off),
            }
            for reading, off in zip(told.readings, fit.residuals.tolist(), strict=True)
        ],
        "directions": [
            {
                "along": one.along,
                "against": one.against,
                "wider": _estimate(one.wider),
                "differs": one.differs,
            }
            for one in calibration.directions
        ],
        "gaps": [_row(row) for row in calibration.gaps],
        "traces": [_row(row) for row in calibration.traces],
        "registration": [
            {
                "axis": one.axis,
                "targets": one.count,
                "mean": number(one.mean.value),
                "deviation": number(one.deviation),
                "most": number(one.most),
            }
            for one in calibration.registration
        ],
        "backlash": {axis: number(play) for axis, play in told.backlash.items()},
        "serpentine": _serpentine(told.resistance),
        "settings": [
            {"key": one.key, "value": one.value, "why": one.why} for one in calibration.settings
        ],
        "kept": dict(calibration.kept),
        "boards": [
            {
                "name": one.name,
                "before": one.before.value,
                "after": one.after.value,
                "closed_before": one.closed_before,
                "closed_after": one.closed_after,
                "unchecked": unchecked_document(one.unchecked_after),
            }
            for one in changes
        ],
    }


def _estimate(estimate: Estimate) -> Document:
    low, high = estimate.interval
    return {
        "low": number(low),
        "value": number(estimate.value),
        "high": number(high),
        "error": number(estimate.error),
        "freedom": number(estimate.freedom),
    }


def _spread(spread: Spread) -> Document:
    return {
        "least": number(spread.least),
        "nominal": number(spread.nominal),
        "most": number(spread.most),
    }


def _row(row: Row) -> Document:
    comb = row.comb
    return {
        "along": comb.along,
        "drawn": number(comb.drawn),
        "good": comb.good,
        "of": comb.of,
        "least_share": number(row.least),
        "most_share": number(row.most),
    }


def _serpentine(resistance: float | None) -> Document | None:
    if resistance is None:
        return None
    return {"open": math.isinf(resistance), "ohm": number(resistance)}
