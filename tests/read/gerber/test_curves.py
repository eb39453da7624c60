import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.read.gerber.curves import TOLERANCE, arc, circle, obround, quarter_chords

radii = st.floats(0.01, 1000)
angles = st.floats(-math.pi, math.pi)
sweeps = st.floats(0.05, 2 * math.pi).flatmap(lambda s: st.sampled_from([s, -s]))


def along(points: Any) -> Any:
    """Points every hundredth of each side of a chain of (n, 2) points."""
    part = np.linspace(0, 1, 101)[:, None, None]
    return (points[:-1] + part * (points[1:] - points[:-1])).reshape(-1, 2)


def off_the_circle(points: Any, radius: float) -> float:
    """Greatest distance of a chain of points from a circle about the origin."""
    return float(np.abs(np.hypot(*along(points).T) - radius).max())


@given(radii)
def test_disc_keeps_within_the_tolerance_of_the_circle(radius: float) -> None:
    corners = circle(radius)

    assert off_the_circle(np.vstack([corners, corners[:1]]), radius) <= TOLERANCE


@given(radii)
def test_disc_has_the_area_of_the_circle(radius: float) -> None:
    assert shapely.Polygon(circle(radius)).area == pytest.approx(math.pi * radius**2, rel=1e-9)


@given(radii)
def test_every_disc_begins_on_the_x_axis_and_is_symmetric_to_both_axes(radius: float) -> None:
    corners = circle(radius)
    n = len(corners)

    assert n % 4 == 0
    assert corners[0, 1] == 0
    assert np.allclose(corners[(n - np.arange(n)) % n], corners * [1, -1], atol=1e-12 * radius)
    assert np.allclose(corners[(n // 2 - np.arange(n)) % n], corners * [-1, 1], atol=1e-12 * radius)


@given(radii, angles, sweeps)
def test_arc_keeps_within_the_tolerance_and_ends_where_it_is_told(
    radius: float, first: float, sweep: float
) -> None:
    start = (radius * math.cos(first), radius * math.sin(first))
    end = (radius * math.cos(first + sweep), radius * math.sin(first + sweep))

    points = arc(start, end, (0.0, 0.0), sweep)

    assert tuple(points[-1]) == end
    assert off_the_circle(np.vstack([[start], points]), radius) <= TOLERANCE


@given(radii, angles, st.floats(0.5, 2 * math.pi))
def test_sector_has_the_area_of_the_true_sector(radius: float, first: float, sweep: float) -> None:
    start = (radius * math.cos(first), radius * math.sin(first))
    end = (radius * math.cos(first + sweep), radius * math.sin(first + sweep))

    points = np.vstack([[(0.0, 0.0)], [start], arc(start, end, (0.0, 0.0), sweep)])

    x, y = points.T
    found = 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert found == pytest.approx(radius**2 * sweep / 2, abs=2 * TOLERANCE * radius * sweep / 3)
    if len(points) > 5:
        assert found == pytest.approx(radius**2 * sweep / 2, rel=1e-9)


@given(radii, angles)
def test_arc_of_two_chords_keeps_within_the_tolerance(radius: float, first: float) -> None:
    sweep = 1.99 * math.pi / (2 * quarter_chords(radius))
    start = (radius * math.cos(first), radius * math.sin(first))
    end = (radius * math.cos(first + sweep), radius * math.sin(first + sweep))

    points = arc(start, end, (0.0, 0.0), sweep)

    assert len(points) == 2
    assert off_the_circle(np.vstack([[start], points]), radius) <= TOLERANCE


def test_arc_between_unequal_radii_changes_evenly() -> None:
    points = arc((1.0, 0.0), (-1.2, 0.0), (0.0, 0.0), math.pi)

    radius = np.hypot(*points.T)
    assert np.all(np.diff(radius) > 0)
    assert radius[len(points) // 2 - 1] == pytest.approx(1.1, abs=0.003)


@given(radii, st.floats(1.01, 10), st.booleans())
def test_obround_keeps_within_the_tolerance_of_its_true_shape(
    radius: float, ratio: float, upright: bool
) -> None:
    width, height = 2 * radius * ratio, 2 * radius
    axis = radius * (ratio - 1)
    corners = obround(height, width) if upright else obround(width, height)

    points = along(np.vstack([corners, corners[:1]]))
    x, y = points[:, ::-1].T if upright else points.T
    beyond = np.maximum(np.abs(x) - axis, 0)
    assert np.abs(np.hypot(beyond, y) - radius).max() <= TOLERANCE + 1e-9 * width


def test_obround_has_exact_sides_and_area() -> None:
    corners = obround(3.0, 1.0)

    true = 2.0 + math.pi / 4
    assert shapely.Polygon(corners).area == pytest.approx(true, rel=1e-9)
    assert np.abs(corners[:, 1]).max() == 0.5


def test_obround_of_no_width_has_no_corners() -> None:
    assert len(obround(1.0, 0.0)) == 0


@given(radii)
def test_chords_are_no_more_than_needed(radius: float) -> None:
    n = 4 * (quarter_chords(radius) - 1)

    # One quarter chord less would leave the tolerance: sagitta r (1 - cos(pi/n)).
    assert n < 8 or radius * (1 - math.cos(math.pi / n)) > TOLERANCE
