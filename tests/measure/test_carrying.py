"""Narrow links of a net, against copper worn down by half the width from every edge."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.measure.copper.carrying import links_of
from tests.rated import Net, rated

quick = settings(deadline=None, max_examples=20, derandomize=True)
PAD = 4.0
WIDTHS = [0.3, 0.6, 1.0, 1.6, 2.4]


@st.composite
def trees(draw: st.DrawFn) -> tuple[Net, list[tuple[int, int, float]]]:
    """A net without loops: pads 14 mm apart, each but the first with a track to an earlier one."""
    count = draw(st.integers(2, 6))
    at = [(14.0 * k, 30.0 * (k % 2) + draw(st.floats(0, 6))) for k in range(count)]
    edges = [
        (draw(st.integers(max(0, k - 1), k - 1)), k, draw(st.sampled_from(WIDTHS)))
        for k in range(1, count)
    ]
    tracks = [(width, [at[a], at[b]]) for a, b, width in edges]
    return Net("A", [(x, y, PAD) for x, y in at], tracks), edges


@quick
@given(trees(), st.sampled_from([0.45, 0.8, 1.3, 2.0, 3.0]))
def test_each_track_narrower_than_asked_is_one_link(
    tree: tuple[Net, list[tuple[int, int, float]]], asked: float
) -> None:
    net, edges = tree

    (found,) = links_of(rated([net]).board, ((0, asked),))

    assert sorted(found.width.tolist()) == pytest.approx(
        sorted(width for *_, width in edges if width < asked), abs=0.004
    )
    assert found.ways.tolist() == [1] * len(found)


@quick
@given(trees(), st.sampled_from([0.45, 0.8, 1.3, 2.0, 3.0]))
def test_links_are_left_where_worn_copper_falls_apart(
    tree: tuple[Net, list[tuple[int, int, float]]], asked: float
) -> None:
    net, _ = tree
    (layer,) = rated([net]).board.copper
    worn = shapely.get_parts(shapely.buffer(layer.islands, -asked / 2))

    (found,) = links_of(rated([net]).board, ((0, asked),))

    pads = [shapely.Point(x, y) for x, y, _ in net.pads]
    held = [sum(piece.distance(pad) < 0.01 for pad in pads) for piece in worn.tolist()]
    assert (len(found) == 0) == (max(held) == len(pads))
    assert found.split == (max(held) < 2)


def spokes(count: int, width: float) -> Net:
    """A pad in the middle of a wide ring, held by spokes."""
    ends = [
        (10 * cos(2 * pi * k / count + 0.3), 10 * sin(2 * pi * k / count + 0.3))
        for k in range(count)
    ]
    ring = [(10 * cos(pi * k / 32), 10 * sin(pi * k / 32)) for k in range(65)]
    pads = [(0.0, 0.0, 3.0), (10.0, 0.0, 4.0)]
    return Net("A", pads, [(3.0, ring), *((width, [(0, 0), end]) for end in ends)])


@pytest.mark.parametrize("side", [1, -1])
def test_of_ways_side_by_side_the_widest_is_shown(side: int) -> None:
    # From pad to pad a track of 0.6 mm on one side and one of 1 mm on the other.
    ways = [
        (width, [(0.0, 0.0), (6.0, y), (14.0, y), (20.0, 0.0)])
        for width, y in ((0.6, 6.0 * side), (1.0, -6.0 * side))
    ]
    net = Net("A", [(0.0, 0.0, PAD), (20.0, 0.0, PAD)], ways)

    (found,) = links_of(rated([net]).board, ((0, 2.0),))

    assert found.width.tolist() == pytest.approx([1.6], abs=0.008)
    assert found.ways.tolist() == [2]
    assert (found.at[:, 1] * side < 0).all()


@pytest.mark.parametrize(("count", "asked", "left"), [(4, 1.9, 0), (4, 2.1, 1), (3, 1.6, 1)])
def test_spokes_side_by_side_count_together(count: int, asked: float, left: int) -> None:
    (found,) = links_of(rated([spokes(count, 0.5)]).board, ((0, asked),))

    assert len(found) == left
    assert found.width.tolist() == [pytest.approx(0.5 * count, abs=0.01)] * left
    assert found.ways.tolist() == [count] * left


def test_a_blind_end_carries_nothing() -> None:
    stub = Net("A", [(0, 0, 4), (20, 0, 4)], [(2.5, [(0, 0), (20, 0)]), (0.4, [(10, 0), (10, 8)])])

    assert len(links_of(rated([stub]).board, ((0, 2.0),))[0]) == 0


def test_a_wide_place_without_a_pad_is_passed_through() -> None:
    blob = Net(
        "A",
        [(0, 0, 4), (40, 0, 4)],
        [(0.5, [(0, 0), (40, 0)]), (5.0, [(20, 0), (20.01, 0)])],
    )

    (found,) = links_of(rated([blob]).board, ((0, 2.0),))

    assert found.width.tolist() == pytest.approx([0.5, 0.5], abs=0.004)
    assert sorted(found.at[:, 0].tolist()) == pytest.approx([9.6, 30.4], abs=0.5)
    assert found.split


@pytest.mark.parametrize(("holes", "left"), [([(0, 0, 1), (20, 0, 1)], 0), ([], 1)])
def test_the_other_side_carries_what_holes_lead_there(
    holes: list[tuple[float, float, float]], left: int
) -> None:
    pads = [(0, 0, 4), (20, 0, 4)]
    thin, wide = (
        Net("A", pads, [(0.5, [(0, 0), (20, 0)])]),
        Net("A", pads, [(3, [(0, 0), (20, 0)])]),
    )

    (found,) = links_of(rated([thin], bottom=[wide], holes=holes).board, ((0, 2.0),))

    assert len(found) == left


def test_the_length_is_that_of_the_narrow_copper() -> None:
    net = Net("A", [(0, 0, 4), (30, 0, 4)], [(0.5, [(0, 0), (30, 0)])])

    (found,) = links_of(rated([net]).board, ((0, 2.0),))

    # Between two circles of radius 2 at 30 mm, a track half 0.25 wide: 30 - 2 sqrt(4 - 0.0625).
    assert found.length.tolist() == [pytest.approx(30 - 2 * (4 - 0.25**2) ** 0.5, abs=0.1)]
