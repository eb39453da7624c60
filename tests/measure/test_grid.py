"""Leads on a grid of holes, against searches that try every place."""

from __future__ import annotations

import heapq
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Hole
from checker.measure.whole.grid import (
    ERROR,
    PITCH,
    REACH,
    best_phase,
    clear_way,
    grid_of,
    leads_of,
    wires_of,
    wrapped,
)
from tests.gridded import Lead, standing
from tests.holed import hit, slot

FEW = settings(max_examples=20, deadline=None)
place = st.tuples(
    st.floats(0, 20, allow_nan=False, width=32), st.floats(0, 20, allow_nan=False, width=32)
)
cell = st.tuples(st.integers(0, 5), st.integers(0, 5))


def reached(at: Any, phases: Any, reach: float) -> Any:
    """How many points lie within reach of a hole, for each phase of the grid."""
    left = np.mod(at[:, None] - phases, PITCH)
    left = np.minimum(left, PITCH - left)
    return (np.hypot(left[..., 0], left[..., 1]) <= reach).sum(axis=0)


def rows(*spots: tuple[float, float], part: str = "J", net: str | None = None) -> list[Lead]:
    """Leads of parts of their own."""
    return [(f"{part}{number}.1", net, x, y) for number, (x, y) in enumerate(spots, 1)]


@FEW
@given(st.lists(place, min_size=1, max_size=12))
def test_no_place_of_the_grid_reaches_more_leads(spots: list[tuple[float, float]]) -> None:
    at, steps = np.array(spots), np.linspace(0, PITCH, 60, endpoint=False)
    phase = best_phase(at, PITCH, REACH, np.arange(len(at)))

    tries = np.vstack([list(product(steps, steps)), at])
    found = reached(at, phase[None], REACH + ERROR)[0]
    assert found >= reached(at, tries, REACH - ERROR).max()


@FEW
@given(st.lists(place, min_size=1, max_size=9, unique=True))
def test_offsets_lead_from_the_nearest_hole(spots: list[tuple[float, float]]) -> None:
    grid = grid_of(standing(rows(*spots)).board)

    at, steps = grid.leads.at, np.arange(-3, 14) * PITCH
    holes = np.array(list(product(steps + grid.phase[0], steps + grid.phase[1])))
    away = np.linalg.norm(at[:, None] - holes, axis=2).min(axis=1)
    assert grid.distance == pytest.approx(away, abs=1e-9)
    assert grid.off.tolist() == (away > REACH + ERROR).tolist()


def test_most_leads_decide_and_the_odd_one_is_told_by_its_distance() -> None:
    spots = [(3.0 + PITCH * k, 7.0 + PITCH * (k % 3)) for k in range(8)]

    grid = grid_of(standing(rows(*spots, (3.0 + 0.7, 7.0 + 9 * PITCH - 0.5))).board)

    assert np.flatnonzero(grid.off).tolist() == [8]
    assert grid.offset[8] == pytest.approx([0.7, -0.5], abs=ERROR)
    assert grid.shift[8] == pytest.approx([-0.7, 0.5], abs=ERROR)
    assert grid.distance[:8] == pytest.approx(0, abs=ERROR)


@FEW
@given(st.lists(place, min_size=2, max_size=6))
def test_no_move_of_a_part_brings_its_leads_nearer(spots: list[tuple[float, float]]) -> None:
    leads = [(f"U1.{n}", None, x, y) for n, (x, y) in enumerate(spots, 1)]

    fit = float(grid_of(standing(leads).board).fit[0])

    at, step = np.array(spots), PITCH / 50
    moves = np.array(list(product(np.arange(50) * step, repeat=2)))
    far = np.hypot(*wrapped(at[:, None] + moves, PITCH).transpose(2, 0, 1)).max(axis=0).min()
    assert far >= fit - ERROR or fit > PITCH / 4
    assert far <= fit + step


def test_a_part_moves_as_a_whole_and_its_leads_go_into_the_holes_there() -> None:
    header = [("J1.1", None, 10.0, 10.0), ("J1.2", None, 10.0 + PITCH, 10.0)]
    many = rows(*((1.0 + PITCH * k, 1.0) for k in range(4)), part="R")

    grid = grid_of(standing([*many, *header]).board)

    part = grid.leads.parts.index("J1")
    assert grid.fit[part] == pytest.approx(0, abs=ERROR)
    # 10 - 1 is 3.54 pitches on both axes: the nearest hole is 4 away.
    assert grid.shift[part] == pytest.approx([4 * PITCH - 9.0] * 2, abs=ERROR)
    assert np.diff(grid.cell[4:], axis=0).tolist() == [[1, 0]]


@pytest.mark.parametrize(
    ("turn", "moved"), [((1, 0, 0, 1), 17.3), ((0, -1, 1, 0), 0.0), ((-1, 0, 0, 1), -4.1)]
)
def test_the_same_leads_are_off_wherever_the_board_lies(
    turn: tuple[int, int, int, int], moved: float
) -> None:
    # Two crowds of equal size: the names decide which of them the grid goes through.
    spots = [(PITCH * k, 0.0) for k in range(4)] + [(PITCH * k + 1.1, 9.0) for k in range(4)]
    a, b, c, d = turn
    other = [(a * x + b * y + moved, c * x + d * y + moved) for x, y in spots]

    one, two = (grid_of(standing(rows(*where)).board) for where in (spots, other))

    assert one.off.tolist() == two.off.tolist() == [False] * 4 + [True] * 4
    assert two.distance == pytest.approx(one.distance, abs=2 * ERROR)


