"""Length of passes: closed forms, and the parallel curve that GEOS constructs."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from shapely import affinity

from checker import read_board
from checker.board import Board
from checker.measure.whole.way import ERROR, FARTHEST, USUAL, way_of, whole_of
from tests.examples import quick, seeds
from tests.layouts import FAMILIES, board_of, layout

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
OFFSETS = (0.0513, 0.0817, 0.1037, 0.1571, 0.2039, 0.3051, 0.4043, 0.6041)
NEAR = 0.0005  # mm; where a gap closes the length jumps, and drawn arcs are chords to 0.001


def constructed(board: Board, offset: float) -> float:
    """The boundary of all that lies within the offset of copper, by GEOS."""
    layers = [layer.islands for layer in board.copper if layer.side in ("top", "bottom")]
    grown = [shapely.buffer(shapely.union_all(one), offset, quad_segs=32) for one in layers]
    return float(shapely.length(grown).sum())


def errors(board: Board, offsets: tuple[float, ...] = OFFSETS) -> list[float]:
    """The relative errors of the lengths that are at least a fifth of the boundary."""
    way = replace(way_of(board), slack=0.0)  # what only just has room has none in a construction
    found = [0.0]
    for offset in offsets:
        near = [constructed(board, offset + step) for step in (-NEAR, 0.0, NEAR)]
        if near[1] >= way.length(0.0) / 5:
            told = way.length(offset)
            found.append(max(min(near) - told, told - max(near), 0.0) / near[1])
    return found


# Closed forms


@pytest.mark.parametrize("offset", [0.0, 0.1, 0.5, 1.9])
def test_round_a_square_the_pass_is_as_steiner_says(offset: float) -> None:
    # The parallel curve at r of a convex figure is longer than its edge by 2 pi r.
    way = way_of(board_of([shapely.box(0, 0, 2, 2)]))

    assert way.length(offset) == pytest.approx(8 + 2 * math.pi * offset)
    assert way.rings(offset) == pytest.approx(1)


@pytest.mark.parametrize("offset", [0.05, 0.0999])
def test_two_pads_with_room_between_have_a_pass_each(offset: float) -> None:
    pads = [shapely.box(0, 0, 1, 1), shapely.box(1.2, 0, 2.2, 1)]

    assert way_of(board_of(pads)).length(offset) == pytest.approx(2 * (4 + 2 * math.pi * offset))


def test_a_gap_of_just_the_cut_counts_for_both_nets() -> None:
    pads = [shapely.box(0, 0, 1, 1), shapely.box(1.2, 0, 2.2, 1)]

    assert way_of(board_of(pads)).length(0.1) == pytest.approx(2 * (4 + 2 * math.pi * 0.1))


@pytest.mark.parametrize("offset", [0.15, 0.3, 0.9])
def test_two_pads_without_room_between_have_one_pass_round_both(offset: float) -> None:
    pads = [shapely.box(0, 0, 1, 1), shapely.box(1.2, 0, 2.2, 1)]

    told = way_of(board_of(pads)).length(offset)

    # The facing edges go, and of four corners the directions within acos(0.1 / r) of the gap.
    gone = 2 + 4 * offset * math.acos(0.1 / offset)
    assert told == pytest.approx(2 * (4 + 2 * math.pi * offset) - gone, rel=ERROR)


@pytest.mark.parametrize(("offset", "inside"), [(0.3, 0.7), (0.95, 0.05), (1.1, 0.0)])
def test_inside_a_ring_the_pass_is_a_smaller_circle(offset: float, inside: float) -> None:
    # The parallel curve at r inside a circle of radius 1 is one of radius 1 - r.
    centre = shapely.Point(5, 5)
    ring = centre.buffer(2, quad_segs=90).difference(centre.buffer(1, quad_segs=90))

    way = way_of(board_of([ring]))

    assert way.length(offset) == pytest.approx(2 * math.pi * (2 + offset + inside), rel=ERROR)
    assert way.rings(offset) == pytest.approx(2 if inside else 1)


def test_in_a_notch_the_pass_gets_shorter_on_both_sides_of_an_inner_corner() -> None:
    # Of an inner right angle r is lost on each edge.
    angle = shapely.Polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 9), (0, 9)])

    told = way_of(board_of([angle])).length(0.5)

    assert told == pytest.approx(36 + 5 / 4 * 2 * math.pi * 0.5 - 2 * 0.5, rel=ERROR)


def test_passes_that_only_a_finer_tool_can_run_are_told_apart() -> None:
    pads = [shapely.box(0, 0, 1, 1), shapely.box(1.2, 0, 2.2, 1)]
    way = way_of(board_of(pads))

    fine, coarse = way.length(0.05, below=0.2), way.length(0.05, beyond=0.2)

    assert fine + coarse == pytest.approx(way.length(0.05))
    # Edges 0.2 mm apart, and corners as far as a disc of 0.2 mm meets the other pad.
    assert fine == pytest.approx(2 + 4 * 0.05 * math.acos(0.1 / 0.2), rel=ERROR)
    assert way.length(0.3, below=0.2) == 0.0


def test_both_sides_count() -> None:
    square = shapely.box(0, 0, 2, 2)

    way = way_of(board_of([square], [square]))

    assert way.sides == ("top", "bottom")
    assert way.length(0.1) == pytest.approx(2 * (8 + 2 * math.pi * 0.1))


def test_farther_than_discs_are_tried_it_is_an_upper_bound() -> None:
    pads = [shapely.box(0, 0, 1, 1), shapely.box(6, 0, 7, 1)]
    offset = FARTHEST + 1

    assert way_of(board_of(pads)).length(offset) >= constructed(board_of(pads), offset)


def test_without_copper_there_is_no_way() -> None:
    way = way_of(board_of([]))

    assert way.length(0.1) == 0.0
    assert way.rings(0.1) == 0.0


@pytest.mark.skipif(not BOARDS.is_dir(), reason="open boards are not beside the checkout")
@pytest.mark.parametrize("name", quick(["blinker", "hotpi", "clockblock"], ["blinker", "hotpi"]))
def test_where_every_gap_has_room_there_is_a_curve_for_each_edge(name: str) -> None:
    board = read_board([BOARDS / name])
    edges = sum(len(shapely.get_rings(layer.islands)) for layer in board.copper)

    # Edges in corners too narrow for the pass, and short ones that happen to have no point.
    assert way_of(board).rings(0.02) == pytest.approx(edges, rel=0.02)


# Against the construction


@pytest.mark.parametrize("family", sorted(set(FAMILIES) - {"dots"}))
@pytest.mark.parametrize("seed", seeds(2, 6))
def test_length_agrees_with_the_constructed_curve(family: str, seed: int) -> None:
    assert max(errors(board_of(layout(family, seed)))) <= ERROR


@pytest.mark.parametrize("seed", seeds(2, 6))
def test_round_dots_finer_than_the_tool_it_may_be_off_twice_as_far(seed: int) -> None:
    assert max(errors(board_of(layout("dots", seed)))) <= 2 * ERROR


def test_a_fifth_of_the_bound_is_usual() -> None:
    every = [one for seed in range(8) for one in errors(board_of(layout("ordinary", seed)))]

    assert math.sqrt(np.mean(np.square(every))) <= ERROR / 5


@pytest.mark.skipif(not BOARDS.is_dir(), reason="open boards are not beside the checkout")
@pytest.mark.parametrize("name", quick(["blinker", "hotpi", "pwm555"], ["blinker", "pwm555"]))
def test_length_agrees_with_the_constructed_curve_on_open_boards(name: str) -> None:
    assert max(errors(read_board([BOARDS / name]), (0.0513, 0.1037, 0.2039))) <= ERROR


# Whatever the drawing


@pytest.mark.parametrize("seed", range(2))
def test_it_does_not_matter_how_the_board_lies_or_is_drawn(seed: int) -> None:
    islands = layout("ordinary", seed)

    def lengths(changed: list[Any]) -> list[float]:
        way = way_of(board_of(changed))
        return [way.length(offset) for offset in OFFSETS]

    as_drawn = lengths(list(islands))
    assert lengths(list(islands[::-1])) == pytest.approx(as_drawn)
    moved = lengths([affinity.translate(one, 31, -17) for one in islands])
    turned = lengths([affinity.rotate(one, 90, origin=(0, 0)) for one in islands])
    assert moved == pytest.approx(as_drawn, rel=ERROR)
    assert turned == pytest.approx(as_drawn, rel=ERROR)


@pytest.mark.parametrize("family", ["ordinary", "pours"])
def test_passes_are_as_long_however_far_discs_are_tried(family: str) -> None:
    board = board_of(layout(family, 3))
    offsets = (*OFFSETS[:7], USUAL)

    near, far = way_of(board, USUAL), way_of(board)

    told = [near.length(offset) for offset in offsets]
    assert told == pytest.approx([far.length(offset) for offset in offsets], rel=1e-12)
    assert near.reach.max() == USUAL


def test_the_widest_discs_that_were_asked_for_answer_for_all() -> None:
    board = board_of(layout("ordinary", 3))

    far = way_of(board, 0.9)

    assert far.reach.max() == 0.9
    assert way_of(board, 0.43) is far
    assert way_of(board, 9.0).farthest == FARTHEST


@pytest.mark.parametrize("offset", [0.0, 0.1, 1.9])
def test_round_a_convex_figure_with_room_the_pass_is_as_long_as_it_may_be(offset: float) -> None:
    # Steiner's formula, as above.
    length, turn = whole_of(board_of([shapely.box(0, 0, 2, 2)]))

    assert length + offset * turn == pytest.approx(8 + 2 * math.pi * offset)


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_no_pass_is_longer_than_with_room_for_all_of_it(family: str) -> None:
    board = board_of(layout(family, 5))
    length, turn = whole_of(board)

    for offset in OFFSETS:
        assert way_of(board).length(offset) <= (length + offset * turn) * (1 + 1e-9)


@pytest.mark.parametrize("family", ["ordinary", "pours"])
def test_reach_is_that_of_the_nearest_other_copper(family: str) -> None:
    """The disc that touches at a point, built by GEOS, holds no copper; one a little wider does."""
    islands = layout(family, 7)
    way = way_of(board_of(islands))
    copper = shapely.union_all(islands)
    rows = np.flatnonzero((way.weight > 0) & (way.reach < FARTHEST))[::37]

    room = shapely.distance(copper.boundary, shapely.points(way.at[rows]))

    assert room == pytest.approx(np.zeros(len(rows)), abs=1e-9)
    free = [_free(copper, way.at[row], float(way.reach[row])) for row in rows.tolist()]
    assert all(free)


def _free(copper: Any, at: Any, reach: float) -> bool:
    """Whether on one side of a point some disc of that radius touches it and holds no copper."""
    turns = np.radians(np.arange(0, 360, 0.25))
    centres = at + reach * np.column_stack([np.cos(turns), np.sin(turns)])
    return bool(
        shapely.distance(copper, shapely.points(centres)).max() >= reach * (1 - 1e-4) - 1e-6
    )
