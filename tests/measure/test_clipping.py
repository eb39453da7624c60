"""What lies in a box, also of slivers at which the quick way of the library gives up."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.measure.clipping import clipped

# Met in a board: two of its corners are 1e-14 mm above the third.
SLIVER = shapely.Polygon([(68.0456146, -102.364), (68.834, -102.36399999999999),
                          (75.226751, -102.36399999999999)])  # fmt: skip
BOX = (73.5, -103.5, 79.5, -97.5)
SQUARE = shapely.box(72, -100, 75, -99)


def test_a_sliver_is_cut_off_at_the_box() -> None:
    part = clipped(SLIVER, BOX)

    assert part.bounds == pytest.approx((73.5, -102.364, 75.226751, -102.364))


def test_beside_a_sliver_the_others_are_cut_off_as_ever() -> None:
    parts = clipped(np.array([SQUARE, SLIVER], dtype=object), BOX)

    assert parts[0].equals(shapely.box(73.5, -100, 75, -99))
    assert parts[1].equals(clipped(SLIVER, BOX))


def test_what_crosses_itself_and_a_sliver_lie_in_the_box() -> None:
    bow = shapely.Polygon([(72, -100), (76, -98), (76, -100), (72, -98)])
    several = shapely.MultiPolygon([SLIVER, bow])

    part = clipped(several, BOX)

    assert part.area == pytest.approx(shapely.make_valid(bow).intersection(shapely.box(*BOX)).area)


def test_nothing_is_cut_off_nothing() -> None:
    assert len(clipped(np.empty(0, dtype=object), BOX)) == 0
