"""Intervals hold the truth as often as they say, on machines whose truth is known."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from msgspec.structs import replace

from checker.calibration import calibrate
from checker.process import load_profile
from tests.calibration.machine import machine

CONE = load_profile("cone-30-0.1")
DEPTH = 0.09  # at which the profile is set


def held(count: int, bed: float, wider: float = 0.0) -> dict[str, float]:
    """How often, in percent, each interval of so many calibrations holds the truth."""
    hits: Counter[str] = Counter()
    for seed in range(count):
        made = replace(machine(seed, bed=bed), wider=wider)
        found = calibrate(CONE, made.coupon())
        tip, angle, width = found.tip, found.angle, found.width
        assert tip is not None
        assert angle is not None
        slope = 2 * math.tan(math.radians(made.tool.angle) / 2)
        apparent = made.tool.size + made.tool.extra + slope * made.zero + wider / 3
        hits["tip"] += tip.interval[0] <= apparent <= tip.interval[1]
        hits["angle"] += angle.least <= made.tool.angle <= angle.most
        mean, more = width.fitted.interval, width.predicted.interval
        hits["mean"] += mean[0] <= made.true_width(DEPTH) <= mean[1]
        hits["one more"] += more[0] <= made.one_more(DEPTH) <= more[1]
    return {name: 100 * hit / count for name, hit in sorted(hits.items())}


def test_intervals_hold_the_truth_in_95_of_100() -> None:
    # A slice of the long test below: 600 draws have a standard error of 0.9 points.
    assert held(600, bed=0.008) == pytest.approx(
        {"angle": 95, "mean": 95, "one more": 95, "tip": 95}, abs=2.5
    )


@pytest.mark.long
@pytest.mark.parametrize("bed", [0.008, 0.015, 0.03])
def test_intervals_hold_the_truth_in_95_of_100_of_5000(bed: float) -> None:
    assert held(5000, bed) == pytest.approx(
        {"angle": 95, "mean": 95, "one more": 95, "tip": 95}, abs=2
    )


@pytest.mark.parametrize("count", [200, pytest.param(2000, marks=pytest.mark.long)])
def test_where_the_places_are_all_alike_intervals_are_on_the_careful_side(count: int) -> None:
    assert min(held(count, bed=0.0).values()) >= 93


@pytest.mark.parametrize("count", [300, pytest.param(5000, marks=pytest.mark.long)])
def test_a_direction_that_cuts_wider_spoils_no_interval_of_the_mean(count: int) -> None:
    found = held(count, bed=0.008, wider=0.03)

    assert {name: found[name] for name in ("angle", "mean", "tip")} == pytest.approx(
        {"angle": 95, "mean": 95, "tip": 95}, abs=2.5
    )
