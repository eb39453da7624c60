"""Draws and regions that cross themselves very often: the same areas, or refused, never endless.

The oracle is the union of the single segments, each swept on its own.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from checker.errors import ReadError
from checker.read.crossings import SHORT, crossings, is_crowded, pairs_within, pieces
from checker.read.gerber.curves import TOLERANCE, quarter_chords
from tests.read.gerber.written import macro, read, xy

if TYPE_CHECKING:
    from checker.board import Floats

RANDOM = np.random.default_rng(7)


def drawn(points: Floats, pen: float) -> Any:
    """The objects of one stroke through all points."""
    moves = [f"{xy(x, y)}D0{1 if i else 2}*" for i, (x, y) in enumerate(points)]
    return read(f"%ADD10C,{pen}*%", "D10*", *moves).objects


def region(points: Floats) -> Any:
    """The objects of one region within all points."""
    moves = [f"{xy(x, y)}D0{1 if i else 2}*" for i, (x, y) in enumerate([*points, points[0]])]
    return read("G36*", *moves, "G37*").objects


def swept(points: Floats, pen: float) -> Any:
    """The union of the single segments, with many more chords than a drawing has."""
    lines = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    return shapely.union_all(shapely.buffer(lines, pen / 2, quad_segs=32), grid_size=1e-9)


def scribble(n: int) -> Floats:
    points: Floats = np.round(RANDOM.random((n, 2)) * 20, 6)
    return points


def zigzag(n: int) -> Floats:
    """Strokes side by side, far nearer than their pen is wide: no crossing, all overlap."""
    points: Floats = np.stack([np.arange(n) * 0.01, np.arange(n) % 2 * 1.0], axis=1)
    return points


def walk(n: int) -> Floats:
    points: Floats = np.round(np.cumsum(RANDOM.random((n, 2)) - 0.5, axis=0) / 6, 6)
    return points


@pytest.mark.parametrize(
    ("points", "pen"),
    [
        (scribble(180), 0.05),
        (scribble(200), 1.0),
        (zigzag(400), 1.0),
        (walk(600), 0.8),
        (np.repeat(scribble(60), 3, axis=0), 0.3),
        (np.tile(scribble(20), (20, 1)), 0.3),
    ],
    ids=["thin", "wide", "zigzag", "walk", "standing still", "over and over"],
)
def test_crowded_stroke_has_the_area_of_its_segments(points: Floats, pen: float) -> None:
    objects = drawn(points, pen)
    shape = objects.shape[0]

    assert is_crowded(points, pen / 2)
    assert len(objects) == 1
    assert shapely.is_valid(shape)
    assert shapely.symmetric_difference(shape, swept(points, pen)).area < (TOLERANCE * shape.length)
    assert shapely.equals_exact(
        shapely.remove_repeated_points(objects.spine[0]),
        shapely.remove_repeated_points(shapely.LineString(points)),
        1e-9,
    )
    assert objects.pen[0] == pen


@pytest.mark.parametrize("n", [SHORT, 400])
def test_plain_stroke_is_swept_whole(n: int) -> None:
    """A wave that never comes back on itself is the buffer of GEOS of the whole line."""
    x = np.arange(n) * 0.5
    points = np.round(np.stack([x, np.sin(x / 3)], axis=1), 6)
    whole = shapely.buffer(
        shapely.LineString(points), 0.1, quad_segs=math.ceil(1.5 * quarter_chords(0.1))
    )

    assert not is_crowded(points, 0.1)
    assert shapely.equals_exact(drawn(points, 0.2).shape[0], whole, 1e-8)


@pytest.mark.parametrize(
    "draw",
    [
        lambda points: drawn(points, 0.01),
        region,
        lambda points: (
            read(
                "%ADD10R,0.2X0.1*%",
                "D10*",
                *(f"{xy(x, y)}D0{1 if i else 2}*" for i, (x, y) in enumerate(points)),
            ).objects
        ),
        lambda points: (
            read(
                *macro(
                    f"4,1,{len(points) - 1}," + ",".join(f"{v:.4f}" for v in points.ravel()) + ",0"
                )
            ).objects
        ),
    ],
    ids=["stroke", "region", "square pen", "macro"],
)
def test_what_crosses_itself_without_bound_is_refused(draw: Any) -> None:
    points = scribble(3000)
    points[-1] = points[0]

    with pytest.raises(ReadError, match=r"without bound; expected \d+ crossings at most"):
        draw(points)


def test_region_that_crosses_itself_keeps_what_it_goes_round() -> None:
    """A circle gone round thirty times is one disc of the area pi r2."""
    turn = np.linspace(0, 60 * np.pi, 3001)[:-1]
    points = np.round(5 * np.stack([np.cos(turn), np.sin(turn)], axis=1), 6)

    assert shapely.area(region(points).shape[0]) == pytest.approx(25 * np.pi, rel=1e-3)


@pytest.mark.parametrize("n", [30, 300, 900])
def test_crossings_of_a_hatch_are_counted(n: int) -> None:
    """n lines across and n lines up cross n2 times; of many lines, a sample tells it."""
    at = np.arange(n) + 0.5
    low, high = np.zeros(n), np.full(n, float(n))
    across = np.stack([np.stack([low, at], axis=1), np.stack([high, at], axis=1)], axis=1)
    lines = shapely.linestrings(np.concatenate([across, across[:, :, ::-1]]))

    assert crossings(lines) == pytest.approx(n * n, rel=0.001 if n <= 300 else 0.1)


@pytest.mark.parametrize("n", [2, 8, 9, 10, 17, 100])
def test_pieces_follow_the_chain(n: int) -> None:
    points = scribble(n)
    cut = pieces(points)

    assert shapely.length(shapely.linestrings(cut)).sum() == pytest.approx(
        shapely.LineString(points).length
    )
    assert np.array_equal(cut[1:, 0], cut[:-1, -1])
    assert np.array_equal(cut[-1, -1], points[-1])


def test_pairs_are_those_of_brute_force_or_none() -> None:
    points = shapely.points(scribble(300))
    a, b = np.nonzero(shapely.distance(points[:, None], points[None]) <= 1.0)
    found = pairs_within(points, reach=1.0, most=len(a))

    assert found is not None
    assert set(zip(*found, strict=True)) == set(zip(a, b, strict=True))
    assert pairs_within(points, reach=1.0, most=len(a) - 1) is None
