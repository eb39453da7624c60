"""Copper, holes and free stretches at the edge against GEOS and against points of a grid."""

from __future__ import annotations

import math
from pathlib import Path
from random import Random

import numpy as np
import pytest
import shapely
from shapely import affinity

from checker.board import Kind
from checker.measure.edge.clearances import ERROR, REACH, copper_of, free_stretches, holes_of
from checker.measure.edge.contour import contour_of
from checker.read import read_board
from tests.edged import BOX, edged
from tests.examples import quick, seeds
from tests.handmade import Copper
from tests.holed import hit, slot

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
GRID = 0.02  # mm between the points of the oracle


def ragged(rng: Random) -> shapely.Geometry:
    """A board with rounded and sharp corners, notches and cut-outs, turned by any angle."""
    board: shapely.Geometry = shapely.box(0, 0, rng.uniform(8, 14), rng.uniform(6, 10))
    if rng.random() < 0.5:
        board = board.buffer(-1.0).buffer(1.0, quad_segs=12)
    for _ in range(rng.randrange(3)):
        notch = shapely.box(0, 0, rng.uniform(0.8, 3), rng.uniform(0.8, 3))
        board = board.difference(affinity.translate(notch, rng.uniform(-1, 12), rng.uniform(-1, 9)))
    for _ in range(rng.randrange(3)):
        hole = shapely.Point(rng.uniform(2, 10), rng.uniform(2, 8)).buffer(
            rng.uniform(0.4, 1.2), 10
        )
        board = board.difference(hole)
    board = max(shapely.get_parts(board), key=lambda part: part.area)
    return affinity.rotate(board, rng.choice([0.0, 90.0, rng.uniform(0, 360)]), origin=(0, 0))


def pieces(rng: Random, board: shapely.Geometry, count: int) -> list[shapely.Polygon]:
    """Pads, tracks and small pours about the board and over its edge, apart from each other."""
    x0, y0, x1, y1 = board.bounds
    found: list[shapely.Polygon] = []
    while len(found) < count:
        x, y = rng.uniform(x0 - 1, x1 + 1), rng.uniform(y0 - 1, y1 + 1)
        piece = rng.choice(
            [
                shapely.Point(x, y).buffer(rng.uniform(0.2, 0.8), quad_segs=8),
                shapely.LineString([(x, y), (x + rng.uniform(-4, 4), y + 2)]).buffer(0.15),
                affinity.rotate(shapely.box(x, y, x + 2, y + 1), rng.uniform(0, 90)),
            ]
        )
        if all(piece.distance(other) > 0.05 for other in found):
            found.append(piece)
    return found


def beyond(piece: shapely.Polygon, board: shapely.Geometry) -> float:
    """How far copper reaches over the edge: the farthest of a grid's points and of its corners."""
    over = piece.difference(board)
    if over.is_empty:
        return 0.0
    x0, y0, x1, y1 = over.bounds
    x, y = np.meshgrid(np.arange(x0, x1, GRID), np.arange(y0, y1, GRID))
    inside = shapely.contains_xy(over, x, y)
    points = np.concatenate(
        [shapely.points(x[inside], y[inside]), shapely.points(shapely.get_coordinates(over))]
    )
    return float(shapely.distance(points, board.boundary).max())


@pytest.mark.parametrize("seed", [*seeds(8, 41), 41])
def test_distance_of_copper_is_that_of_the_boundaries(seed: int) -> None:
    rng = Random(seed)
    board = ragged(rng)
    copper = pieces(rng, board, 12)

    found = copper_of(edged(board, copper).board)

    assert found is not None
    for index, piece in enumerate(copper):
        mine = found.distance[found.island == index]
        if board.covers(piece):
            expected = piece.boundary.distance(board.boundary)
            assert len(mine) == (expected <= REACH)
            assert mine == pytest.approx([expected] * len(mine), abs=ERROR)
        else:
            assert len(mine) == 1
            assert -mine[0] == pytest.approx(beyond(piece, board), abs=3 * GRID)
        for row in np.flatnonzero(found.island == index):
            at = shapely.Point(found.at[row])
            assert piece.distance(at) < ERROR
            assert at.distance(board.boundary) == pytest.approx(
                abs(found.distance[row]), abs=2 * ERROR
            )
            assert bool(found.lost[row]) == (piece.distance(board) > 0)


