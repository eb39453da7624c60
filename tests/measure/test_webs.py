"""Laminate between holes against all pairs by GEOS, and what a cluster of hits is."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Hole
from checker.measure.holes.webs import ERROR, REACH, Cluster, clusters_of, webs_of, widest_apart
from checker.read import read_board
from tests.examples import quick
from tests.holed import hit, holed, slot

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
ROUNDED = 1e-9  # mm, of the oracle's arithmetic

coordinate = st.integers(-500, 500).map(lambda k: k / 100)
point = st.tuples(coordinate, coordinate)
# Sizes apart by more than what counts as the same: those that are alike have a test of their own.
size = st.sampled_from([0.2, 0.3, 0.6, 1.0, 3.2])


@st.composite
def hole(draw: st.DrawFn) -> Hole:
    path = draw(st.lists(point, min_size=1, max_size=4, unique=True))
    return Hole(tuple(path), draw(size), None, None, "", 1)


def line_of(one: Hole) -> shapely.Geometry:
    return shapely.LineString(one.path) if one.is_slot else shapely.Point(one.path[0])


def between(one: Hole, other: Hole) -> float:
    """By GEOS: the distance of the centre lines less both radii."""
    apart = float(shapely.distance(line_of(one), line_of(other)))
    return apart - (one.diameter + other.diameter) / 2


def all_pairs(holes: tuple[Hole, ...]) -> dict[tuple[int, int], float]:
    lines, radius = [line_of(one) for one in holes], np.array([h.diameter / 2 for h in holes])
    found: dict[tuple[int, int], float] = {}
    for i, line in enumerate(lines):
        apart = shapely.distance(line, lines[i + 1 :]) - radius[i] - radius[i + 1 :]
        found |= {(i, i + 1 + j): float(apart[j]) for j in np.flatnonzero(apart <= REACH).tolist()}
    return found


def told(holes: tuple[Hole, ...]) -> dict[tuple[int, int], float]:
    webs = webs_of(holed(*holes).board)
    pairs = [(a, b) for a, b in webs.holes.tolist()]
    return dict(zip(pairs, webs.between.tolist(), strict=True))


def assert_same(found: dict[tuple[int, int], float], wanted: dict[tuple[int, int], float]) -> None:
    for pair in found.keys() ^ wanted.keys():
        assert abs(found.get(pair, wanted.get(pair, 0.0)) - REACH) <= ERROR, pair
    for pair in found.keys() & wanted.keys():
        assert found[pair] == pytest.approx(wanted[pair], abs=ERROR), pair


@given(st.lists(hole(), max_size=12, unique_by=lambda one: (frozenset(one.path), one.diameter)))
@settings(deadline=None)
def test_webs_are_those_of_all_pairs(holes: list[Hole]) -> None:
    assert_same(told(tuple(holes)), all_pairs(tuple(holes)))


@given(hole(), hole())
@settings(deadline=None)
def test_place_of_a_web_is_as_far_from_one_edge_as_from_the_other(one: Hole, other: Hole) -> None:
    webs = webs_of(holed(one, other).board)

    for width, middle in zip(webs.between.tolist(), webs.at.tolist(), strict=True):
        if width < 0 or (one.is_slot and other.is_slot):  # side by side: a middle of many places
            continue
        for side in (one, other):
            edge = shapely.distance(shapely.Point(middle), line_of(side)) - side.diameter / 2
            assert edge == pytest.approx(width / 2, abs=1e-5)


@pytest.mark.parametrize(
    "name",
    quick(["orangecrab-r0.2.1", "librepcb-test", "microspora"], ["librepcb-test", "microspora"]),
)
@pytest.mark.skipif(not BOARDS.is_dir(), reason="the open boards are not beside the checkout")
def test_webs_of_open_boards_are_those_of_all_pairs(name: str) -> None:
    board = read_board([BOARDS / name])
    webs = webs_of(board)

    found = dict(zip(map(tuple, webs.holes.tolist()), webs.between.tolist(), strict=True))
    assert len(found) > 30
    assert_same(found, all_pairs(board.holes))


def test_slots_side_by_side_are_nearest_in_the_middle() -> None:
    board = holed(slot((0, 0), (4, 0), 1.0), slot((1, 1.5), (3, 1.5), 1.0)).board

    webs = webs_of(board)

    assert webs.between.tolist() == pytest.approx([0.5])
    assert webs.at.tolist() == [pytest.approx([2.0, 0.75])]


def test_slots_that_cross_overlap_by_both_widths() -> None:
    webs = webs_of(holed(slot((0, 0), (4, 0), 1.0), slot((2, -3), (2, 3), 0.6)).board)

    assert webs.between.tolist() == pytest.approx([-0.8])
    assert webs.at.tolist() == [pytest.approx([2.0, 0.0])]


@pytest.mark.parametrize(
    ("other", "same", "inside"),
    [
        (hit(1, 1, 0.9), True, True),
        (hit(1.01, 1, 0.9), True, True),
        (hit(1, 1, 0.91), True, True),
        (hit(1.03, 1, 0.9), False, False),
        (hit(1, 1, 0.4), False, True),
        (hit(1.2, 1, 0.4), False, True),
        (hit(1.3, 1, 0.4), False, False),
    ],
    ids=["same", "rounded", "size rounded", "moved", "pilot", "within", "through the edge"],
)
def test_a_repeated_hole_is_told_from_an_overlap(other: Hole, same: bool, inside: bool) -> None:
    webs = webs_of(holed(hit(1, 1, 0.9), other).board)

    assert (webs.same.tolist(), webs.inside.tolist()) == ([same], [inside])


def test_a_slot_drawn_from_its_other_end_is_the_same_slot() -> None:
    webs = webs_of(holed(slot((0, 0), (3, 0), 1.0), slot((3, 0), (0, 0), 1.0)).board)

    assert webs.same.tolist() == [True]


def test_many_hits_at_one_place_are_told_once_each() -> None:
    webs = webs_of(holed(*[hit(5, 5, 1.0)] * 500, hit(9.1, 5, 1.0)).board)

    assert webs.holes[webs.same].tolist() == [[0, k] for k in range(1, 500)]
    assert len(webs) == 499  # the lone hole is 3.1 mm off, edge to edge, beyond reach


def test_a_heap_of_hits_shortens_the_reach_and_then_gives_up() -> None:
    def grid(pitch: float, n: int) -> tuple[Hole, ...]:
        return tuple(hit(pitch * (k % n), pitch * (k // n), 0.3) for k in range(n * n))

    dense, heaped = webs_of(holed(*grid(0.31, 60)).board), webs_of(holed(*grid(0.001, 30)).board)

    assert 0 < dense.reach < REACH
    assert dense.between.max() <= dense.reach + ERROR
    assert (heaped.reach, len(heaped)) == (-1.0, 0)


def test_a_path_of_very_many_strokes_is_given_up() -> None:
    path = tuple((k / 1000, (k % 2) / 1000) for k in range(100_002))

    assert webs_of(holed(Hole(path, 1.0, None, None, "", 1)).board).reach == -1.0


def test_board_without_holes_has_no_webs() -> None:
    assert len(webs_of(holed().board)) == 0
    assert clusters_of(holed().board) == ()


def cluster(*holes: Hole) -> Cluster:
    (found,) = clusters_of(holed(*holes).board)
    return found


@given(st.integers(0, 359), st.permutations(range(5)))
@settings(deadline=None)
def test_a_row_of_hits_is_a_straight_cluster_whichever_way_it_runs(
    angle: int, order: list[int]
) -> None:
    x, y = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    row = cluster(*(hit(0.5 * k * x, 0.5 * k * y, 1.0) for k in order))

    assert (row.straight, row.repeats) == (True, False)
    assert row.length == pytest.approx(3.0)
    assert row.deepest == pytest.approx(-0.5)
    assert row.at == pytest.approx((x, y))
    assert [order[k] for k in row.holes] in ([0, 1, 2, 3, 4], [4, 3, 2, 1, 0])


def test_a_corner_of_hits_is_not_straight() -> None:
    assert not cluster(hit(0, 0, 1.0), hit(0.8, 0, 1.0), hit(0.8, 0.8, 1.0)).straight
    assert not cluster(hit(0, 0, 1.0), hit(0.8, 0, 0.8)).straight


@pytest.mark.parametrize("order", [1, -1])
def test_hits_within_each_other_are_repeats(order: int) -> None:
    holes = [hit(0, 0, 0.4), hit(0, 0, 0.9), hit(0.01, 0, 0.9), hit(0.1, 0, 0.4)]

    assert cluster(*holes[::order]).repeats
    assert not cluster(*[*holes, hit(0.8, 0, 0.9)][::order]).repeats


def test_hits_on_a_slot_are_no_cluster_but_a_slot_named_twice_is() -> None:
    long = slot((0, 0), (4, 0), 1.0)

    assert clusters_of(holed(long, hit(0, 0, 1.0), hit(4.3, 0, 1.0)).board) == ()
    assert cluster(long, replace(long, line=2)).repeats


@given(st.lists(point, max_size=30))
def test_widest_apart_is_that_of_all_pairs(points: list[tuple[float, float]]) -> None:
    wanted = max((math.dist(a, b) for a in points for b in points), default=0.0)

    assert widest_apart(np.reshape(points, (-1, 2)).astype(float)) == pytest.approx(wanted)
