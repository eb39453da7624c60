"""Leftover copper against closed forms and against distances on a raster."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from shapely.affinity import rotate

from checker.board import Hole
from checker.measure.leftover import pieces, tiles
from checker.measure.leftover.pieces import ERROR, beside, blank_of, leftover, middles_of
from checker.measure.leftover.slivers import LENGTH_ERROR, Slivers, slivers
from tests.blanks import CLEARS, NARROW, bars, board, scattered
from tests.edged import edged
from tests.examples import seeds
from tests.layouts import copper_layer

if TYPE_CHECKING:
    from checker.board import Board, Floats, Shapes


def drilled(x: float, y: float, diameter: float) -> Hole:
    return Hole(((x, y),), diameter, None, None, "holes.drl", 1)


def test_a_lone_square_leaves_the_board_less_the_grown_square() -> None:
    side = 2.0

    found = leftover(board(shapely.box(-1, -1, 1, 1)), CLEARS)

    # Steiner's formula: area of a convex shape grown by r is A + P r + pi r^2.
    grown = side * side + 4 * side * CLEARS + math.pi * CLEARS**2
    assert found.area.tolist() == pytest.approx([400.0 - grown], abs=ERROR * 4 * side)


@pytest.mark.parametrize("gap", [0.71, 0.75, 0.8, 0.9, 0.94])
@pytest.mark.parametrize("angle", [0, 30, 90])
def test_a_strip_between_bars_is_as_wide_and_long_as_geometry_says(gap: float, angle: int) -> None:
    long = 6.0
    made = board(*(rotate(bar, angle, origin=(0, 0)) for bar in bars(gap, long)))

    found = slivers(made, CLEARS, NARROW)

    # A disc of the limit's width that rolls into the neck touches both arcs round the bars' corners
    # at phi from the gap's normal: its middle is c + m/2 from the corners and g/2 from the axis.
    phi = math.acos(gap / 2 / (CLEARS + NARROW / 2))
    assert found.width.tolist() == pytest.approx([gap - 2 * CLEARS], abs=ERROR)
    assert found.length.tolist() == pytest.approx([long + 2 * CLEARS * phi], abs=LENGTH_ERROR)
    assert found.held.tolist() == [2]
    assert found.rim.tolist() == [False]
    assert found.at == pytest.approx(np.zeros((1, 2)), abs=1e-6)


@pytest.mark.parametrize("gap", [0.5, 0.69, 0.96, 2.0], ids=["cut over", "just", "wide", "far"])
def test_no_strip_where_the_passes_overlap_or_leave_wide_copper(gap: float) -> None:
    assert len(slivers(board(*bars(gap)), CLEARS, NARROW)) == 0


def wedge(open_end: float) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Two bars that run apart, from 0.6 mm to ``open_end``."""
    up = shapely.Polygon([(-5, 0.3), (5, open_end / 2), (5, 3), (-5, 3)])
    return up, shapely.Polygon([(x, -y) for x, y in up.exterior.coords])


def test_a_spike_runs_out_to_a_point_and_is_held_at_one_end() -> None:
    found = slivers(board(*wedge(1.6)), CLEARS, NARROW)

    slope = (1.6 - 0.6) / 10
    lean = math.hypot(1, slope / 2)
    long = NARROW * lean / slope  # from where the walls meet to where they are the limit apart
    assert found.width.tolist() == [0.0]
    assert found.held.tolist() == [1]
    assert found.length.tolist() == pytest.approx([long * lean], rel=0.05)


@pytest.mark.parametrize(
    ("seed", "at"),
    [(644, (-3.66, -4.66)), (712, (-2.22, -1.88)), (776, (5.65, 1.54))],
)
def test_a_strip_is_no_narrower_for_the_tips_that_it_ends_in(
    seed: int, at: tuple[float, float]
) -> None:
    made = scattered(seed, size=14.0, count=24)

    found = slivers(made, CLEARS, NARROW)

    (row,) = np.flatnonzero(np.hypot(*(found.at - at).T) < 0.05)
    islands = made.copper[0].islands
    near = islands[shapely.dwithin(islands, found.shape[row], CLEARS + ERROR)]
    one, other = shapely.intersection(near, found.shape[row].buffer(0.5))
    assert found.width[row] == pytest.approx(one.distance(other) - 2 * CLEARS, abs=ERROR)


@pytest.mark.parametrize("angle", [206, 221, 236, 251])
def test_a_film_that_growing_leaves_along_a_wall_is_no_strip(angle: int) -> None:
    """One straight wall that meets a round cut-out: less than 1 um was told as 4 mm of spike."""
    cutout = shapely.Point(0, 0).buffer(1.5, 48) & shapely.box(-9, 0, 9, 9)
    blank = shapely.box(-30, -30, 30, 30) - cutout
    copper = rotate(shapely.box(-20, -20, 20, -0.65), angle, origin=(0, 0)) & blank.buffer(-0.05)

    assert len(slivers(edged(blank, [copper]).board, 0.35, NARROW, (), 1.05)) == 0


