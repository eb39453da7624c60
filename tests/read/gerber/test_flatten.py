import importlib
import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.board import DrawnObjects, Kind
from checker.read.gerber import TOLERANCE, flatten
from checker.read.gerber.flatten import MANY_CORNERS
from checker.read.gerber.strokes import cracks
from tests.read.gerber.written import read, xy

SQUARES = "%ADD11R,1X1*%\n%ADD12R,4X4*%\n%ADD13R,10X10*%"


def flat(*lines: str) -> tuple[DrawnObjects, Any, Any]:
    """Objects, islands and the island of each object of these lines."""
    objects = read(*lines).objects
    return objects, *flatten(objects)


def test_islands_are_single_polygons_with_counter_clockwise_exteriors() -> None:
    _, islands, _ = flat(SQUARES, "D11*", "X0Y0D03*", f"{xy(5, 0)}D03*", f"{xy(5.5, 0)}D03*")

    assert sorted(island.area for island in islands) == [1, 1.5]
    assert all(island.exterior.is_ccw for island in islands)
    assert all(island.geom_type == "Polygon" for island in islands)


def test_holes_are_clockwise() -> None:
    _, islands, _ = flat(SQUARES, "D12*", "X0Y0D03*", "%LPC*%", "D11*", "X0Y0D03*")

    assert not islands[0].interiors[0].is_ccw


def test_each_object_knows_its_island() -> None:
    objects, islands, island_of = flat(
        SQUARES, "D11*", "X0Y0D03*", f"{xy(5, 0)}D03*", f"{xy(5.5, 0)}D03*", f"{xy(0, 0.5)}D03*"
    )

    assert island_of[0] == island_of[3] != island_of[1] == island_of[2]
    assert all(islands[i].covers(shape) for i, shape in zip(island_of, objects.shape, strict=True))


def test_clear_and_cleared_and_empty_objects_have_no_island() -> None:
    lines = (SQUARES, "%ADD14C,0*%", "D11*", "X0Y0D03*", "%LPC*%", "D12*", "X0Y0D03*", "%LPD*%")
    _, islands, island_of = flat(*lines, "D14*", f"{xy(9, 9)}D03*", "D11*", f"{xy(9, 9)}D03*")

    assert len(islands) == 1
    assert island_of.tolist() == [-1, -1, -1, 0]


def test_pad_in_the_clearance_of_a_pour_is_no_part_of_it() -> None:
    lines = (SQUARES, "D13*", "X0Y0D03*", "%LPC*%", "D12*", "X0Y0D03*", "%LPD*%", "D11*")
    _, islands, island_of = flat(*lines, "X0Y0D03*")

    # The middle of the pour lies in the pad; what is left of the pour does not.
    assert islands[island_of[0]].area == 100 - 16
    assert islands[island_of[2]].area == 1


def test_object_cut_in_two_belongs_to_its_larger_part() -> None:
    lines = (SQUARES, "D13*", "X0Y0D03*", "%LPC*%", "%ADD14R,1X20*%", "D14*", f"{xy(2, 0)}D03*")
    _, islands, island_of = flat(*lines)

    assert sorted(island.area for island in islands) == pytest.approx([25, 65])
    assert islands[island_of[0]].area == pytest.approx(65)


def test_larger_part_is_that_of_more_area_not_the_wider() -> None:
    bars = "%ADD14R,12X1*%\n%ADD15R,6X6*%\n%ADD16R,1X10*%"
    shape = f"%AMTEE*21,1,12,1,0,4,0*21,1,6,6,0,-2,0*21,1,1,4,0,2.5,0*%\n{bars}\n%ADD17TEE*%"
    lines = (shape, "D17*", "X0Y0D03*", "%LPC*%", "%ADD18R,4X1*%", "D18*", f"{xy(0, 2.5)}D03*")
    _, islands, island_of = flat(*lines)

    assert sorted(island.area for island in islands) == pytest.approx([12.5, 37])
    assert islands[island_of[0]].area == pytest.approx(37)


def test_pad_that_does_not_cover_its_own_centre_has_an_island() -> None:
    _, islands, island_of = flat("%ADD10C,2X1*%", "D10*", "X0Y0D03*", "%ADD11C,0.5*%", "D11*", "X0Y0D03*")  # fmt: skip  # noqa: E501

    assert len(islands) == 2
    assert island_of[0] != island_of[1]


