from __future__ import annotations

import re

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import DrawnObjects, Hole
from checker.report.drawing import QUANTUM, Frame, holes, outer_layers, strokes
from tests import handmade

FRAME = Frame(left=-5.0, top=20.0, width=40.0, height=30.0)
TOKEN = re.compile(r"[MmLlz]|-?\d+")


def subpaths(path: str) -> list[list[tuple[float, float]]]:
    """What a reader of SVG makes of a path: points in mm of the files, by section 9.3 of SVG 2."""
    x = y = 0.0
    start, letter = (0.0, 0.0), ""
    found: list[list[tuple[float, float]]] = []
    tokens = TOKEN.findall(path)
    at = 0
    while at < len(tokens):
        if tokens[at].isalpha():
            letter = tokens[at]
            at += 1
            if letter == "z":
                x, y = start
                continue
        dx, dy = float(tokens[at]), float(tokens[at + 1])
        at += 2
        x, y = (dx, dy) if letter in "ML" else (x + dx, y + dy)
        if letter in "Mm":
            start, letter = (x, y), "l" if letter == "m" else "L"
            found.append([])
        found[-1].append((FRAME.left + x * QUANTUM, FRAME.top - y * QUANTUM))
    return found


def test_a_square_is_a_few_letters() -> None:
    assert FRAME.path(shapely.box(0, 10, 1, 11)) == "M6000 10000l0-1000-1000 0 0 1000z"


@given(
    st.lists(
        st.tuples(st.floats(0, 30), st.floats(-5, 15), st.floats(0.01, 3), st.floats(0, 0.9)),
        min_size=1,
        max_size=8,
    )
)
def test_polygons_come_back_to_half_the_quantum(
    rings: list[tuple[float, float, float, float]],
) -> None:
    shapes = np.array(
        [
            shapely.difference(
                shapely.Point(x, y).buffer(r, quad_segs=5),
                shapely.Point(x, y).buffer(r * hole, quad_segs=5),
            )
            for x, y, r, hole in rings
        ]
    )

    found = subpaths(FRAME.path(shapes))

    expected = shapely.get_rings(shapes)
    assert len(found) == len(expected)
    for points, ring in zip(found, expected, strict=True):
        drawn = shapely.get_coordinates(ring)
        far = shapely.distance(shapely.points(points), shapely.MultiPoint(drawn))
        assert far.max() <= QUANTUM  # half of it on each axis


def test_lines_stay_open_and_stand_where_they_are() -> None:
    lines = [shapely.LineString([(0, 0), (1, 0), (1, 2)]), shapely.LineString([(5, 5), (6, 6.5)])]

    path = FRAME.path(lines)

    assert "z" not in path
    first, second = subpaths(path)
    assert np.allclose(first, [(0, 0), (1, 0), (1, 2)])
    assert np.allclose(second, [(5, 5), (6, 6.5)])


def test_what_is_smaller_than_the_grid_is_a_point() -> None:
    assert FRAME.path(shapely.box(0, 0, 1e-5, 1e-5)) == "M5000 20000l0 0z"


def test_collections_are_drawn_part_by_part() -> None:
    mixed = shapely.GeometryCollection(
        [shapely.box(0, 0, 1, 1), shapely.LineString([(2, 2), (3, 3)]), shapely.Point(9, 9)]
    )

    assert len(subpaths(FRAME.path(mixed))) == 2


def test_holes_and_slots_are_strokes_of_their_diameter() -> None:
    drilled = [
        Hole(((0, 0),), 0.8, None, None, "holes.drl", 1),
        Hole(((1, 1), (3, 1)), 1.2, None, None, "holes.drl", 2),
        Hole(((2, 2),), 0.8, None, None, "holes.drl", 3),
    ]

    assert holes(FRAME, drilled) == {
        800: "M5000 20000L5000 20000M7000 18000L7000 18000",
        1200: "M6000 19000L8000 19000",
    }


def test_a_frame_holds_all_copper() -> None:
    board = handmade.facts([handmade.Gap(0.2, at=(3.0, 4.0))]).board

    x0, y0, x1, y1 = Frame.of(board).box

    bounds = shapely.total_bounds(board.copper[0].islands)
    assert (x0 < bounds[0], y0 < bounds[1], x1 > bounds[2], y1 > bounds[3]) == (True,) * 4
    assert [side for _, side in outer_layers(board)] == list(board.copper)


def objects(dark: list[bool]) -> DrawnObjects:
    """A stroke with a round pen of 0.3 mm, and a square of 1 mm on its end."""
    line = shapely.LineString([(0, 0), (4, 0)])
    none = np.full(2, -1)
    return DrawnObjects(
        shape=np.array([line.buffer(0.15), shapely.box(3.5, -0.5, 4.5, 0.5)]),
        spine=np.array([line, None]),
        pen=np.array([0.3, 0.0]),
        dark=np.array(dark),
        kind=np.zeros(2, dtype=np.int8),
        function=none,
        net=none,
        component=none,
        pin=none,
        line=np.arange(2),
        names=(),
    )


def test_strokes_of_a_pen_stay_centre_lines_and_regions_are_filled() -> None:
    filled, lines = strokes(FRAME, objects([True, True]))

    assert np.allclose(subpaths(lines[300])[0], [(0, 0), (4, 0)])
    assert shapely.Polygon(subpaths(filled)[0]).equals(shapely.box(3.5, -0.5, 4.5, 0.5))


def test_where_something_is_cleared_again_only_the_rest_is_filled() -> None:
    filled, lines = strokes(FRAME, objects([True, False]))

    assert lines == {}
    rest = shapely.Polygon(subpaths(filled)[0])
    assert rest.bounds == pytest.approx((-0.15, -0.15, 3.5, 0.15), abs=0.003)


def test_an_empty_layer_draws_nothing() -> None:
    some = objects([True, True])
    empty = replace(some, **{name: getattr(some, name)[:0] for name in some.__struct_fields__})

    assert strokes(FRAME, empty) == ("", {})