def test_a_pour_along_the_edge_is_one_place_a_side() -> None:
    pour = BOX.buffer(-0.4, join_style="mitre")
    teeth = [shapely.box(x, 0.3, x + 0.2, 1.0) for x in np.arange(1.0, 39.0, 0.5)]
    ragged_pour = shapely.union_all([pour, *teeth])

    found = copper_of(edged(BOX, [(Copper(Kind.POUR), ragged_pour)]).board)

    assert found is not None
    assert sorted(found.distance) == pytest.approx([0.3, 0.4, 0.4, 0.4])


@pytest.mark.parametrize("over", [0.0, 1e-7, 0.0003, 0.0009])
def test_copper_less_than_a_micrometre_over_the_edge_lies_on_it(over: float) -> None:
    pad = shapely.box(10.0, -over, 12.0, 3.0)

    found = copper_of(edged(BOX, [(Copper(), pad)]).board)

    assert found is not None
    assert found.distance.tolist() == [0.0]
    assert found.at[0] == pytest.approx([11.0, 0.0], abs=1.001)


def test_the_place_of_a_straight_stretch_is_its_middle() -> None:
    pour = shapely.box(4.0, 0.4, 24.0, 10.0)

    found = copper_of(edged(BOX, [(Copper(Kind.POUR), pour)]).board)

    assert found is not None
    assert found.at[0] == pytest.approx([14.0, 0.4])


def test_a_track_along_two_sides_is_told_on_both() -> None:
    track = shapely.LineString([(0.6, 20.0), (0.6, 0.7), (30.0, 0.7)]).buffer(0.2)

    found = copper_of(edged(BOX, [(Copper(Kind.TRACE), track)]).board)

    assert found is not None
    assert sorted(found.distance) == pytest.approx([0.4, 0.5])


def test_a_pad_near_a_corner_is_told_once() -> None:
    found = copper_of(edged(BOX, [shapely.box(0.4, 0.5, 1.0, 1.0)]).board)

    assert found is not None
    assert found.distance == pytest.approx([0.4])


@pytest.mark.parametrize("angle", [0, 17, 30, 90, 123, 180, 270])
def test_sides_of_a_cutout_that_share_the_nearest_places_are_told_once(angle: float) -> None:
    """A pour points at three corners of a cut-out: which two or three are told hung on rounding."""
    away = 0.3 / math.sqrt(2)
    corners = [(10.0, 10.0, -1, -1), (20.0, 10.0, 1, -1), (20.0, 20.0, 1, 1)]
    spikes = [
        shapely.Polygon([(x + a * away, y + b * away), (x + a * 0.5, y), (x, y + b * 0.5)])
        for x, y, a, b in corners
    ]
    cutout = shapely.box(10, 10, 20, 20)
    ring = shapely.box(6, 6, 24, 24) - cutout.buffer(0.45, join_style="mitre")
    pour = shapely.union_all([ring, *spikes])
    board, pour = (affinity.rotate(one, angle, origin=(0, 0)) for one in (BOX - cutout, pour))

    found = copper_of(edged(board, [(Copper(Kind.POUR), pour)]).board, 0.5)

    assert found is not None
    assert found.distance.tolist() == pytest.approx([0.3])


def test_copper_over_a_whole_cutout_is_beyond_the_edge_by_its_half_width() -> None:
    window = shapely.box(10.0, 10.0, 14.0, 20.0)

    found = copper_of(edged(BOX.difference(window), [shapely.box(5.0, 5.0, 30.0, 25.0)]).board)

    assert found is not None
    assert found.distance.min() == pytest.approx(-2.0, abs=ERROR)


@pytest.mark.parametrize(
    ("piece", "kind", "parted"),
    [
        (shapely.box(10, -0.3, 11, 0.7), Kind.PAD, False),
        (shapely.box(10, -0.6, 11, 0.4), Kind.PAD, True),
        (shapely.box(10, -0.6, 30, 8.0), Kind.POUR, False),
        (shapely.LineString([(10, 5), (10, -2), (20, -2), (20, 5)]).buffer(0.2), None, True),
    ],
    ids=["a third of a pad", "most of a pad", "the rim of a pour", "a loop over the edge"],
)
def test_copper_is_parted_where_it_loses_more_than_a_rim(
    piece: shapely.Polygon, kind: Kind | None, parted: bool
) -> None:
    found = copper_of(edged(BOX, [(Copper(kind), piece)]).board)

    assert found is not None
    assert found.parted.tolist() == [parted]