def test_a_ring_that_nothing_holds_has_no_held_end() -> None:
    inner = shapely.Point(0, 0).buffer(1.0, 64)
    outer = shapely.Point(0, 0).buffer(3.0, 64) - shapely.Point(0, 0).buffer(1.9, 64)

    found = slivers(board(inner, outer), CLEARS, NARROW)

    assert found.held.tolist() == [0]
    assert found.width.tolist() == pytest.approx([0.2], abs=ERROR)
    assert found.length.tolist() == pytest.approx([2 * math.pi * 1.45], abs=LENGTH_ERROR)


def test_a_strip_along_the_edge_or_a_hole_is_told_apart() -> None:
    ring = shapely.box(-9.5, -9.5, 9.5, 9.5) - shapely.Point(0, 0).buffer(2.0, 64)

    found = slivers(board(ring, holes=(drilled(0, 0, 3.0),)), CLEARS, NARROW)

    # Four along the sides, as there is more room in the corners, and the ring round the hole.
    assert found.rim.tolist() == [True] * 5
    assert found.width.tolist() == pytest.approx([0.15] * 5, abs=ERROR)


@pytest.fixture
def small_tiles(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tiles, "MOST", 4)


@pytest.mark.usefixtures("small_tiles")
def test_what_lies_in_many_tiles_is_one_piece() -> None:
    found = leftover(board(shapely.box(-1, -1, 1, 1), size=50.0), CLEARS)

    # Steiner's formulas: the boundary of a convex shape grown by r is longer by 2 pi r.
    assert len(found.tiles) > 4
    grown = 4 + 8 * CLEARS + math.pi * CLEARS**2
    assert found.area.tolist() == pytest.approx([2500 - grown], abs=0.01)
    assert found.girth.tolist() == pytest.approx([208 + 2 * math.pi * CLEARS], abs=0.01)


@pytest.mark.usefixtures("small_tiles")
def test_a_bar_from_edge_to_edge_parts_what_is_left() -> None:
    dots = [shapely.Point(x, y).buffer(0.5) for x in (-20, 0, 20) for y in (-20, 0, 20)]

    found = leftover(board(shapely.box(-25, 3, 25, 4), *dots, size=50.0), CLEARS)

    dot = shapely.Point(0, 0).buffer(0.5 + CLEARS, 64).area
    halves = [50 * (25 + 3 - CLEARS) - 6 * dot, 50 * (25 - 4 - CLEARS) - 3 * dot]
    assert len(found.tiles) > 4
    assert sorted(found.area, reverse=True) == pytest.approx(halves, abs=0.1)


@pytest.mark.usefixtures("small_tiles")
@pytest.mark.parametrize("seed", seeds(1, 6))
def test_tiles_leave_what_is_left_as_it_is(seed: int) -> None:
    made = scattered(seed, size=40.0, count=400)
    bands = shapely.buffer(made.copper[0].islands, CLEARS, quad_segs=15)
    whole = shapely.get_parts(shapely.difference(blank_of(made), shapely.union_all(bands)))

    found = leftover(made, CLEARS)

    assert len(found.tiles) > 8
    assert np.sort(found.area) == pytest.approx(np.sort(shapely.area(whole)), abs=1e-6)
    assert np.sort(found.girth) == pytest.approx(np.sort(shapely.length(whole)), abs=1e-6)


@pytest.mark.parametrize("corners", [0, 40_000])
@pytest.mark.parametrize("seed", seeds(2, 12))
def test_islands_grown_together_or_apart_leave_the_same(
    seed: int, corners: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = scattered(seed, size=20.0, count=60)
    bands = shapely.buffer(made.copper[0].islands, CLEARS, quad_segs=15)
    whole = shapely.get_parts(shapely.difference(blank_of(made), shapely.union_all(bands)))
    monkeypatch.setattr(pieces, "_AT_ONCE", corners)

    found = leftover(made, CLEARS)

    assert np.sort(found.area) == pytest.approx(np.sort(shapely.area(whole)), abs=1e-6)


def test_islands_that_crowd_each_other_are_grown_one_by_one() -> None:
    dots = shapely.buffer(shapely.points(*np.meshgrid(np.arange(20.0), np.arange(20.0))), 0.1)
    widths = np.full(400, 0.5)

    assert not pieces._crowded(dots.ravel(), widths - 0.2)
    assert pieces._crowded(dots.ravel(), 3 * widths)


def test_a_hole_takes_its_disc_out_of_leftover_copper() -> None:
    whole = leftover(board(shapely.box(-1, -1, 1, 1)), CLEARS)

    found = leftover(board(shapely.box(-1, -1, 1, 1), holes=(drilled(5, 5, 3.2),)), CLEARS)

    assert whole.area[0] - found.area[0] == pytest.approx(math.pi * 1.6**2, abs=0.01)


def test_more_is_cleared_round_a_net_that_asks_for_it() -> None:
    made = board(shapely.box(-1, -1, 1, 1), nets=("LIVE",))

    found = leftover(made, CLEARS, (("LIVE", 3.0),))

    assert found.area[0] == pytest.approx(400 - 4 - 24 - math.pi * 9, abs=0.05)


def test_the_two_nearest_islands_are_beside_a_strip() -> None:
    made = board(*bars(0.9), shapely.box(6, 6, 8, 8))
    found = slivers(made, CLEARS, NARROW)

    assert beside(made.copper[0], found.shape, CLEARS + 0.01).tolist() == [[0, 1]]


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 1, 0, 2), (2, 3, 1, 0)])
def test_of_islands_equally_near_the_first_nets_are_named_whatever_the_order(
    order: tuple[int, ...],
) -> None:
    corners = [shapely.box(x, y, x + 1, y + 1) for x in (-2, 1) for y in (-2, 1)]
    layer = replace(copper_layer(corners[k] for k in order), net=np.array(order))

    found = beside(layer, np.array([shapely.box(-0.1, -0.1, 0.1, 0.1)]), 2.0)

    assert sorted(layer.net[found[0]].tolist()) == [0, 1]


