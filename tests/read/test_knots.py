from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from checker.read.knots import knots

ANYWHERE = np.empty(0, object)
SQUARE = [(0, 0), (20, 0), (20, 20), (0, 20), (0, 0)]
BOW = [(0, 0), (20, 20), (20, 0), (0, 20), (0, 0)]


def parts(*lines: Sequence[tuple[float, float]]) -> NDArray[np.object_]:
    """The lines, cut where they meet, as the reader cuts them."""
    met = shapely.union_all([shapely.LineString(line) for line in lines], grid_size=0.001)
    found: NDArray[np.object_] = shapely.get_parts(met)
    return found


def test_a_bow_tie_meets_itself_in_its_middle() -> None:
    assert knots(parts(BOW), ANYWHERE).tolist() == [[10, 10]]


def test_a_star_of_one_stroke_meets_itself_five_times() -> None:
    turn = np.radians(90 + 144 * np.arange(6))
    star = np.round(10 * np.column_stack([np.cos(turn), np.sin(turn)]), 3)

    assert len(knots(parts(star.tolist()), ANYWHERE)) == 5


@pytest.mark.parametrize(
    "lines",
    [
        [SQUARE],
        [SQUARE, [(30, 0), (40, 0), (40, 10), (30, 0)]],
        [SQUARE, [(0, 10), (20, 10)], [(10, 0), (10, 20)]],  # a grid: its lines end on others
        [SQUARE, [(10, -5), (10, 25)]],  # a line across with loose ends
        [[(0, 0), (20, 20), (20, 0), (0, 20)]],  # open: that is told instead
        [SQUARE, SQUARE[::-1]],
        [],
    ],
    ids=["square", "two", "grid", "mark", "open", "doubled", "nothing"],
)
def test_what_does_not_meet_itself(lines: list[list[tuple[float, float]]]) -> None:
    assert len(knots(parts(*lines), ANYWHERE)) == 0


def test_an_arc_drawn_twice_by_other_chords_does_not_count() -> None:
    one, other = (shapely.Point(0, 0).buffer(20, quad_segs=n).exterior.coords for n in (200, 333))

    assert len(knots(parts(list(one), list(other)), ANYWHERE)) == 0


def test_only_what_lies_on_the_edge_counts_where_it_is_known() -> None:
    edge = np.array([shapely.box(-50, -50, 50, 50)])
    drawn = parts(BOW, [(-50, -50), (50, -50), (50, 50), (-50, 50), (-50, -50)])

    assert len(knots(drawn, edge)) == 0
