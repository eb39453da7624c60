"""What a cutter leaves of an edge: against formulas, a grid of cutter places, and known shapes."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest
import shapely
from shapely import affinity

from checker.measure.edge.contour import ERROR, Waste, crossings_of, wastes_of
from tests.edged import BOX, edged
from tests.holed import hit, slot

GRID = 0.02  # mm between the places of the cutter that the oracle tries


def turned(shape: shapely.Geometry, angle: float) -> shapely.Geometry:
    return affinity.rotate(shape, angle, origin=(3.0, 7.0))


@pytest.mark.parametrize("angle", [0.0, 33.0, 90.0])
@pytest.mark.parametrize(("cutter", "stays"), [(0.8, 0.17), (1.0, 0.21), (2.0, 0.41), (3.0, 0.62)])
def test_a_right_corner_keeps_the_diagonal_error(cutter: float, stays: float, angle: float) -> None:
    # D/2 (sqrt 2 - 1), as tabulated for four cutters.
    ell = BOX.difference(shapely.box(20, 15, 50, 50))

    found = wastes_of(edged(turned(ell, angle)).board, cutter)

    assert found.kind.tolist() == [Waste.CORNER]
    assert found.stays[0] == pytest.approx(stays, abs=0.005)
    assert found.stays[0] == pytest.approx(cutter / 2 * (math.sqrt(2) - 1), abs=ERROR)
    assert (found.angle[0], found.radius[0]) == pytest.approx((90.0, 0.0))
    assert shapely.Point(found.at[0]).equals_exact(turned(shapely.Point(20, 15), angle), ERROR)


@pytest.mark.parametrize("opening", [40.0, 60.0, 75.0, 120.0, 140.0])
def test_a_sharp_corner_keeps_the_bisector_of_its_disk(opening: float) -> None:
    half = math.radians(opening / 2)
    wedge = shapely.Polygon(
        [(20, 5), (20 + 60 * math.sin(half), 5 + 60 * math.cos(half)),
         (20 - 60 * math.sin(half), 5 + 60 * math.cos(half))]
    )  # fmt: skip

    found = wastes_of(edged(BOX.difference(wedge)).board, 1.0)

    assert found.kind.tolist() == [Waste.CORNER]
    assert found.stays[0] == pytest.approx(0.5 * (1 / math.sin(half) - 1), abs=ERROR)
    assert found.angle[0] == pytest.approx(opening, abs=0.1)


@pytest.mark.parametrize("radius", [0.1, 0.3, 0.45])
def test_a_rounded_corner_is_one_corner_with_its_radius(radius: float) -> None:
    window = shapely.box(10, 10, 20, 20).buffer(-radius).buffer(radius, quad_segs=24)

    found = wastes_of(edged(BOX.difference(window)).board, 1.0)

    assert found.kind.tolist() == [Waste.CORNER] * 4
    assert found.closed.all()
    assert found.radius == pytest.approx([radius] * 4, abs=0.01)
    assert found.angle == pytest.approx([90.0] * 4, abs=0.5)
    assert found.stays == pytest.approx([(0.5 - radius) * (math.sqrt(2) - 1)] * 4, abs=ERROR)


@pytest.mark.parametrize("radius", [0.5, 0.6, 2.0])
def test_corners_as_round_as_the_cutter_keep_nothing(radius: float) -> None:
    window = shapely.box(10, 10, 20, 20).buffer(-radius).buffer(radius, quad_segs=24)

    assert (wastes_of(edged(BOX.difference(window)).board, 1.0).stays < 2 * ERROR).all()


def test_a_chamfer_in_a_corner_is_one_corner_that_keeps_less() -> None:
    ell = BOX.difference(shapely.box(20, 15, 50, 50))
    chamfer = shapely.Polygon([(20, 15), (20.2, 15), (20, 15.2)])

    found = wastes_of(edged(ell.union(chamfer)).board, 1.0)

    # The disk of 1.0 mm touches both walls: its middle lies at (20.5, 15.5).
    assert found.kind.tolist() == [Waste.CORNER]
    assert found.stays[0] == pytest.approx(math.hypot(0.3, 0.5) - 0.5, abs=ERROR)


@pytest.mark.parametrize("angle", [0.0, 21.0])
@pytest.mark.parametrize("width", [0.3, 0.8, 0.99])
def test_a_notch_narrower_than_the_cutter_has_its_width(width: float, angle: float) -> None:
    notch = shapely.box(10, 20, 10 + width, 40)

    found = wastes_of(edged(turned(BOX.difference(notch), angle)).board, 1.0)

    assert found.kind.tolist() == [Waste.NARROW]
    assert found.width[0] == pytest.approx(width, abs=ERROR)
    assert not found.closed[0]
    assert turned(notch, angle).distance(shapely.Point(found.at[0])) < ERROR


def test_a_notch_whose_walls_part_a_little_is_told_by_its_bottom() -> None:
    notch = shapely.Polygon([(10, 20), (10.8, 20), (10.82, 40), (9.98, 40)])

    found = wastes_of(edged(BOX.difference(notch)).board, 1.0)

    assert found.kind.tolist() == [Waste.NARROW]
    assert found.width[0] == pytest.approx(0.8, abs=ERROR)


@pytest.mark.parametrize(
    ("window", "width"),
    [
        (shapely.box(10, 10, 15, 10.8), 0.8),
        (shapely.box(10, 10, 10.7, 10.7), 0.7),
        (shapely.Point(20, 15).buffer(0.4, quad_segs=32), 0.8),
        # A triangle's widest disk has twice its area over its girth for radius.
        (
            shapely.Polygon([(10, 10), (11, 10), (10.5, 10.9)]),
            4 * 0.45 / (1 + 2 * math.hypot(0.5, 0.9)),
        ),
    ],
    ids=["slot", "square", "disk", "triangle"],
)
def test_a_cutout_that_the_cutter_does_not_enter_has_its_width(
    window: shapely.Polygon, width: float
) -> None:
    found = wastes_of(edged(BOX.difference(window)).board, 1.0)

    assert found.kind.tolist() == [Waste.NARROW]
    assert found.width[0] == pytest.approx(width, abs=ERROR)
    assert found.closed[0]


def test_a_cutout_with_a_neck_is_narrow_there_alone() -> None:
    window = shapely.union_all(
        [shapely.box(5, 5, 10, 10), shapely.box(10, 7, 14, 7.6), shapely.box(14, 5, 19, 10)]
    )

    found = wastes_of(edged(BOX.difference(window)).board, 1.0)

    assert found.width[found.kind == Waste.NARROW] == pytest.approx([0.6])
    assert (found.kind == Waste.CORNER).sum() == 8


def test_what_is_drilled_is_cleared() -> None:
    ell = BOX.difference(shapely.box(20, 15, 50, 50))
    slit = ell.difference(shapely.LineString([(5.4, 5.4), (9.6, 5.4)]).buffer(0.4))

    dog_bone = wastes_of(edged(ell, (), hit(20.2, 15.2, 1.0)).board, 1.0)
    drilled = wastes_of(edged(slit, (), slot((5.4, 5.4), (9.6, 5.4), 0.8)).board, 1.0)

    assert len(dog_bone) == 0
    assert drilled.kind.tolist() == [Waste.CORNER]  # that of the outer edge


@pytest.mark.parametrize("apart", [0.2, 0.9])
def test_boards_side_by_side_have_a_gap(apart: float) -> None:
    panel = shapely.MultiPolygon([BOX, affinity.translate(BOX, 40 + apart, 3)])

    found = wastes_of(edged(panel).board, 1.0)

    assert found.kind.tolist() == [Waste.BETWEEN]
    assert found.width[0] == pytest.approx(apart, abs=ERROR)
    assert found.at[0] == pytest.approx([40 + apart / 2, 16.5], abs=ERROR)


def nearest_cutter(board: shapely.Geometry, at: shapely.Point, radius: float) -> float:
    """How near a cutter that keeps off the board comes to a point: places on a grid, all tried.

    None beyond a square is nearer than one found within the circle in it.
    """
    for half in (1.5 * radius, 3 * radius, 6 * radius):
        reach = np.arange(-6 * radius, 6 * radius, GRID)
        reach = reach[np.abs(reach) <= half + GRID]
        x, y = np.meshgrid(at.x + reach, at.y + reach)
        places = shapely.points(x.ravel(), y.ravel())
        free = shapely.distance(places, board) >= radius
        nearest = float(shapely.distance(places[free], at).min(initial=np.inf))
        if nearest <= half:
            break
    return nearest - radius


@pytest.mark.parametrize("seed", range(8))
def test_what_stays_in_a_corner_against_all_places_of_the_cutter(seed: int) -> None:
    rng = Random(seed)
    board: shapely.Geometry = shapely.box(0, 0, 12, 10)
    for _ in range(4):
        tool = rng.choice(
            [
                shapely.box(0, 0, rng.uniform(2, 5), rng.uniform(2, 5)),
                shapely.Polygon([(0, 0), (rng.uniform(2, 4), 0), (rng.uniform(0, 3), 4)]),
            ]
        )
        tool = affinity.rotate(tool, rng.uniform(0, 360))
        board = board.difference(affinity.translate(tool, rng.uniform(-1, 12), rng.uniform(-1, 10)))
    board = max(shapely.get_parts(board), key=lambda part: part.area)
    cutter = rng.choice([0.6, 1.0])

    found = wastes_of(edged(board).board, cutter)

    corners = np.flatnonzero((found.kind == Waste.CORNER) & (found.stays < 2 * cutter))
    assert len(found)
    for row in corners:
        at = shapely.Point(found.at[row])
        assert found.stays[row] == pytest.approx(
            nearest_cutter(board, at, cutter / 2), abs=3 * GRID
        )


def test_an_edge_that_meets_itself_is_found() -> None:
    bow = shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(10, 10, 20, 20)])

    assert crossings_of(edged(bow).board) == ((10.0, 10.0),)
    assert crossings_of(edged(BOX).board) == ()
    assert crossings_of(edged(None).board) == ()
