"""The line: against certified results, against SciPy, and against the textbook's random effects."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from checker.calibration.fit import Estimate, fitted, students_t
from tests.calibration import norris
from tests.examples import seeds


def line_through(x: np.ndarray, y: np.ndarray, places: list[str]) -> tuple[Estimate, Estimate]:
    fit = fitted(np.column_stack([np.ones_like(x), x]), y, places)
    return fit.estimate((1, 0)), fit.estimate((0, 1))


def test_certified_results_of_norris_are_reproduced() -> None:
    pairs = np.array([pair.split() for pair in norris.Y_X.replace("\n", " ").split(",")], float)
    y, x = pairs.T

    fit = fitted(np.column_stack([np.ones_like(x), x]), y, ["monitor"] * len(x))
    intercept, slope = fit.estimate((1, 0)), fit.estimate((0, 1))

    assert len(x) == 36
    assert intercept.value == pytest.approx(norris.INTERCEPT, rel=1e-10)
    assert intercept.error == pytest.approx(norris.INTERCEPT_ERROR, rel=1e-10)
    assert slope.value == pytest.approx(norris.SLOPE, rel=1e-12)
    assert slope.error == pytest.approx(norris.SLOPE_ERROR, rel=1e-10)
    assert math.sqrt(fit.residual) == pytest.approx(norris.RESIDUAL, rel=1e-10)
    assert slope.freedom == 34


@pytest.mark.parametrize("seed", seeds(8, 40))
def test_one_place_is_ordinary_least_squares(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = rng.uniform(0.05, 0.2, rng.integers(5, 40))
    y = 0.2 + 0.5 * x + rng.normal(0, 0.01, len(x))

    intercept, slope = line_through(x, y, ["middle"] * len(x))

    theirs = stats.linregress(x, y)
    assert slope.value == pytest.approx(theirs.slope, rel=1e-9)
    assert slope.error == pytest.approx(theirs.stderr, rel=1e-9)
    assert intercept.value == pytest.approx(theirs.intercept, rel=1e-9)
    assert intercept.error == pytest.approx(theirs.intercept_stderr, rel=1e-9)
    assert slope.reach == pytest.approx(stats.t.isf(0.025, len(x) - 2) * theirs.stderr, rel=1e-9)


def test_one_more_reading_spreads_as_the_textbook_says() -> None:
    # Draper and Smith, Applied Regression Analysis, 1.4: s² (1 + 1/n + (x0 - mean)² / Sxx).
    rng = np.random.default_rng(7)
    x = np.linspace(0.06, 0.2, 12)
    y = 0.2 + 0.5 * x + rng.normal(0, 0.01, 12)

    fit = fitted(np.column_stack([np.ones_like(x), x]), y, ["middle"] * 12)

    residual = y - np.polyval(np.polyfit(x, y, 1), x)
    spread = math.sqrt(
        residual
        @ residual
        / 10
        * (1 + 1 / 12 + (0.1 - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
    )
    assert fit.estimate((1, 0.1), anew=True).error == pytest.approx(spread, rel=1e-9)
    assert fit.estimate((1, 0.1), anew=True).freedom == 10


def test_scatter_between_places_is_that_of_the_analysis_of_variance() -> None:
    # Balanced one-way layout: restricted likelihood gives the estimators of the analysis of
    # variance, (MS between - MS within) / n and MS within, where the first is positive; the mean
    # errs as the mean of the places' means does, with one degree of freedom less than places.
    rng = np.random.default_rng(3)
    table = 0.25 + rng.normal(0, 0.02, (6, 1)) + rng.normal(0, 0.005, (6, 4))
    places = [f"place {i}" for i in range(6) for _ in range(4)]

    fit = fitted(np.ones((24, 1)), table.reshape(-1), places)
    mean = fit.estimate((1,))

    within = table.var(axis=1, ddof=1).mean()
    between = table.mean(axis=1).var(ddof=1) - within / 4
    assert fit.residual == pytest.approx(within, rel=1e-3)
    assert fit.between == pytest.approx(between, rel=1e-3)
    assert mean.value == pytest.approx(table.mean())
    assert mean.error == pytest.approx(table.mean(axis=1).std(ddof=1) / math.sqrt(6), rel=1e-3)
    assert mean.freedom == pytest.approx(5, rel=1e-3)


@pytest.mark.parametrize(
    "places", [["a"] * 8, ["a", "b"] * 4, [f"place {i}" for i in range(8)]],
    ids=["one", "two", "all of their own"],
)  # fmt: skip
def test_places_that_tell_nothing_leave_ordinary_least_squares(places: list[str]) -> None:
    x = np.linspace(0.05, 0.2, 8)
    y = 0.2 + 0.5 * x + np.array([1, -2, 3, -1, 2, -3, 1, -1]) / 1000

    _, slope = line_through(x, y, places)

    assert slope.error == pytest.approx(stats.linregress(x, y).stderr, rel=1e-9)


def test_readings_that_agree_perfectly_have_an_interval_of_nothing() -> None:
    fit = fitted(np.ones((9, 1)), np.full(9, 0.25), ["a", "b", "c"] * 3)

    assert fit.estimate((1,)).interval == pytest.approx((0.25, 0.25), abs=1e-8)
    assert fit.estimate((1,), anew=True).reach < 1e-6


def test_quantiles_are_those_of_the_table() -> None:
    # Student's t, 95 % two-sided: 4 degrees 2.776, 10 degrees 2.228 (any table).
    assert students_t(4) == pytest.approx(2.776, abs=5e-4)
    assert students_t(10) == pytest.approx(2.228, abs=5e-4)