def test_nothing_flattens_to_nothing() -> None:
    _, islands, island_of = flat()

    assert len(islands) == len(island_of) == 0


def test_only_clear_objects_leave_nothing() -> None:
    _, islands, island_of = flat(SQUARES, "%LPC*%", "D11*", "X0Y0D03*")

    assert len(islands) == 0
    assert island_of.tolist() == [-1]


def test_outlines_a_last_bit_apart_keep_their_holes() -> None:
    # A loop drawn twice, the second time by steps whose sums differ in the last bit; their union
    # by GEOS 3.14 is one polygon without the hole.
    loop = [(0, 3.556), (17.78, -1.524), (24.13, 3.81), (0, -0.254)]
    noisy = np.cumsum(np.diff(loop, axis=0, prepend=[(0, 0)]), axis=0)
    pen = "%ADD10C,0.762*%"
    plain = [f"{xy(*p)}D0{2 if i == 0 else 1}*" for i, p in enumerate(loop)]
    head = "%FSLAX46Y46*%\n%MOMM*%\n"
    steps = np.diff(noisy, axis=0, prepend=[(0, 0)])
    again = [f"{xy(*p)}D0{2 if i == 0 else 1}*" for i, p in enumerate(steps)]

    once = flatten(read(pen, "D10*", *plain, head=head).objects)[0]
    twice = flatten(read(pen, "D10*", *plain, "X0Y0D02*", "G91*", *again, head=head).objects)[0]
    assert [len(island.interiors) for island in once] == [1]
    assert [len(island.interiors) for island in twice] == [1]


def test_corners_lie_on_a_grid_of_a_picometre() -> None:
    lines = ("%LR30*%", "%ADD10R,1X2*%", "D10*", f"{xy(0.1, 0.2)}D03*", f"{xy(3, 7)}D01*")
    corners = shapely.get_coordinates(read(*lines).objects.shape)

    assert np.array_equal(corners, np.round(corners, 9))


# Slivers


def test_copper_nowhere_wider_than_three_tolerances_is_left_out_and_told() -> None:
    told: list[str] = []
    sliver = "%ADD14R,5X0.0025*%\nD14*\nX0Y5000000D03*"
    objects = read(SQUARES, "D11*", "X0Y0D03*", sliver).objects

    islands, island_of = flatten(objects, told.append)

    assert island_of.tolist() == [0, -1]
    assert [island.area for island in islands] == [1]
    assert told == [
        "1 piece of copper nowhere wider than 0.003 mm left out, one near (2.500, 4.999)"
    ]


def test_holes_nowhere_wider_than_five_tolerances_are_filled_and_told() -> None:
    told: list[str] = []
    slit = "%LPC*%\n%ADD14R,1X0.0045*%\nD14*\nX0Y0D03*\n%LPD*%"
    hole = "%LPC*%\nD11*\nX0Y3000000D03*\n%LPD*%"
    objects = read(SQUARES, "D13*", "X0Y0D03*", slit, hole).objects

    islands, _ = flatten(objects, told.append)

    assert islands[0].area == 99
    assert len(told) == 1
    assert told[0].startswith("1 hole in copper nowhere wider than 0.005 mm left out")


@pytest.mark.parametrize("width", [0.0035, 0.01, 0.1])
def test_narrow_copper_and_narrow_gaps_stay(width: float) -> None:
    line = f"%ADD14R,5X{width}*%\nD14*"
    copper, _ = flatten(read(line, "X0Y0D03*").objects)
    cut, _ = flatten(read(SQUARES, "D12*", "X0Y0D03*", "%LPC*%", line, "X0Y0D03*").objects)

    assert [island.area for island in copper] == pytest.approx([5 * width])
    assert len(cut) == 2


def test_discs_drawn_from_other_starts_leave_no_crumbs() -> None:
    # Clearing a disc and drawing it again, once as a flash and once as a region begun elsewhere.
    region = f"G75*G36*{xy(0.6, 0.8)}D02*G03{xy(0.6, 0.8)}I-600000J-800000D01*G37*"
    objects = read(SQUARES, "D12*X0Y0D03*", "%LPC*%", region, "%LPD*%", "%ADD10C,2*%D10*X0Y0D03*")

    islands, _ = flatten(objects.objects)

    assert sum(len(island.interiors) for island in islands) == 0
    assert shapely.area(islands).sum() == pytest.approx(16, abs=2 * math.pi * TOLERANCE)


