"""Slivers of large boards against one opening of all that is left, with shapely alone."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from checker.measure.leftover import slivers as module
from checker.measure.leftover import tiles
from checker.measure.leftover.pieces import ERROR, blank_of, leftover
from checker.measure.leftover.slivers import LENGTH_ERROR, slivers
from tests.blanks import CLEARS, NARROW, bars, board, scattered, two_sided
from tests.examples import seeds

if TYPE_CHECKING:
    from checker.board import Board, Floats, Shapes

FINE = 32  # chords of a quarter circle
SIZE = 50.0  # mm


@pytest.fixture(autouse=True)
def small_boards_as_large_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tiles, "MOST", 4)
    monkeypatch.setattr(module, "_FEW", 0)


@lru_cache
def large(seed: int) -> Board:
    """A board of some tiles."""
    return scattered(seed, size=SIZE, count=700)


@lru_cache
def opened(made: Board) -> tuple[Shapes, Floats]:
    """What an opening takes off all that is left, and how long its walls are."""
    bands = shapely.buffer(made.copper[0].islands, CLEARS, quad_segs=FINE)
    left = shapely.get_parts(shapely.difference(blank_of(made), shapely.union_all(bands)))
    core = shapely.buffer(left, -NARROW / 2, quad_segs=FINE)
    wide = shapely.buffer(core, NARROW / 2 + ERROR, quad_segs=FINE)
    thin, of = shapely.get_parts(shapely.difference(left, wide), return_index=True)
    rims = shapely.boundary(thin)
    caps = shapely.intersection(rims, shapely.buffer(wide[of], 1e-5))
    return thin, (shapely.length(rims) - shapely.length(caps)) / 2


@pytest.mark.parametrize("seed", seeds(1, 8))
@pytest.mark.parametrize("longer", [NARROW, 0.5, 1.0])
def test_one_opening_of_all_takes_off_the_same(seed: int, longer: float) -> None:
    thin, length = opened(large(seed))

    found = slivers(large(seed), CLEARS, NARROW, longer=longer)

    sure = thin[length > longer + LENGTH_ERROR]
    assert len(leftover(large(seed), CLEARS).tiles) > 4
    assert len(sure) > 10
    assert missed(sure, found.shape) == 0
    # What is thinner than the error may be parted there.
    whole = (found.width == 0) | (found.width > ERROR)
    assert missed(found.shape[whole], thin) == 0


def missed(shapes: Shapes, others: Shapes) -> int:
    """How many shapes have not their like among others."""
    i, j = shapely.STRtree(others).query(shapes)
    off = shapely.area(shapely.symmetric_difference(shapes[i], others[j]))
    like = off < 2 * ERROR * shapely.length(shapes[i])
    return len(set(range(len(shapes))) - set(i[like].tolist()))


@pytest.mark.parametrize("few", [0, 1_000_000], ids=["where it is narrow", "all of it"])
def test_a_strip_through_tiles_is_one(few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_FEW", few)
    long = 0.8 * SIZE
    made = board(*bars(0.9, long), size=SIZE)

    found = slivers(made, CLEARS, NARROW)

    assert len(leftover(made, CLEARS).tiles) > 4
    assert found.width.tolist() == pytest.approx([0.2], abs=ERROR)
    assert found.length.tolist() == pytest.approx([long], abs=0.5)
    assert found.at == pytest.approx(np.zeros((1, 2)), abs=1e-6)
    assert found.piece.tolist() == [0]


@pytest.mark.parametrize("off", [-0.2, -0.05, 0.0, 0.05, 0.2])
def test_a_strip_along_a_seam_is_found(off: float) -> None:
    stars = [shapely.Point(x, y).buffer(2.0) for x in (-9, 9) for y in (-9, 9)]
    seam = next(
        tile.box.y1
        for tile in leftover(board(*bars(0.9), *stars, size=SIZE), CLEARS).tiles
        if abs(tile.box.y1) < 1.0
    )
    pair = (translate(bar, 0, seam + off) for bar in bars(0.9))

    found = slivers(board(*pair, *stars, size=SIZE), CLEARS, NARROW)

    assert found.width.tolist() == pytest.approx([0.2], abs=ERROR)
    assert found.at == pytest.approx(np.array([[0, seam + off]]), abs=1e-6)


def test_strips_of_two_sides_that_cross_are_each_as_wide_as_they_are() -> None:
    below, above = bars(0.85), (rotate(bar, 90, origin=(0, 0)) for bar in bars(0.8))

    found = slivers(two_sided(board(*below), board(*above)), CLEARS, NARROW)

    assert found.width.tolist() == pytest.approx([0.15, 0.1], abs=ERROR)


def test_a_sliver_goes_on_beyond_the_room_that_was_looked_at(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made, rooms = scattered(1, size=16.0, count=80), module._rooms
    asked: list[float] = []

    def small(places: Floats, cell: float) -> Shapes:
        asked.append(cell)
        return rooms(places, cell / 6)

    whole = slivers(made, CLEARS, NARROW, longer=0.4)
    monkeypatch.setattr(module, "_rooms", small)

    found = slivers(made, CLEARS, NARROW, longer=0.4 + 1e-9)

    assert len(asked) > 1
    assert len(found) == len(whole) > 5
    assert missed(whole.shape, found.shape) == 0
