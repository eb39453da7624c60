"""What is left after a bite, against arithmetic on straight copper and a raster of the cut."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from scipy import ndimage

from checker.board import Kind
from checker.measure import Reach, measure
from checker.measure.copper.bites import SLACK, Loss, loss_of
from tests.layouts import board_of, objects_of

PIXEL = 0.004


def lost(islands: list[Any], width: float, most: float, reach: float, bite: float = 0.1) -> Loss:
    """Every gap that a cut of this width passes only by biting is cut."""
    board = board_of(islands)
    facts = measure(board, Reach(width + 0.01, reach, (0.0, bite)))
    gaps = facts.gaps[0]
    rows = np.flatnonzero((gaps.widest_cut[0.0] < width) & (gaps.widest_cut[bite] >= width))
    fits = gaps.widest_cut[0.0][rows]
    return loss_of(board.copper[0], gaps, rows, fits, width, most, reach)


def bars(gap: float, width: float) -> list[Any]:
    """A waist of a width between two bars, ``gap`` from both, over 4 mm."""
    middle = shapely.union_all(
        [
            shapely.box(-5, -1, -2, 1),
            shapely.box(-2, -width / 2, 2, width / 2),
            shapely.box(2, -1, 5, 1),
        ]
    )
    edge = width / 2 + gap
    return [
        middle,
        shapely.box(-1.5, edge, 1.5, edge + 1),
        shapely.box(-1.5, -edge - 1, 1.5, -edge),
    ]


@pytest.mark.parametrize(("gap", "cut", "width"), [(0.15, 0.2, 0.3), (0.1, 0.16, 0.25)])
def test_a_straight_gap_takes_half_of_what_is_missing_from_each_side(
    gap: float, cut: float, width: float
) -> None:
    loss = lost(bars(gap, width), cut, cut, reach=width + 0.05)

    # Two gaps bite the waist from both edges.
    left = width - 2 * (cut - gap) / 2
    assert loss.neck_width.min() == pytest.approx(left, abs=4 * SLACK)
    assert (loss.neck_width >= left - 4 * SLACK).all()


@pytest.mark.parametrize(("most", "pieces"), [(0.2, 0), (0.345, 0), (0.36, 1)])
def test_copper_is_parted_where_the_widest_cut_takes_all_of_it(most: float, pieces: int) -> None:
    # Waist 0.2, gaps 0.15: a cut of 0.35 on the middle of both gaps meets itself.
    islands = bars(0.15, 0.2)
    board = board_of(islands)
    facts = measure(board, Reach(0.3, 0.3, (0.0, 0.1)))
    gaps = facts.gaps[0]
    rows = np.flatnonzero(gaps.widest_cut[0.0] < 0.2)

    loss = loss_of(
        with_pads(board.copper[0]), gaps, rows, gaps.widest_cut[0.0][rows], 0.2, most, 0.3
    )

    assert len(loss.parted) == pieces
    assert np.all(np.abs(loss.parted_at) <= 1.6)


def with_pads(layer: Any) -> Any:
    """A pad at both ends of the first island."""
    pads = [shapely.box(-4.5, -0.4, -3.5, 0.4), shapely.box(3.5, -0.4, 4.5, 0.4)]
    objects = objects_of(pads)
    return replace(
        layer,
        objects=replace(objects, kind=np.full(2, Kind.PAD, dtype=np.int8)),
        island_of=np.zeros(2, dtype=np.int64),
    )


def test_a_pad_keeps_the_share_that_the_cut_leaves() -> None:
    gap, cut = 0.12, 0.2
    board = board_of([shapely.box(-1, 0, 1, 1), shapely.box(-1, -1 - gap, 1, -gap)])
    gaps = measure(board, Reach(0.3, 0.0, (0.0, 0.1))).gaps[0]
    rows = np.flatnonzero(gaps.widest_cut[0.0] < cut)
    layer = board.copper[0]

    objects = replace(objects_of(layer.islands), kind=np.full(2, Kind.PAD, dtype=np.int8))
    layer = replace(layer, objects=objects, island_of=np.arange(2))
    loss = loss_of(layer, gaps, rows, gaps.widest_cut[0.0][rows], cut, cut, 0.0)

    assert sorted(loss.pad.tolist()) == [0, 1]
    # Each loses a strip of 0.04 along its edge, and round its ends where the tool comes out.
    assert loss.pad_left == pytest.approx(1 - 0.04, abs=0.004)


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0])
def test_waist_agrees_with_a_raster_of_the_cut(turn: float) -> None:
    """Paint the copper, erode it by the bite, let a disc pass, measure the waist on the picture."""
    gap, cut, width = 0.13, 0.2, 0.3
    islands = [shapely.affinity.rotate(shape, turn, origin=(0, 0)) for shape in bars(gap, width)]
    loss = lost(islands, cut, cut, reach=0.4)

    xs = np.arange(-1.2, 1.2, PIXEL)
    x, y = np.meshgrid(xs, xs)
    copper = np.zeros(x.shape, dtype=bool)
    for island in islands:
        copper |= shapely.contains_xy(island, x, y)
    depth = ndimage.distance_transform_edt(copper) * PIXEL
    kept = depth > (cut - gap) / 2 + SLACK
    centres = ndimage.distance_transform_edt(~kept) * PIXEL >= cut / 2
    bitten = ndimage.distance_transform_edt(~centres) * PIXEL < cut / 2
    left = shapely.contains_xy(islands[0], x, y) & ~bitten
    middle = np.abs(x) + np.abs(y) < 0.5
    half = ndimage.distance_transform_edt(left) * PIXEL
    assert loss.neck_width.min() == pytest.approx(2 * half[middle].max(), abs=4 * PIXEL)


def test_no_gap_no_loss() -> None:
    loss = lost(bars(0.3, 0.3), 0.2, 0.25, reach=0.4)

    assert (len(loss.neck_width), len(loss.pad), len(loss.parted)) == (0, 0, 0)
