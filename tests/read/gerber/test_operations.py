import math
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.board import Kind
from checker.errors import ReadError
from checker.read.gerber import TOLERANCE
from tests.read.gerber.written import HEAD, area, ij, image, read, texts, xy

PEN = "%ADD10C,1*%\nD10*"
SQUARE_PEN = "%ADD10R,1X1*%\nD10*"


def swept(line: Any, width: float) -> Any:
    """A chain swept by a round pen: the definition, by a buffer of many chords."""
    return shapely.buffer(shapely.LineString(line), width / 2, quad_segs=256)


def near(found: Any, true: Any) -> bool:
    """Whether two shapes agree within the tolerance all along their boundaries."""
    wider_true, wider_found = shapely.buffer([true, found], TOLERANCE * 1.01)
    return bool(wider_true.covers(found) and wider_found.covers(true))


# Draws


def test_draws_that_join_are_one_object() -> None:
    file = read(PEN, "X0Y0D02*", f"{xy(5, 0)}D01*", f"{xy(5, 5)}D01*", f"{xy(0, 5)}D01*")

    objects = file.objects
    assert len(objects) == 1
    assert objects.spine[0].equals(shapely.LineString([(0, 0), (5, 0), (5, 5), (0, 5)]))
    assert objects.pen[0] == 1
    assert objects.kind[0] == Kind.TRACE
    assert objects.line[0] == 6
    assert near(objects.shape[0], swept([(0, 0), (5, 0), (5, 5), (0, 5)], 1))


def test_move_to_where_the_pen_is_joins() -> None:
    file = read(PEN, "X0Y0D02*", f"{xy(5, 0)}D01*", f"{xy(5, 0)}D02*", "D02*", f"{xy(5, 5)}D01*")

    assert len(file.objects) == 1


@pytest.mark.parametrize(
    "between",
    [
        f"{xy(9, 9)}D02*\n{xy(5, 0)}D02*",
        "%ADD11C,1*%\nD11*",
        "%TO.N,OTHER*%",
        "%LPC*%",
        "%LR90*%",
        "%SRX2Y1I50J0*%",
        "G36*\nG37*",
    ],
)
def test_draws_apart_by_place_pen_net_polarity_or_block_are_two_objects(between: str) -> None:
    apart = read(PEN, "X0Y0D02*", f"{xy(5, 0)}D01*", between, f"{xy(5, 5)}D01*")

    assert len(apart.objects) >= 2


def test_statement_that_changes_nothing_does_not_part_a_chain() -> None:
    same = ("D10*", "%LPD*%", "%LS1*%", "G01*", "G04 a word*")

    assert len(read(PEN, "X0Y0D02*", f"{xy(5, 0)}D01*", *same, f"{xy(5, 5)}D01*").objects) == 1


def test_draw_of_no_length_is_a_dot() -> None:
    file = read(PEN, f"{xy(2, 3)}D02*", "D01*")

    assert file.objects.shape[0].area == pytest.approx(math.pi / 4)
    assert file.objects.shape[0].centroid.distance(shapely.Point(2, 3)) < 1e-9


def test_square_pen_sweeps_the_hull_of_its_ends() -> None:
    # A square dragged along (3, 4): its area, and length times its width across the direction.
    dragged = area(SQUARE_PEN, "X0Y0D02*", f"{xy(3, 4)}D01*")

    assert dragged == pytest.approx(1 + 5 * (0.6 + 0.8))


def test_square_pen_keeps_its_corners_at_a_bend() -> None:
    assert area(SQUARE_PEN, "X0Y0D02*", f"{xy(4, 0)}D01*", f"{xy(4, 4)}D01*") == 9


def test_square_pen_is_turned_with_its_aperture() -> None:
    turned = area(SQUARE_PEN, "%LR45*%", "X0Y0D02*", f"{xy(4, 0)}D01*")

    assert turned == pytest.approx(1 + 4 * math.sqrt(2))


def test_obround_pen_sweeps_its_hull() -> None:
    found = image("%ADD10O,2X1*%", "D10*", "X0Y0D02*", f"{xy(0, 4)}D01*")

    assert found.area == pytest.approx(1 + math.pi / 4 + 4 * 2, abs=6 * TOLERANCE)


