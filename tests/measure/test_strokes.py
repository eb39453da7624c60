"""Legend over copper, on strokes whose crossings are known."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, DrawnObjects, GraphicLayer, Kind
from checker.measure.copper.strokes import ERROR, crossings_of
from tests.handmade import Copper, layer

HALF = 0.1


def drawn(*strokes: shapely.LineString, pen: float = 0.15) -> DrawnObjects:
    """Strokes of a legend."""
    shapes = [(Copper(Kind.TRACE), stroke.buffer(pen / 2)) for stroke in strokes]
    spines = np.empty(len(strokes), object)
    spines[:] = strokes
    objects = layer("top", shapes).objects
    return replace(objects, spine=spines, pen=np.full(len(strokes), pen))


def board(*strokes: shapely.LineString, side: str = "top") -> Board:
    """Two tracks from left to right and strokes over them."""
    tracks = [
        (Copper(Kind.TRACE, net), shapely.box(0, y - 0.5, 20, y + 0.5))
        for net, y in (("A", 0.0), ("B", 5.0))
    ]
    objects = drawn(*strokes)
    legend = GraphicLayer("legend", side, "legend.gbr", lambda: objects)
    return Board("b", (), (layer("top", tracks),), graphics=(legend,))


def test_a_stroke_across_a_track_crosses_it_by_its_width_and_the_cut() -> None:
    found = crossings_of(board(shapely.LineString([(4, -2), (4, 2)])), HALF)

    assert found.length.tolist() == pytest.approx([1.0 + 2 * HALF], abs=ERROR)
    assert found.at.tolist() == [pytest.approx([4, 0])]


def test_all_strokes_over_a_net_count_and_the_longest_is_the_place() -> None:
    strokes = [shapely.LineString([(4, -2), (4, 2)]), shapely.LineString([(8, 0), (13, 0)])]

    found = crossings_of(board(*strokes), HALF)

    assert found.length.tolist() == pytest.approx([1.2 + 5.0], abs=ERROR)
    assert found.at.tolist() == [pytest.approx([10.5, 0])]


def test_each_net_has_a_row() -> None:
    found = crossings_of(board(shapely.LineString([(4, -2), (4, 8)])), HALF)

    assert found.island.tolist() == [0, 1]


@pytest.mark.parametrize(("y", "count"), [(0.59, 1), (0.61, 0)])
def test_a_stroke_beside_a_track_counts_as_far_as_the_cut_reaches(y: float, count: int) -> None:
    assert len(crossings_of(board(shapely.LineString([(2, y), (9, y)])), HALF)) == count


def test_a_legend_of_the_other_side_crosses_nothing() -> None:
    made = board(shapely.LineString([(4, -2), (4, 2)]), side="bottom")

    assert len(crossings_of(made, HALF)) == 0
