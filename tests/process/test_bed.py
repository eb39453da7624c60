"""Flatness between probed points against circles and surfaces that are probed and mapped."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from checker.process.bed import PER, grid_for, off_chord, off_flat

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.board import Floats

    Surface = Callable[[Floats, Floats], Floats]

FINE = np.linspace(0, 1, 41)


def radius_of(bow: float) -> float:
    """Of the circle that bows so much over 100 mm: s = r - sqrt(r² - (L/2)²), solved for r."""
    return PER**2 / (8 * bow) + bow / 2


def worst_off_map(surface: Surface, spacing: float, points: int = 5) -> float:
    """The most by which a surface z(x, y) is off its map, bilinear between probed points."""
    at = spacing * (np.arange(points) - (points - 1) / 2)
    probed = surface(*np.meshgrid(at, at, indexing="ij"))
    mapped = RegularGridInterpolator((at, at), probed, method="linear")
    fine = np.unique(np.round((at[:-1, None] + spacing * FINE).ravel(), 9))
    x, y = np.meshgrid(fine, fine, indexing="ij")
    return float(np.abs(surface(x, y) - mapped((x, y))).max())


@pytest.mark.parametrize(("spacing", "off"), [(10, 0.006), (20, 0.024), (33, 0.065), (50, 0.15)])
def test_worked_figures_for_a_bow_of_three_tenths(spacing: float, off: float) -> None:
    # Derived in the trade for a bow of 0.3 mm over 100 mm, rounded to a micrometre.
    assert off_flat(0.3, spacing) == pytest.approx(off, abs=5e-4)


@given(st.floats(0.01, 2.0), st.floats(1, 100))
def test_off_the_chord_is_the_sagitta_of_the_arc(bow: float, length: float) -> None:
    radius = radius_of(bow)
    sagitta = radius - math.sqrt(radius**2 - (length / 2) ** 2)

    assert off_chord(bow, length) == pytest.approx(sagitta, rel=2e-3, abs=1e-9)


@pytest.mark.parametrize("bow", [0.1, 0.3, 1.5])
@pytest.mark.parametrize("spacing", [4, 10, 20])
def test_off_the_map_of_a_bowl(bow: float, spacing: float) -> None:
    # A paraboloid of that bow in both directions: z = s (x² + y²) / (L/2)².
    worst = worst_off_map(lambda x, y: bow * (x**2 + y**2) / (PER / 2) ** 2, spacing)

    assert off_flat(bow, spacing) == pytest.approx(worst, rel=1e-9)


@pytest.mark.parametrize("bow", [0.1, 0.3, 1.5])
@pytest.mark.parametrize("spacing", [4, 10, 20])
def test_off_the_map_of_a_sphere(bow: float, spacing: float) -> None:
    radius = radius_of(bow)
    worst = worst_off_map(lambda x, y: radius - np.sqrt(radius**2 - x**2 - y**2), spacing)

    assert off_flat(bow, spacing) == pytest.approx(worst, rel=5e-3)


@pytest.mark.parametrize("spacing", [4, 10, 20])
def test_a_saddle_or_a_trough_is_no_farther_off(spacing: float) -> None:
    trough = worst_off_map(lambda x, y: 0.3 * (x**2 + 0 * y) / (PER / 2) ** 2, spacing)
    saddle = worst_off_map(lambda x, y: 0.3 * (x**2 - y**2) / (PER / 2) ** 2, spacing)

    assert trough == pytest.approx(off_chord(0.3, spacing))
    assert saddle <= off_flat(0.3, spacing)


@given(st.floats(0.01, 5.0), st.floats(0.001, 1.0))
def test_grid_is_the_widest_that_holds_the_error(bow: float, error: float) -> None:
    grid = grid_for(bow, error)

    assert off_flat(bow, grid) == pytest.approx(error)
    assert off_flat(bow, 1.01 * grid) > error


def test_flat_blank_wants_no_grid() -> None:
    assert grid_for(0, 0.03) == math.inf
    assert off_flat(0, 50) == 0