def test_pen_with_a_hole_and_macro_pen_are_drawn_and_noted() -> None:
    hole = read("%ADD10R,1X1X0.5*%", "D10*", "X0Y0D02*", f"{xy(4, 0)}D01*")
    macro = read("%AMU*21,1,1,1,0,0,0*%", "%ADD10U*%", "D10*", "X0Y0D02*", f"{xy(4, 0)}D01*")

    assert hole.objects.shape[0].area == macro.objects.shape[0].area == 5
    assert texts(hole) == ["draw with an aperture that has a hole: the hole is ignored"]
    assert texts(macro) == ["draw with a macro aperture: its convex hull is swept"]


places = st.tuples(st.integers(-20, 20), st.integers(-20, 20))


@given(st.lists(places, min_size=2, max_size=8), st.floats(0.1, 4))
def test_chain_is_swept_within_the_tolerance(chain: list[tuple[int, int]], width: float) -> None:
    first, *rest = chain
    file = read(
        f"%ADD10C,{width}*%\nD10*", f"{xy(*first)}D02*", *(f"{xy(*place)}D01*" for place in rest)
    )

    line = chain if any(place != first for place in rest) else [first, (first[0] + 1e-9, first[1])]
    assert near(file.objects.shape[0], swept(line, width))


# Flashes


def test_flash_is_a_pad_at_a_point() -> None:
    objects = read(PEN, f"{xy(2, 3)}D03*").objects

    assert objects.spine[0] == shapely.Point(2, 3)
    assert objects.kind[0] == Kind.PAD
    assert objects.pen[0] == 0
    assert objects.shape[0].centroid.distance(shapely.Point(2, 3)) < 1e-9


def test_flash_leaves_the_current_point_at_its_place() -> None:
    assert len(read(PEN, f"{xy(2, 3)}D03*", f"{xy(4, 3)}D01*").objects) == 2


# Arcs: the arm from the centre, so that the ends need no rounding.


@pytest.mark.parametrize(
    ("mode", "end", "turned"),
    [
        ("G03", (0, 5), 90),
        ("G02", (0, 5), -270),
        ("G03", (-5, 0), 180),
        ("G02", (-5, 0), -180),
        ("G03", (0, -5), 270),
        ("G02", (0, -5), -90),
        ("G03", (5, 0), 360),
        ("G02", (5, 0), -360),
        ("G03", (4, 3), math.degrees(math.atan2(3, 4))),
    ],
)
def test_multi_quadrant_arc_turns_its_way_round(
    mode: str, end: tuple[int, int], turned: float
) -> None:
    objects = read(PEN, "G75*", f"{xy(5, 0)}D02*", f"{mode}{xy(*end)}{ij(-5, 0)}D01*").objects

    true = 5 * math.radians(abs(turned))
    assert objects.spine[0].length == pytest.approx(true, rel=3e-4)
    steps = [math.radians(turned * k / 64) for k in range(65)]
    line = [(5 * math.cos(a), 5 * math.sin(a)) for a in steps]
    bound = shapely.hausdorff_distance(objects.spine[0], shapely.LineString(line), densify=0.01)
    assert bound < 5 * (1 - math.cos(math.radians(turned / 128))) + TOLERANCE


def test_stroked_circle_is_a_ring() -> None:
    ring = image(PEN, "G75*", f"{xy(5, 0)}D02*", f"G03{xy(5, 0)}{ij(-5, 0)}D01*")

    true = shapely.Point(0, 0).buffer(5.5, 512) - shapely.Point(0, 0).buffer(4.5, 512)
    assert near(ring, true)


def test_stroked_arc_tighter_than_its_pen_fills_its_middle() -> None:
    blob = image(PEN, "G75*", f"{xy(0.3, 0)}D02*", f"G03{xy(0.3, 0)}{ij(-0.3, 0)}D01*")

    assert near(blob, shapely.Point(0, 0).buffer(0.8, 512))


@pytest.mark.parametrize(
    ("mode", "start", "end", "centre"),
    [
        ("G03", (5, 0), (0, 5), (0, 0)),
        ("G02", (5, 0), (0, 5), (5, 5)),
        ("G03", (0, 5), (-5, 0), (0, 0)),
        ("G03", (-5, 0), (0, -5), (0, 0)),
        ("G02", (0, -5), (-5, 0), (0, 0)),
        ("G03", (4, 3), (3, 4), (0, 0)),
    ],
)
def test_single_quadrant_arc_finds_its_centre(
    mode: str, start: tuple[int, int], end: tuple[int, int], centre: tuple[int, int]
) -> None:
    offset = (abs(centre[0] - start[0]), abs(centre[1] - start[1]))
    spine = read(
        PEN, "G74*", f"{xy(*start)}D02*", f"{mode}{xy(*end)}{ij(*offset)}D01*"
    ).objects.spine[0]

    radii = [math.dist(point, centre) for point in spine.coords]
    assert radii == pytest.approx([5] * len(radii), abs=TOLERANCE)
    assert spine.length <= 5 * math.pi / 2 * 1.001


