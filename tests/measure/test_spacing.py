"""Distances of nets, far beyond the gaps, against distances of whole shapes."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.measure.copper.spacing import ERROR, borders_of, nearest_between, nearest_of
from checker.measure.leftover.pieces import leftover
from tests.rated import Net, mains, rated

quick = settings(deadline=None, max_examples=15, derandomize=True)
spots = st.tuples(st.integers(0, 40), st.integers(0, 40))


@st.composite
def nets(draw: st.DrawFn) -> list[Net]:
    """Nets of pads and one track each, on squares of their own of a 12 mm grid."""
    cells = draw(st.lists(spots, min_size=2, max_size=7, unique=True))
    made = []
    for number, (column, row) in enumerate(cells):
        ends = [
            (12.0 * column % 96 + draw(st.floats(0, 9)), 12.0 * row % 96 + draw(st.floats(0, 9)))
            for _ in range(2)
        ]
        width = draw(st.sampled_from([0.4, 1.0, 2.0]))
        made.append(Net(f"N{number}", [(*ends[0], 2.0)], [(width, ends)]))
    return made


def distances(made: list[Net]) -> dict[tuple[int, int], float]:
    """By whole shapes: what the geometry library says of each two nets."""
    (layer,) = rated(made).board.copper
    shapes = [shapely.union_all(layer.islands[layer.net == number]) for number in range(len(made))]
    return {(a, b): shapes[a].distance(shapes[b]) for a, b in combinations(range(len(made)), 2)}


def apart(made: list[Net]) -> bool:
    return min(distances(made).values()) > 0.05


@quick
@given(nets().filter(apart), st.floats(0.5, 60), st.sets(st.integers(0, 6), min_size=1))
def test_every_pair_within_reach_is_found_at_its_distance(
    made: list[Net], reach: float, chosen: set[int]
) -> None:
    wanted = frozenset(chosen & set(range(len(made)))) or frozenset({0})
    expected = {
        pair: far
        for pair, far in distances(made).items()
        if set(pair) & wanted and abs(far - reach) > ERROR
    }

    (found,) = nearest_of(rated(made).board, wanted, reach)

    seen = {tuple(sorted(pair)): far for pair, far in
            zip(found.nets.tolist(), found.distance.tolist(), strict=True)}  # fmt: skip
    assert len(seen) == len(found)
    for pair, far in expected.items():
        if far < reach:
            assert seen[pair] == pytest.approx(far, abs=ERROR)
        else:
            assert pair not in seen


@quick
@given(nets().filter(apart))
def test_the_place_is_one_of_that_distance_on_both_nets(made: list[Net]) -> None:
    (layer,) = (board := rated(made).board).copper

    found = nearest_between(board, 0, frozenset({0}), frozenset(range(1, len(made))))

    assert len(found) == len(made) - 1
    assert np.hypot(*(found.a - found.b).T) == pytest.approx(found.distance, abs=0.004)
    for points, islands in ((found.a, found.islands[:, 0]), (found.b, found.islands[:, 1])):
        off = shapely.distance(shapely.points(points), layer.islands[islands])
        assert off == pytest.approx(0, abs=1e-6)


def test_of_two_parallel_tracks_the_middle_is_told() -> None:
    board = rated(
        [Net("A", tracks=[(1.0, [(0, 0), (20, 0)])]), Net("B", tracks=[(1.0, [(4, 5), (12, 5)])])]
    ).board

    (found,) = nearest_of(board, frozenset({0}), 10.0)

    assert found.a.tolist() == [pytest.approx([8.0, 0.5])]
    assert found.b.tolist() == [pytest.approx([8.0, 4.5])]
    assert found.distance.tolist() == [pytest.approx(4.0)]


def test_the_object_that_stands_there_is_told() -> None:
    pads = [Net("A", [(0, 0, 2)], [(0.5, [(0, 0), (-9, 0)])]), Net("B", [(6, 0, 2)])]
    board = rated(pads).board

    (found,) = nearest_of(board, frozenset({0, 1}), 10.0)

    assert board.copper[0].objects.kind[found.objects].tolist() == [[0, 0]]


def test_inner_layers_are_left_alone() -> None:
    from msgspec.structs import replace

    board = rated([Net("A", [(0, 0, 2)]), Net("B", [(3, 0, 2)])]).board
    inner = replace(board, copper=(replace(board.copper[0], side="inner 1"),))

    assert nearest_of(inner, frozenset({0}), 5.0) == ()


def test_leftover_copper_joins_the_bands_of_nets_far_apart() -> None:
    row = [Net(name, [(x, 0, 2)]) for name, x in (("A", 0), ("B", 30), ("C", 60))]
    board = rated(row, size=(-5, -5, 65, 5)).board

    whole = borders_of(board, 0, 1.0, ())
    walled = borders_of(board, 0, 1.0, (("B", 6.0),))  # clears the board from edge to edge

    assert whole.tolist() == [[0, 0], [1, 0], [2, 0]]
    pieces = {int(net): {p for n, p in walled.tolist() if n == net} for net in (0, 1, 2)}
    assert len(leftover(board, 1.0, (("B", 6.0),)).area) == 2
    assert pieces[0].isdisjoint(pieces[2])
    assert pieces[1] == pieces[0] | pieces[2]


def test_bands_that_meet_leave_nothing_between() -> None:
    board = rated(
        [Net("A", [(0, 0, 2)]), Net("B", [(4, 0, 2)])],
        {"A": mains()},
        size=(-1.5, -1.5, 5.5, 1.5),
    ).board

    assert len(borders_of(board, 0, 3.0, ())) == 0