def test_a_place_turns_with_its_shape() -> None:
    bent = shapely.Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)])

    for angle in (90, 180, 270):
        turned = rotate(bent, angle, origin=(0, 0))
        there = shapely.get_coordinates(
            rotate(shapely.Point(middles_of(np.array([bent]))[0]), angle, origin=(0, 0))
        )
        assert middles_of(np.array([turned])) == pytest.approx(there, abs=1e-9)


STEP = 0.05


def raster(made: Board) -> tuple[Shapes, list[float]]:
    """Points all over a board and how far each is from copper."""
    ticks = np.arange(-5 + STEP / 2, 5, STEP)
    points = shapely.points(*(axis.ravel() for axis in np.meshgrid(ticks, ticks)))
    far = shapely.STRtree(made.copper[0].islands).query_nearest(
        points, return_distance=True, all_matches=False
    )[1]
    return points, far


@pytest.mark.parametrize("seed", seeds(1, 6))
def test_leftover_copper_is_what_is_farther_from_all_copper_than_is_cleared(seed: int) -> None:
    made = scattered(seed)
    points, far = raster(made)

    found = shapely.union_all(leftover(made, CLEARS).shape)

    shapely.prepare(found)
    inside, sure = shapely.intersects(found, points), np.abs(np.array(far) - CLEARS) > ERROR
    assert np.array_equal(inside[sure], np.array(far)[sure] > CLEARS)


def near_discs(made: Board, radius: float) -> tuple[Shapes, Floats]:
    """Raster points in leftover copper, and how far each is from a disc's middle that fits there.

    A disc fits where its middle is farther from copper by its radius, and from the edge as well.
    """
    points, far = raster(made)
    room = np.minimum(
        np.array(far) - CLEARS, shapely.distance(shapely.box(-5, -5, 5, 5).exterior, points)
    )
    left = points[np.array(far) > CLEARS + STEP]
    fits = shapely.STRtree(points[room >= radius])
    off = fits.query_nearest(left, return_distance=True, all_matches=False)[1]
    return left, np.array(off)


@pytest.mark.parametrize("seed", seeds(1, 6))
def test_slivers_are_where_no_disc_of_the_limits_width_fits(seed: int) -> None:
    made = scattered(seed)
    left, off = near_discs(made, NARROW / 2)

    found: Slivers = slivers(made, CLEARS, NARROW)

    thin = shapely.union_all(found.shape)
    shapely.prepare(thin)
    deep = shapely.intersects(shapely.buffer(thin, -STEP / 4), left)
    assert (off[deep] > NARROW / 2 - STEP).all()
    # What no disc reaches is in a sliver, in a corner no longer than the limit, or in a crumb.
    crumbs = leftover(made, CLEARS)
    crumb = shapely.union_all(crumbs.shape[crumbs.area < NARROW**2])
    bare = off > NARROW / 2 + STEP
    rest = bare & (shapely.distance(thin, left) > ERROR) & (shapely.distance(crumb, left) > ERROR)
    assert bare.any()
    assert (off[rest] < NARROW / 2 + NARROW).all()


@pytest.mark.parametrize("seed", seeds(1, 6))
def test_of_strips_long_enough_the_same_is_told_whatever_length_is_asked_for(seed: int) -> None:
    made = scattered(seed)
    every = slivers(made, CLEARS, NARROW)
    long = np.flatnonzero(every.length > 0.5)

    some = slivers(made, CLEARS, NARROW, longer=0.5)

    assert 0 < len(some) < len(every)
    for name in ("piece", "at", "width", "length", "held", "rim"):
        assert getattr(some, name).tolist() == getattr(every, name)[long].tolist()


def test_a_board_without_an_edge_has_3_mm_of_blank_round_its_copper() -> None:
    islands = shapely.box(1, 2, 3, 4), shapely.box(8, 2, 9, 7)

    bare = replace(board(*islands), outline=None)

    assert blank_of(bare).bounds == (-2.0, -1.0, 12.0, 10.0)


def test_a_board_without_edge_and_copper_has_no_blank() -> None:
    assert blank_of(replace(board(), outline=None)).is_empty