def test_single_quadrant_arc_between_equal_ends_is_a_dot() -> None:
    dot = read(PEN, "G74*", f"{xy(5, 0)}D02*", f"G03{xy(5, 0)}{ij(5, 0)}D01*")

    assert dot.objects.spine[0].length == 0


def test_single_quadrant_arc_that_fits_nowhere_is_drawn_straight_and_noted() -> None:
    file = read(PEN, "G74*", f"{xy(5, 0)}D02*", f"G03{xy(-5, 0)}{ij(5, 0)}D01*")

    assert texts(file) == ["arc whose centre fits no quarter circle, drawn straight"]
    assert file.objects.spine[0].length == 10


@pytest.mark.parametrize(
    ("offset", "taken"), [((-5, 0), "G75"), ((5, 0), "G74")], ids=["signed", "unsigned"]
)
def test_arc_before_either_mode_is_taken_as_what_fits(offset: tuple[int, int], taken: str) -> None:
    file = read(PEN, f"{xy(5, 0)}D02*", f"G03{xy(0, 5)}{ij(*offset)}D01*")

    assert texts(file) == [f"arc before G74 or G75, taken as {taken}"]
    assert file.objects.spine[0].length == pytest.approx(5 * math.pi / 2, rel=3e-4)


def test_arc_without_offset_is_straight_and_noted() -> None:
    file = read(PEN, "G75*", "X0Y0D02*", f"G03{xy(3, 4)}D01*")

    assert texts(file) == ["arc without a radius, drawn straight"]
    assert file.objects.spine[0].length == 5


def test_arc_with_ends_at_unequal_distance_is_noted() -> None:
    file = read(PEN, "G75*", f"{xy(5, 0)}D02*", f"G03{xy(-6, 0)}{ij(-5, 0)}D01*")

    assert texts(file) == [
        "arc whose ends are not equally far from its centre, radius changed evenly"
    ]


def test_mode_of_interpolation_holds_until_changed() -> None:
    spine = read(
        PEN,
        "G75*",
        f"G03{xy(5, 0)}D02*",
        f"{xy(0, 5)}{ij(-5, 0)}D01*",
        f"G01{xy(0, 9)}D01*",
    ).objects.spine[0]

    assert spine.length == pytest.approx(5 * math.pi / 2 + 4, rel=3e-4)


# Regions


def contour(*points: tuple[float, float]) -> str:
    first, *rest = points
    return "\n".join([f"{xy(*first)}D02*", "G01*", *(f"{xy(*p)}D01*" for p in (*rest, first))])


def test_region_fills_its_contour_without_a_pen() -> None:
    file = read("G36*", contour((0, 0), (4, 0), (4, 3)), "G37*")

    assert file.objects.shape[0].area == 6
    assert file.objects.kind[0] == Kind.POUR
    assert file.objects.spine[0] is None
    assert file.operations == 3


def test_contours_of_one_region_are_filled_each_for_itself() -> None:
    inner = contour((1, 1), (2, 1), (2, 2), (1, 2))
    outer = contour((0, 0), (4, 0), (4, 4), (0, 4))

    assert area("G36*", outer, inner, contour((9, 9), (10, 9), (10, 10)), "G37*") == 16.5


def test_cut_in_makes_a_hole() -> None:
    outer = [(0, 0), (4, 0), (4, 4), (0, 4), (0, 2)]
    inner = [(1, 2), (1, 3), (3, 3), (3, 1), (1, 1), (1, 2)]
    cut_in = contour(*outer, *inner, (0, 2))

    filled = image("G36*", cut_in, "G37*")
    assert filled.area == 12
    assert len(filled.geoms[0].interiors) == 1


def test_contour_that_crosses_itself_keeps_all_it_encloses() -> None:
    assert area("G36*", contour((0, 0), (2, 2), (2, 0), (0, 2)), "G37*") == 2


def test_contour_that_overlaps_itself_is_filled_once() -> None:
    twice = contour((0, 0), (4, 0), (4, 4), (0, 4), (0, 0), (4, 0), (4, 4), (0, 4))

    assert area("G36*", twice, "G37*") == 16


def test_contour_with_arcs() -> None:
    half_disc = (
        f"{xy(-5, 0)}D02*",
        f"G01{xy(5, 0)}D01*",
        f"G75*\nG03{xy(-5, 0)}{ij(-5, 0)}D01*",
    )

    assert area("G36*", *half_disc, "G37*") == pytest.approx(12.5 * math.pi, rel=1e-6)


