from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.read.edge import HOW_PROFILE, HOW_ROUTED, Candidate, choose_edge, cut_out
from checker.read.outline import BRIDGE, SNAP, Edge, trace_edge

if TYPE_CHECKING:
    from checker.board import Floats, Outline, Shapes

CENTRES = np.array([[10.0, 10.0], [90.0, 10.0], [50.0, 40.0]])
NO_HOLES = np.empty((0, 3))


def lines(*chains: list[tuple[float, float]]) -> Shapes:
    return np.array([shapely.LineString(chain) for chain in chains], object)


def box(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]


def circle(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    return list(shapely.Point(x, y).buffer(radius).exterior.coords)


def trace(*chains: list[tuple[float, float]], drilled: Floats = NO_HOLES) -> Edge:
    return trace_edge(lines(*chains), CENTRES, drilled)


def area(edge: Edge) -> float:
    assert edge.area is not None
    return float(edge.area.area)


BOARD = box(0, 0, 100, 50)


def test_closed_chain_is_the_edge() -> None:
    assert area(trace(BOARD)) == pytest.approx(5000)


def test_separate_draws_in_any_order_and_direction() -> None:
    sides = [[BOARD[i], BOARD[i + 1]] for i in (2, 0, 3, 1)]
    sides[1].reverse()

    assert area(trace(*sides)) == pytest.approx(5000)


@given(st.lists(st.floats(-0.016, 0.016), min_size=16, max_size=16), st.permutations(range(4)))
def test_ends_that_miss_by_rounding_are_joined(off: list[float], order: list[int]) -> None:
    """Off by up to 0.016 mm each in x and y: at most 0.045 mm apart, within SNAP."""
    sides = [
        [
            (BOARD[i][0] + off[4 * i], BOARD[i][1] + off[4 * i + 1]),
            (BOARD[i + 1][0] + off[4 * i + 2], BOARD[i + 1][1] + off[4 * i + 3]),
        ]
        for i in order
    ]

    edge = trace(*sides)

    assert area(edge) == pytest.approx(5000, abs=300 * 0.02)
    assert edge.bridged == ()


def test_edge_drawn_twice_and_ends_that_overshoot() -> None:
    below, right = [(-0.3, 0.0), (100.3, 0.0)], [(100.0, -0.3), (100.0, 50.3)]
    left = [(0.0, -1.0), (0.0, 50.0)]

    assert area(trace(below, right, left, BOARD[2:4], BOARD)) == pytest.approx(5000)


def test_cut_outs_are_closed_lines_without_copper() -> None:
    edge = trace(BOARD, circle(30, 30, 5), box(60, 20, 70, 30))

    assert area(edge) == pytest.approx(5000 - math.pi * 25 - 100, rel=2e-3)


def test_closed_line_that_holds_copper_is_no_cut_out_and_is_told() -> None:
    edge = trace(BOARD, box(5, 5, 15, 15))

    assert area(edge) == pytest.approx(5000)
    assert edge.doubt.startswith("1 closed line round copper inside the edge, at 10.000, 10.000")


def test_circle_that_shows_a_drilled_hole_is_no_cut_out() -> None:
    edge = trace(BOARD, circle(30, 30, 1.6), drilled=np.array([[30.0, 30.0, 3.2]]))

    assert area(edge) == pytest.approx(5000)
    assert edge.remarks == ()


def test_frame_round_the_edge_is_left_aside_and_told() -> None:
    edge = trace(BOARD, box(-20, -20, 140, 80), box(200, 0, 210, 10))

    assert area(edge) == pytest.approx(5000)
    assert "a frame of 160.0 x 100.0 mm" in edge.remarks[0]


def test_loops_in_a_drawing_are_no_cut_outs() -> None:
    edge = trace(BOARD, box(-20, -20, 140, 80), circle(30, 30, 2))

    assert area(edge) == pytest.approx(5000)
    assert edge.doubt.startswith("1 closed line in a drawing inside the edge")


def test_double_line_is_one_edge() -> None:
    assert area(trace(BOARD, box(0.5, 0.5, 99.5, 49.5))) == pytest.approx(5000)


def test_panel_of_boards_side_by_side() -> None:
    edge = trace(box(0, 0, 20, 20), box(80, 0, 100, 20), box(40, 30, 60, 50))

    assert edge.area is not None
    assert len(edge.area.geoms) == 3
    assert edge.share == 1.0


# A trace from 20, 25 to 80, 25 and a pad beside it, and the middles of both.
CROSSED = np.array([shapely.box(20, 24, 80, 26), shapely.box(4, 4, 6, 6)])
MIDDLES = np.array([(50.0, 25.0), (5.0, 5.0)])


@pytest.mark.parametrize(
    ("cutout", "left"),
    [(box(45, 20, 55, 30), 4900), (box(60, 20, 70, 30), 4900), (box(15, 20, 85, 30), 5000)],
    ids=["through its middle", "beside its middle", "round all of it"],
)
def test_a_closed_line_through_copper_is_a_cutout_and_one_round_it_is_none(
    cutout: list[tuple[float, float]], left: float
) -> None:
    edge = trace_edge(lines(BOARD, cutout), MIDDLES, NO_HOLES, CROSSED)

    assert area(edge) == pytest.approx(left)
    assert bool(edge.doubt) == (left == 5000)


def test_the_edge_is_no_cutout_through_the_middle_of_the_only_copper() -> None:
    edge = trace_edge(lines(BOARD, box(45, 20, 55, 30)), MIDDLES[:1], NO_HOLES, CROSSED[:1])

    assert area(edge) == pytest.approx(4900)


def test_copper_cut_in_its_middle_lies_inside_the_edge() -> None:
    profile = candidate("p", BOARD, box(45, 20, 55, 30))

    chosen = choose_edge([profile], MIDDLES, NO_HOLES, CROSSED)

    assert (chosen.notes, chosen.unchecked) == ((), ())


def test_line_across_a_board_divides_nothing() -> None:
    assert area(trace(BOARD, [(50, 0), (50, 50)])) == pytest.approx(5000)


@pytest.mark.parametrize("opening", [0.1, 0.4])
def test_small_opening_is_bridged_and_reported_with_place_and_size(opening: float) -> None:
    edge = trace([(0, opening), (0, 50), (100, 50), (100, 0), (0, 0)])

    assert area(edge) == pytest.approx(5000)
    ((x, y, size),) = edge.bridged
    assert size == pytest.approx(opening)
    assert (x, y) == pytest.approx((0, opening / 2))


def test_wide_opening_is_no_edge_and_is_reported_with_place_and_size() -> None:
    edge = trace([(0, 3.0), (0, 50), (100, 50), (100, 0), (0, 0)])

    assert edge.area is None
    assert edge.openings[0].size == pytest.approx(3.0)


def test_limits_are_in_order() -> None:
    assert SNAP < BRIDGE


def test_nothing_drawn_is_no_edge() -> None:
    assert trace().area is None
    assert trace([(1.0, 1.0), (1.0, 1.0)]).area is None


@given(st.floats(-500, 500), st.floats(-500, 500), st.sampled_from([0, 90, 180, 270, 37]))
def test_moved_and_turned_edge_encloses_the_same(dx: float, dy: float, turn: float) -> None:
    def moved(shapes: Shapes) -> Shapes:
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        turned = np.array([[c, s], [-s, c]])
        found: Shapes = shapely.transform(shapes, lambda p: p @ turned + (dx, dy))
        return found

    centres = shapely.get_coordinates(moved(shapely.points(CENTRES)))
    edge = trace_edge(moved(lines(BOARD, box(60, 20, 70, 30))), centres, NO_HOLES)

    assert area(edge) == pytest.approx(4900, abs=0.5)


def candidate(name: str, *chains: list[tuple[float, float]], how: str = HOW_PROFILE) -> Candidate:
    return Candidate(name, (lines(*chains),), how)


def test_profile_comes_before_routed_paths() -> None:
    routed = candidate("d", box(-1, -1, 101, 51), how=HOW_ROUTED)

    chosen = choose_edge([candidate("p", BOARD), routed], CENTRES, NO_HOLES)

    assert chosen.source == "p"


def test_routed_edge_is_taken_and_told_where_the_profile_is_open() -> None:
    chosen = choose_edge(
        [candidate("p", BOARD[:3]), candidate("d", BOARD, how=HOW_ROUTED)], CENTRES, NO_HOLES
    )

    assert chosen.source == "d"
    texts = [note.text for note in chosen.notes]
    assert any("not closed round the copper" in text for text in texts)
    assert any("taken as the board's edge" in text for text in texts)


def test_second_profile_is_compared() -> None:
    chosen = choose_edge(
        [candidate("p", BOARD), candidate("q", box(0, 0, 100, 50.5))], CENTRES, NO_HOLES
    )

    assert chosen.source == "p"
    assert "up to 0.50 mm from that of p" in chosen.notes[0].text


def test_edge_elsewhere_is_not_checked_and_says_why() -> None:
    chosen = choose_edge([candidate("p", box(500, 0, 600, 50))], CENTRES, NO_HOLES)

    assert chosen.outline is None
    assert chosen.unchecked[0].what == "board edge of p"
    assert "no closed line round the copper" in chosen.unchecked[0].why


def test_no_candidate_is_not_checked() -> None:
    chosen = choose_edge([], CENTRES, NO_HOLES)

    assert chosen.unchecked[0].why == "no file gives the edge"


def outline() -> Outline:
    found = choose_edge([candidate("p", BOARD, box(60, 20, 70, 30))], CENTRES, NO_HOLES).outline
    assert found is not None
    return found


def test_routed_cut_out_is_taken_from_the_area_once() -> None:
    paths = [shapely.LineString(box(20, 20, 30, 30)), shapely.LineString(box(60, 20, 70, 30))]

    cut, notes = cut_out(outline(), [("d", path) for path in paths])

    assert cut.area.area == pytest.approx(5000 - 200)
    assert len(notes) == 1


def test_routed_edge_beside_the_profile_is_compared() -> None:
    cut, notes = cut_out(outline(), [("d", shapely.LineString(box(-0.4, 0, 100, 50)))])

    assert cut.area.area == pytest.approx(4900)
    assert "up to 0.40 mm from that of p" in notes[0].text


def hatch(n: int) -> list[list[tuple[float, float]]]:
    """n lines across and n lines up that all cross, inside the board."""
    at = np.linspace(5, 45, n).tolist()
    return [[(5, y), (45, y)] for y in at] + [[(x, 5), (x, 45)] for x in at]


def test_edge_round_a_hatch_is_found() -> None:
    assert trace(BOARD, *hatch(40)).area is not None


@pytest.mark.parametrize(
    ("chains", "why"),
    [
        (hatch(300), "its lines cross more than 4000 times"),
        (
            [box(50 - i / 50, 25 - i / 50, 50 + i / 50, 25 + i / 50) for i in range(1, 2100)],
            "its lines run round each other without bound",
        ),
    ],
    ids=["hatch", "nested"],
)
def test_lines_without_bound_are_no_edge_and_say_so(
    chains: list[list[tuple[float, float]]], why: str
) -> None:
    chosen = choose_edge([candidate("p", *chains)], CENTRES, NO_HOLES)

    assert chosen.outline is None
    assert [unchecked.why for unchecked in chosen.unchecked] == [why]


def test_edge_with_an_opening_beside_a_heap_of_loose_ends_is_found() -> None:
    """Of ends that are all in reach of each other each is joined to a few, not to all."""
    turn = np.linspace(0, 2 * np.pi, 100, endpoint=False)
    rays = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    ends = [([50, 25] + reach * rays).tolist() for reach in (0.2, 0.9)]
    heap = [[tuple(near), tuple(far)] for near, far in zip(*ends, strict=True)]

    edge = trace([*BOARD[:4], (0.0, BRIDGE / 2)], *heap)

    assert area(edge) == pytest.approx(5000, abs=np.pi * 0.9**2)
    assert any(opening.size == pytest.approx(BRIDGE / 2) for opening in edge.bridged)
