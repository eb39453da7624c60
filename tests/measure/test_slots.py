"""Slots that a cut does not fit, on shapes whose slots are known."""

from __future__ import annotations

import pytest
import shapely

from checker.board import Board, Kind
from checker.measure.copper.slots import ERROR, slots_of
from tests.handmade import Copper, layer

CUT = 0.2
LEAST = 4.0


def board(*islands: shapely.Polygon) -> Board:
    copper = [(Copper(Kind.TRACE, f"N{i}"), island) for i, island in enumerate(islands)]
    return Board("b", (), (layer("top", copper),))


def slit(width: float, long: float) -> shapely.Polygon:
    """A plate of 20 by 10 with a slit from its right edge."""
    return shapely.box(0, 0, 20, 10) - shapely.box(20 - long, 5 - width / 2, 21, 5 + width / 2)


@pytest.mark.parametrize(("width", "stays"), [(0.12, 1), (0.19, 1), (0.21, 0), (0.5, 0)])
def test_a_slit_stays_closed_where_the_cut_does_not_fit(width: float, stays: int) -> None:
    assert len(slots_of(board(slit(width, 8.0)), CUT, LEAST)) == stays


def test_a_slit_is_as_wide_and_long_as_drawn_and_the_way_round_twice_that() -> None:
    found = slots_of(board(slit(0.12, 8.0)), CUT, LEAST)

    assert found.length.tolist() == pytest.approx([8.0], abs=0.2)
    assert found.width.tolist() == pytest.approx([0.12], abs=ERROR)
    assert found.way.tolist() == pytest.approx([16.0], abs=0.4)
    assert found.at[0].tolist() == pytest.approx([16.0, 5.0], abs=0.1)
    assert found.copper.tolist() == pytest.approx([2 * (200 - 0.96) / (60 + 16.0)], rel=0.01)


def test_round_an_open_ring_the_way_is_its_inner_rim() -> None:
    ring = shapely.box(-10, -10, 10, 10) - shapely.box(-4, -4, 4, 4)
    ring = ring - shapely.box(3, -0.05, 11, 0.05)

    found = slots_of(board(ring), CUT, LEAST)

    assert found.length.tolist() == pytest.approx([6.0], abs=0.2)
    # At the outer end the way along either rim: 2 x 6 in and out and 32 round, less than 80.
    assert found.way.tolist() == pytest.approx([44.0], abs=0.5)


def test_a_short_slit_is_left_out() -> None:
    assert len(slots_of(board(slit(0.12, 3.0)), CUT, LEAST)) == 0


def test_copper_of_another_net_in_the_slit_is_left_to_the_rules_on_gaps() -> None:
    within = shapely.box(13.0, 4.98, 19.0, 5.02)

    assert len(slots_of(board(slit(0.12, 8.0), within), CUT, LEAST)) == 0


def test_two_islands_have_no_slot_of_their_own_between_them() -> None:
    low, high = shapely.box(0, 0, 20, 5), shapely.box(0, 5.1, 20, 10)

    assert len(slots_of(board(low, high), CUT, LEAST)) == 0