def test_full_circle_as_a_contour() -> None:
    disc = (f"{xy(5, 0)}D02*", f"G75*\nG02{xy(5, 0)}{ij(-5, 0)}D01*")

    assert area("G36*", *disc, "G37*") == pytest.approx(25 * math.pi, rel=1e-6)


def test_contour_may_begin_without_a_move() -> None:
    assert area(f"{xy(4, 0)}D02*", "G36*", f"{xy(4, 3)}D01*", "X0Y0D01*", f"{xy(4, 0)}D01*", "G37*") == 6  # fmt: skip  # noqa: E501


def test_open_contour_is_closed_and_noted() -> None:
    file = read("G36*", "X0Y0D02*", f"{xy(4, 0)}D01*", f"{xy(4, 3)}D01*", "G37*")

    assert texts(file) == ["open contour, closed by a straight line"]
    assert file.objects.shape[0].area == 6


@pytest.mark.parametrize(
    "points", [(), ((1, 1),), ((1, 1), (2, 2)), ((1, 1), (2, 2), (3, 3))], ids=len
)
def test_contour_without_area_draws_nothing(points: Any) -> None:
    body = [f"{xy(*p)}D01*" for p in points]
    file = read("G36*", "X0Y0D02*", *body, "G37*", PEN, "X0Y0D03*")

    assert area("G36*", "X0Y0D02*", *body, "G37*", PEN, "X0Y0D03*") == pytest.approx(math.pi / 4)
    assert file.objects.kind[-1] == Kind.PAD


def test_flash_in_a_region_is_ignored_and_noted() -> None:
    file = read(PEN, "G36*", "X0Y0D03*", contour((0, 0), (4, 0), (4, 3)), "G37*")

    assert [(note.line, note.text) for note in file.notes] == [
        (6, "flash inside a region, ignored")
    ]


# Polarity


def test_clear_takes_away_what_was_drawn_before_it_and_not_after() -> None:
    square = "%ADD11R,4X4*%\nD11*\nX0Y0D03*"
    hole = "%LPC*%\n%ADD12R,2X2*%\nD12*\nX0Y0D03*"
    dot = "%LPD*%\n%ADD13R,1X1*%\nD13*\nX0Y0D03*"

    assert area(square, hole, dot) == 16 - 4 + 1
    assert area(dot, square, hole) == 16 - 4
    assert area(hole, dot, square) == 16


def test_clear_draws_and_regions() -> None:
    square = "%ADD11R,4X4*%\nD11*\nX0Y0D03*"
    line = f"{SQUARE_PEN}\n{xy(-9, 0)}D02*\n{xy(9, 0)}D01*"
    triangle = "G36*\n" + contour((0, 0), (2, 0), (2, 2)) + "\nG37*"

    assert area(square, "%LPC*%", line, triangle) == 16 - 4 - (2 - 0.5 * 2 + 0.125)


def test_objects_remember_their_polarity() -> None:
    file = read(PEN, "X0Y0D03*", "%LPC*%", "X0Y0D03*", "%LPD*%", f"{xy(9, 9)}D03*")

    assert file.objects.dark.tolist() == [True, False, True]


# Incremental coordinates


def test_incremental_coordinates_are_steps() -> None:
    steps = (f"{xy(1, 1)}D02*", f"{xy(2, 0)}D01*", "Y1000000D01*", f"{xy(-1, -1)}D03*")

    by_format = read(PEN, *steps, head=HEAD.replace("FSLA", "FSLI"))
    by_code = read("G91*", PEN, *steps)
    assert by_format.objects.spine[0].equals(shapely.LineString([(1, 1), (3, 1), (3, 2)]))
    assert by_format.objects.spine[1] == shapely.Point(2, 1)
    assert by_code.objects.spine[0].equals(by_format.objects.spine[0])


def test_incremental_steps_there_and_back_end_where_they_began() -> None:
    steps = [(0.7, 0.0), (0.6, 0.2), (-1.3, 1.1), (0.0, -1.3)]
    file = read("G91*", "G36*", "X0Y0D02*", *(f"{xy(*step)}D01*" for step in steps), "G37*")

    assert texts(file) == []


def test_incremental_coordinates_that_run_away_are_refused() -> None:
    with pytest.raises(ReadError, match=r"layer.gbr:7: incremental coordinates run away"):
        read("G91*", PEN, f"{xy(9000, 0)}D02*", f"{xy(9000, 0)}D02*")