# Cracks between the strokes of a fill


def fill(spacing: float, kind: str, pen: float = 0.2, turn: float = 0.0) -> DrawnObjects:
    """Ten strokes of 4 mm side by side: apart, in one go, or within a border of the same pen."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(x: float, y: float) -> str:
        return xy(30 + c * x - s * y, 20 + s * x + c * y)

    lines = [f"%ADD10C,{pen}*%", "D10*"]
    for row in range(10):
        left, right = at(0, row * spacing), at(4, row * spacing)
        if row % 2:
            left, right = right, left
        lines += [f"{left}D0{1 if kind == 'meander' and row else 2}*", f"{right}D01*"]
    if kind == "bordered":
        top = 9 * spacing
        lines += [f"{at(0, 0)}D02*"]
        lines += [f"{at(*corner)}D01*" for corner in ((4, 0), (4, top), (0, top), (0, 0))]
    return read(*lines).objects


KINDS = ("apart", "meander", "bordered")


# A coarse number format such as inch 2.4 rounds by 0.0013 mm, at both strokes.
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("crack", [0.001, 0.0025, 0.004, 0.0049])
@pytest.mark.parametrize("turn", [0, 90, 45, 17.3, 179.99])
def test_cracks_between_strokes_of_a_fill_are_closed(kind: str, crack: float, turn: float) -> None:
    told: list[str] = []

    islands, island_of = flatten(fill(0.2 + crack, kind, turn=turn), told.append)

    assert len(islands) == 1
    assert set(island_of.tolist()) == {0}
    assert len(islands[0].interiors) == 0
    whole = shapely.box(0, -0.1, 4, 9 * (0.2 + crack) + 0.1).area
    assert islands[0].buffer(-0.2).buffer(0.2).area > whole - 0.2  # nothing parts it
    assert [text.partition(" between")[0] for text in told] == ["gaps of at most 0.005 mm"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("spacing", [0.19, 0.2, 0.2055, 0.21, 0.4])
def test_strokes_that_touch_or_stay_apart_are_left_as_drawn(kind: str, spacing: float) -> None:
    told: list[str] = []
    objects = fill(spacing, kind)

    islands, _ = flatten(objects, told.append)

    assert told == []
    assert shapely.area(islands).sum() == pytest.approx(shapely.union_all(objects.shape).area)
    assert len(islands) == (10 if kind == "apart" and spacing > 0.2 else 1)


def test_strokes_of_different_nets_are_not_joined() -> None:
    lines = ("%ADD10C,0.2*%", "D10*", "%TO.N,A*%", f"{xy(0, 0)}D02*", f"{xy(4, 0)}D01*")
    other = ("%TO.N,{}*%", f"{xy(0, 0.203)}D02*", f"{xy(4, 0.203)}D01*")

    _, apart, _ = flat(*lines, *(line.format("B") for line in other))
    _, joined, _ = flat(*lines, *(line.format("A") for line in other))

    assert (len(apart), len(joined)) == (2, 1)


def test_a_crack_that_other_copper_covers_or_that_is_cleared_is_none() -> None:
    told: list[str] = []
    strokes = [line for y in (0, 0.203) for line in ("D10*", f"{xy(-1, y)}D02*", f"{xy(1, y)}D01*")]
    pens = (SQUARES, "%ADD10C,0.2*%")

    covered, _ = flatten(read(*pens, *strokes, "D12*", "X0Y0D03*").objects, told.append)
    cleared, _ = flatten(
        read(*pens, *strokes, "%LPC*%", "D12*", "X0Y0D03*", "%LPD*%", "D11*", "X0Y0D03*").objects,
        told.append,
    )

    assert told == []
    assert [island.area for island in covered] == [16]
    assert [island.area for island in cleared] == [1]


def test_many_strokes_on_two_lines_are_compared_within_bounds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(importlib.import_module("checker.read.gerber.strokes"), "_MOST", 50)
    strokes = [
        line
        for k in range(20)
        for y in (0, 0.203)
        for line in (f"{xy(k, y)}D02*", f"{xy(k + 0.5, y)}D01*")
    ]

    rows, places = cracks(read("%ADD10C,0.2*%", "D10*", *strokes).objects)

    assert len(rows) == len(places) <= 3 * 50


def test_a_draw_of_no_length_is_a_dot_and_drawing_twice_changes_nothing() -> None:
    pen = ("%ADD10C,0.5*%", "D10*")
    there = (f"{xy(1, 1)}D02*", f"{xy(3, 1)}D01*")

    _, dot, _ = flat(*pen, f"{xy(1, 1)}D02*", f"{xy(1, 1)}D01*")
    _, once, _ = flat(*pen, *there)
    _, twice, _ = flat(*pen, *there, f"{xy(3, 1)}D01*", *there, f"{xy(1, 1)}D01*")

    assert shapely.area(dot).sum() == pytest.approx(math.pi / 16, abs=0.5 * math.pi * TOLERANCE)
    assert shapely.area(once).sum() == pytest.approx(1 + math.pi / 16, abs=1.6 * TOLERANCE)
    assert [island.area for island in twice] == pytest.approx([island.area for island in once])


# Against the definition: each object joined to the image or taken from it in turn.


def in_turn(objects: DrawnObjects) -> Any:
    """The image by one union or difference per object."""
    drawn = shapely.Polygon()
    for shape, dark in zip(objects.shape, objects.dark, strict=True):
        drawn = drawn.union(shape) if dark else drawn.difference(shape)
    return drawn


place = st.tuples(st.integers(0, 12), st.integers(0, 12))
entries = st.lists(
    st.tuples(st.sampled_from(["LPD", "LPC"]), st.sampled_from([11, 12, 15, 16, 17]), place, place),
    max_size=14,
)
PENS = (
    f"{SQUARES}\n%ADD15C,0.6*%\n%ADD16C,3X1*%\n"
    # A disc of 1200 corners, on the far side of the limit for what is joined on its own.
    "%AMROUND*5,1,1000,0,0,5,0*%\n%ADD17ROUND*%"
)


@settings(max_examples=30, deadline=None)
@given(entries)
def test_islands_are_the_image_drawn_in_turn(board: Any) -> None:
    lines = [PENS]
    for polarity, pen, at, to in board:
        lines += [f"%{polarity}*%", f"D{pen}*"]
        if pen == 15:
            lines += [f"{xy(*at)}D02*", f"{xy(*to)}D01*"]
        else:
            lines.append(f"{xy(*at)}D03*")
    objects, islands, island_of = flat(*lines)

    true = in_turn(objects)
    found = shapely.union_all(islands)
    assert shapely.symmetric_difference(found, true).buffer(-2 * TOLERANCE).is_empty
    assert found.area == pytest.approx(true.area, abs=1e-3)
    for shape, dark, island, row in zip(
        objects.shape, objects.dark, island_of, range(len(objects)), strict=True
    ):
        left = shape
        for later in range(row + 1, len(objects)):
            if not objects.dark[later]:
                left = left.difference(objects.shape[later])
        if dark and not left.buffer(-2 * TOLERANCE).is_empty:
            assert islands[island].intersection(left).area > 0
        elif not dark:
            assert island == -1


def test_many_dark_and_clear_objects_are_compared_in_parts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pads = [f"{xy(5 * k, 0)}D03*" for k in range(20)]
    objects = read(SQUARES, "D12*", *pads, "%LPC*%", "D11*", *pads).objects
    whole, island_of = flatten(objects)

    module = importlib.import_module("checker.read.gerber.flatten")
    monkeypatch.setattr(module, "MOST_PAIRS", 60)
    parts, same = flatten(objects)
    assert [island.area for island in parts] == [island.area for island in whole] == [15] * 20
    assert same.tolist() == island_of.tolist()


def test_pours_of_many_corners_join_what_they_touch() -> None:
    disc = "%AMROUND*5,1,1000,0,0,5,0*%\n%ADD17ROUND*%\nD17*"
    lines = (SQUARES, disc, "X0Y0D03*", f"{xy(4, 0)}D03*", "D11*", f"{xy(-2.5, 0)}D03*")
    objects, islands, island_of = flat(*lines, f"{xy(20, 0)}D03*")

    assert shapely.get_num_coordinates(objects.shape[0]) > MANY_CORNERS
    assert len(islands) == 2
    assert len(set(island_of[:3])) == 1
    assert objects.kind.tolist() == [Kind.PAD] * 4
    assert np.isclose(shapely.area(islands).sum(), in_turn(objects).area)