def kruskal(nets: list[int], cells: list[tuple[int, int]]) -> tuple[int, int]:
    """Edges of a spanning forest per net, those between neighbours first."""
    root = list(range(len(nets)))

    def find(one: int) -> int:
        return one if root[one] == one else find(root[one])

    def apart(pair: tuple[int, int]) -> int:
        (x0, y0), (x1, y1) = cells[pair[0]], cells[pair[1]]
        return abs(x0 - x1) + abs(y0 - y1)

    counts = [0, 0]
    pairs = (pair for pair in combinations(range(len(nets)), 2) if nets[pair[0]] == nets[pair[1]])
    for a, b in sorted(pairs, key=apart):
        if find(a) != find(b):
            root[find(a)] = find(b)
            counts[apart((a, b)) > 1] += 1
    return counts[0], counts[1]


@FEW
@given(st.lists(st.tuples(cell, st.integers(0, 2)), max_size=14, unique_by=lambda one: one[0]))
def test_bridges_and_wires_are_a_least_spanning_tree(
    leads: list[tuple[tuple[int, int], int]],
) -> None:
    named = [
        (f"J{n}.1", f"N{net}", 1 + PITCH * x, 1 + PITCH * y)
        for n, ((x, y), net) in enumerate(leads, 1)
    ]

    joins = wires_of(standing(named).board)

    bridges, wires = kruskal([net for _, net in leads], [spot for spot, _ in leads])
    assert (joins.bridges.sum(), joins.wires.sum()) == (bridges, wires)
    assert (joins.bridges + joins.wires == joins.leads - 1).all()


def test_leads_are_what_takes_a_part_and_no_screw() -> None:
    more = (
        hit(20, 20, 0.4, "ViaDrill"),
        hit(30, 20, 3.2, "MechanicalDrill"),
        hit(40, 20, 2.5, "ComponentDrill"),
        hit(50, 20, 0.9, "ComponentDrill"),
        slot((60, 20), (61.5, 20), 0.8, "ComponentDrill"),
    )

    leads = leads_of(standing([("J1.1", "GND", 10, 20)], more=more).board)

    assert leads.at[:, 0].tolist() == [10, 50, 60.75]
    assert leads.size == pytest.approx([0.9, 0.9, 2.3])
    assert leads.pin == ("J1.1", "", "")
    assert leads.part.tolist() == [0, -1, -1]
    assert (leads.net >= 0).tolist() == [True, False, False]


@pytest.mark.parametrize(("size", "count"), [(0.55, 0), (0.6, 1), (2.4, 1), (2.5, 0)])
def test_a_hole_in_copper_that_nobody_explains_is_a_lead_by_its_size(
    size: float, count: int
) -> None:
    board = standing([("", None, 10, 10)], pad=4.0).board
    hole = Hole(((10.0, 10.0),), size, None, None, "holes.drl", 1)

    leads = leads_of(replace(board, holes=(hole,)))

    assert len(leads) == count


def cheapest(steps: tuple[int, int], pad: float) -> float:
    """Dijkstra over all holes nearby, from any pad to any other by the straight way between."""
    spots = [(x, y) for x in range(-1, 7) for y in range(-1, 7)]
    best, heap = {(0, 0): 0.0}, [(0.0, (0, 0))]
    while heap:
        cost, here = heapq.heappop(heap)
        if cost > best[here]:
            continue
        for there in spots:
            way = max(0.0, PITCH * float(np.hypot(there[0] - here[0], there[1] - here[1])) - pad)
            if there != here and cost + way < best.get(there, np.inf) - 1e-12:
                best[there] = cost + way
                heapq.heappush(heap, (cost + way, there))
    return best[steps]


@pytest.mark.parametrize("pad", [1.4, 1.8, 2.0])
@pytest.mark.parametrize("steps", [(1, 0), (1, 1), (2, 1), (3, 3), (0, 4), (5, 2)])
def test_the_way_over_laminate_is_the_cheapest_from_pad_to_pad(
    steps: tuple[int, int], pad: float
) -> None:
    assert clear_way(np.array([steps]), PITCH, pad)[0] == pytest.approx(cheapest(steps, pad))


def test_a_crowd_of_different_places_is_still_answered() -> None:
    at = np.random.default_rng(5).random((6000, 2)) * 300

    phase = best_phase(at, PITCH, REACH, np.arange(len(at)))

    apart = wrapped(at - phase, PITCH)
    share = float((np.hypot(apart[:, 0], apart[:, 1]) <= REACH).mean())
    assert share == pytest.approx(np.pi * REACH**2 / PITCH**2, abs=0.02)  # evenly spread


def test_a_reach_of_more_than_a_quarter_of_the_pitch_is_refused() -> None:
    with pytest.raises(ValueError, match="more than a quarter"):
        best_phase(np.zeros((1, 2)), 1.0, 0.3, np.zeros(1, np.int64))


def test_no_leads_are_no_trouble() -> None:
    board = standing([], more=[hit(5, 5, 3.2, "MechanicalDrill")]).board

    assert len(grid_of(board).off) == 0
    assert len(wires_of(board).net) == 0
