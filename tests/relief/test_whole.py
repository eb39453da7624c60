"""Whether copper stays whole where strokes are cut: closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.relief.ways import Strokes
from checker.relief.whole import Harm, Island, after

LEAST = 0.25
BLOCK = shapely.box(-2, -1, 0, 1)


def finger(width: float) -> shapely.Polygon:
    """A block with a finger of 2 mm that ends blind."""
    return shapely.union(BLOCK, shapely.box(-1, -width / 2, 2, width / 2))


def bridge(width: float) -> shapely.Polygon:
    """Two blocks and what joins them."""
    return shapely.union_all([finger(width), shapely.box(2, -1, 4, 1)])


def harms(island: shapely.Polygon, *strokes: shapely.Geometry) -> list[Harm]:
    column = np.array(strokes, dtype=object)
    return Island(island, lambda: np.array([BLOCK]), LEAST).harms(Strokes(column), column)


def bite(width: float, left: float, x: float = 1.0) -> shapely.Geometry:
    """A round stroke from above that leaves so much of a finger."""
    return shapely.Point(x, width / 2 + 0.2 - (width - left)).buffer(0.2)


def test_a_way_left_too_narrow_is_harm() -> None:
    assert len(harms(bridge(0.4), bite(0.4, LEAST - 0.02))) == 1


def test_a_way_as_wide_as_has_to_be_is_none() -> None:
    assert harms(bridge(0.4), bite(0.4, LEAST + 0.01)) == []


@pytest.mark.parametrize("width", [0.18, 0.22, 0.24])
def test_a_waist_in_copper_that_is_narrow_already_is_harm(width: float) -> None:
    assert len(harms(finger(width), bite(width, 0.1))) == 1


def test_a_blind_end_cut_shorter_is_none() -> None:
    assert harms(finger(0.22), shapely.box(1.5, -1, 3, 1)) == []


def test_a_waist_that_was_there_is_none() -> None:
    narrow = shapely.difference(finger(0.22), bite(0.22, 0.1))

    assert harms(narrow, shapely.box(1.8, -1, 3, 1)) == []


def test_copper_cut_off_is_harm() -> None:
    (harm,) = harms(bridge(0.4), shapely.box(0.9, -1, 1.1, 1))

    assert harm.rest is not None


def test_slivers_are_no_parts_however_long() -> None:
    strokes = np.array([shapely.box(-3, -0.998, 0, 0.998)])

    assert len(after(shapely.box(-2, -1, 0, 1), strokes)) == 0
    assert len(after(shapely.box(-2, -1.01, 0, 1), strokes)) == 1