def test_without_an_edge_there_are_no_facts() -> None:
    board = edged(None).board

    assert copper_of(board) is None
    assert holes_of(board) is None
    assert free_stretches(board, 1.0) == ()


@pytest.mark.parametrize("seed", seeds(8, 40))
def test_distance_of_holes_is_that_of_their_rims(seed: int) -> None:
    rng = Random(seed)
    board = ragged(rng)
    x0, y0, x1, y1 = board.bounds
    holes = []
    for _ in range(30):
        x, y, size = rng.uniform(x0 - 2, x1 + 2), rng.uniform(y0 - 2, y1 + 2), rng.uniform(0.3, 3)
        holes.append(hit(x, y, size) if rng.random() < 0.7 else slot((x, y), (x + 2, y + 1), size))

    found = holes_of(edged(board, (), *holes).board)

    assert found is not None
    crosses = found.crosses(0.005)
    for row, hole in enumerate(holes):
        path = shapely.LineString(hole.path) if hole.is_slot else shapely.Point(hole.path[0])
        rim = path.buffer(hole.diameter / 2, quad_segs=64)
        if board.covers(rim):
            expected = rim.distance(board.boundary)
            assert found.distance[row] == pytest.approx(expected, abs=ERROR)
        elif not hole.is_slot:  # how far the hole would have to be moved to be inside
            middle = path.distance(board.boundary) * (1 if board.covers(path) else -1)
            assert found.distance[row] == pytest.approx(middle - hole.diameter / 2, abs=1e-9)
        if abs(rim.intersection(board).area - 0.02) > 0.02:
            assert bool(crosses[row]) == (board.intersects(rim) and not board.covers(rim))


@pytest.mark.parametrize("seed", range(15))
def test_free_stretches_are_the_points_of_the_edge_without_copper_and_holes(seed: int) -> None:
    rng = Random(seed)
    board, clearance = ragged(rng), rng.uniform(0.3, 1.5)
    copper = pieces(rng, board, 6)
    holes = [hit(rng.uniform(0, 12), rng.uniform(0, 8), 1.0) for _ in range(3)]

    (found,) = free_stretches(edged(board, copper, *holes).board, clearance)

    ring = shapely.LinearRing(board.exterior.coords)
    along = np.arange(0, ring.length, GRID)
    points = shapely.line_interpolate_point(ring, along)
    rims = [shapely.Point(hole.path[0]).buffer(0.5, 64) for hole in holes]
    free = shapely.distance(points, shapely.union_all([*copper, *rims])) >= clearance
    assert found.girth == pytest.approx(ring.length)
    assert found.length.sum() == pytest.approx(free.sum() * GRID, abs=12 * GRID)


def test_free_stretches_end_at_corners_and_run_round_the_start() -> None:
    (square,) = free_stretches(edged(BOX).board, 0.5)
    (disk,) = free_stretches(edged(shapely.Point(0, 0).buffer(10, 64)).board, 0.5)

    assert sorted(square.length) == pytest.approx([30, 30, 40, 40], abs=ERROR)
    assert disk.length == pytest.approx([20 * math.pi], rel=1e-3)


def test_sides_smooth_a_ragged_edge() -> None:
    teeth = [shapely.box(x, -0.3, x + 0.5, 0.1) for x in np.arange(2.0, 38.0, 1.0)]

    contour = contour_of(edged(BOX.difference(shapely.union_all(teeth))).board)

    assert contour is not None
    assert len(np.unique(contour.side)) == 4


@pytest.mark.skipif(not BOARDS.is_dir(), reason="the open boards are not beside the checkout")
@pytest.mark.parametrize(
    "name", quick(["orangecrab-r0.2.1", "clockblock", "mppt-2420"], ["clockblock", "mppt-2420"])
)
def test_open_boards_against_whole_islands(name: str) -> None:
    board = read_board([BOARDS / name])

    found = copper_of(board)

    assert found is not None
    assert board.outline is not None
    rim = board.outline.area.boundary
    shapely.prepare(rim)
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        inside = shapely.covers(board.outline.area, layer.islands)
        expected = shapely.distance(layer.islands, rim)
        least = np.full(len(layer.islands), np.inf)
        mine = found.layer == index
        np.minimum.at(least, found.island[mine], found.distance[mine])
        near = inside & (expected <= REACH - ERROR)
        assert near.any()
        assert least[near] == pytest.approx(expected[near], abs=ERROR)
        assert (least[inside & (expected > REACH + ERROR)] == np.inf).all()
        assert (least[~inside] < ERROR).all()
