"""Hatches, against the grid that draws them."""

from __future__ import annotations

from typing import Any

import pytest
import shapely
from shapely import affinity

from checker.board import Kind
from checker.measure.copper.fills import ERROR, LARGEST, MANY, hatches_of
from tests.poured import board_with


def hatch(opening: float, bar: float, across: int, turn: float = 0.0) -> Any:
    """A square of copper with a square grid of openings."""
    pitch, rim = opening + bar, 1.0
    size = 2 * rim + across * pitch - bar
    holes = [
        shapely.box(x, y, x + opening, y + opening)
        for x in (rim + pitch * column for column in range(across))
        for y in (rim + pitch * row for row in range(across))
    ]
    copper = shapely.box(0, 0, size, size) - shapely.union_all(holes)
    return affinity.rotate(copper, turn, origin=(0, 0))


@pytest.mark.parametrize("turn", [0.0, 45.0, 12.0])
@pytest.mark.parametrize(("opening", "bar"), [(0.25, 0.25), (0.5, 0.2), (1.5, 0.4)])
def test_opening_bar_and_number_of_a_grid(opening: float, bar: float, turn: float) -> None:
    (told,) = hatches_of(board_with([(Kind.POUR, hatch(opening, bar, 6, turn), 0.0)]))

    assert told.openings.tolist() == [36]
    assert told.opening == pytest.approx(opening, abs=ERROR)
    assert told.bar == pytest.approx(bar, abs=ERROR)
    assert told.edge == pytest.approx(36 * 4 * opening)


def test_few_openings_are_no_hatch() -> None:
    across = 3
    assert across**2 < MANY
    (told,) = hatches_of(board_with([(Kind.POUR, hatch(0.5, 0.3, across), 0.0)]))

    assert len(told.island) == 0


@pytest.mark.parametrize(("count", "told"), [(MANY - 1, 0), (MANY, 1)])
def test_a_hatch_is_one_from_so_many_openings_on(count: int, told: int) -> None:
    row = [shapely.box(n, 1, n + 0.5, 1.5) for n in range(count)]
    copper = shapely.box(-1, 0, count + 1, 2.5) - shapely.union_all(row)

    (found,) = hatches_of(board_with([(Kind.POUR, copper, 0.0)]))

    assert found.island.tolist() == [0] * told


@pytest.mark.parametrize(("wide", "told"), [(LARGEST, 1), (LARGEST + 0.01, 0)])
def test_openings_up_to_the_largest_are_those_of_a_hatch(wide: float, told: int) -> None:
    row = [shapely.box(8 * n, 1, 8 * n + wide, 1 + wide) for n in range(MANY)]
    copper = shapely.box(-1, 0, 8 * MANY, 9) - shapely.union_all(row)

    (found,) = hatches_of(board_with([(Kind.POUR, copper, 0.0)]))

    assert len(found.island) == told


def test_openings_of_all_sizes_are_no_hatch() -> None:
    holes = [shapely.box(2 * n, 1, 2 * n + 0.2 + 0.1 * n, 1.5 + 0.1 * n) for n in range(14)]
    copper = shapely.box(-1, 0, 30, 5) - shapely.union_all(holes)
    (told,) = hatches_of(board_with([(Kind.POUR, copper, 0.0)]))

    assert len(told.island) == 0


def test_clearance_round_other_copper_is_no_opening() -> None:
    plane = hatch(1.0, 0.5, 5)
    dots = [
        (Kind.PAD, shapely.box(1.3 + 1.5 * x, 1.3 + 1.5 * y, 1.7 + 1.5 * x, 1.7 + 1.5 * y), 0.0)
        for x in range(5)
        for y in range(5)
    ]
    (told,) = hatches_of(board_with([(Kind.POUR, plane, 0.0), *dots]))

    assert len(told.island) == 0


def test_slots_of_thermal_reliefs_are_no_openings() -> None:
    pads, slots = [], []
    for n in range(5):
        x = 3.0 * n
        pads.append((Kind.PAD, shapely.Point(x, 0).buffer(0.5), 0.0))
        ring = shapely.Point(x, 0).buffer(0.8) - shapely.Point(x, 0).buffer(0.5)
        cross = shapely.box(x - 1, -0.2, x + 1, 0.2) | shapely.box(x - 0.2, -1, x + 0.2, 1)
        slots.append(ring - cross)
    plane = shapely.box(-2, -2, 14, 2) - shapely.union_all(slots)
    (told,) = hatches_of(board_with([(Kind.POUR, plane, 0.0), *pads]))

    assert len(told.island) == 0
