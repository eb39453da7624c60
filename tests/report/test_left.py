from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from checker.process import load_profile
from checker.read import read_board
from checker.report.html.left import MOST_POINTS, left_of, left_on
from tests import handmade
from tests.report.judging import SAMPLES

BLANK = shapely.box(-10, -10, 10, 10)
CLOSE = 0.01  # mm2; arcs follow their circles to 2 um, seams are 3 um


def squares(gap: float) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Two squares of 2 mm that face each other."""
    return np.array(
        [shapely.box(-2 - gap / 2, -1, -gap / 2, 1), shapely.box(gap / 2, -1, 2 + gap / 2, 1)]
    )


def test_a_gap_that_the_cut_does_not_enter_stays_full_but_for_two_segments() -> None:
    gap, radius = 0.3, 0.2
    between = shapely.box(-gap / 2, -1, gap / 2, 1)

    left = left_of(squares(gap), BLANK, 2 * radius, 2 * radius)

    # In the mouth of the gap the disc touches both corners: a segment on a chord as long as it.
    half = gap / 2
    segment = radius**2 * math.asin(half / radius) - half * math.sqrt(radius**2 - half**2)
    expected = 2 * gap - 2 * segment
    assert shapely.intersection(left, between).area == pytest.approx(expected, abs=CLOSE)


def test_a_gap_that_the_cut_passes_is_empty() -> None:
    gap = 0.3

    left = left_of(squares(gap), BLANK, 0.25, 0.35)

    assert shapely.intersection(left, shapely.box(-gap / 2, -1, gap / 2, 1)).area < CLOSE


@pytest.mark.parametrize("cleared", [0.4, 1.0])
def test_what_is_farther_away_than_the_width_cleared_stays(cleared: float) -> None:
    islands = squares(4.0)

    left = left_of(islands, BLANK, 0.4, cleared)

    # Steiner's formula: a square of side a grown by c covers a2 + 4ac + pi c2.
    gone = 2 * (4 + 8 * cleared + math.pi * cleared**2)
    assert left.area == pytest.approx(400 - gone, abs=0.1)


def test_drawn_copper_is_never_part_of_it() -> None:
    board, process = read_board([SAMPLES / "boards/tide-logger"]), load_profile("cone-30-0.1")

    for layer in board.copper:
        left = left_on(board, layer, process)

        assert left is not None
        drawn = shapely.union_all(layer.islands)
        assert shapely.intersection(left, drawn).area < CLOSE
        assert left.area > 10


def test_a_process_without_a_tool_leaves_nothing_of_the_kind() -> None:
    facts = handmade.facts([handmade.Gap(0.2)])

    assert left_on(facts.board, facts.board.copper[0], load_profile("etch")) is None


def test_a_side_of_very_many_points_is_left_to_the_pages_script() -> None:
    turn = np.linspace(0, 2 * math.pi, MOST_POINTS + 2)
    ring = shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]))
    layer = handmade.layer("top", [(handmade.Copper(), ring)])
    board = handmade.facts().board

    assert left_on(board, layer, load_profile("cone-30-0.1")) is None
