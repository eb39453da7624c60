"""How far holes may lie off, against discs moved in the copper by GEOS."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from checker.odds.rooms import WAYS, rooms_of
from tests.odds.boards import facts_of, plain, post, shop

if TYPE_CHECKING:
    from pathlib import Path

    from checker.board import Board

HOLE = 0.8


def board_with(shape: str, width: float, trace: float, folder: Path) -> Board:
    layout = plain()
    post(layout, 5.0, 5.0, "A", width, HOLE, shape)
    layout.track("bottom", trace, "A", (5.0, 5.0), (8.0, 6.5))
    return facts_of(layout, shop(), folder).board


def farthest(copper: shapely.Polygon, way: np.ndarray) -> float:
    """By bisection: a disc that moves from (5, 5) until it leaves the copper."""
    low, high = 0.0, 0.6
    for _ in range(30):
        step = (low + high) / 2
        hole = shapely.Point(*(np.array([5.0, 5.0]) + step * way)).buffer(HOLE / 2, quad_segs=200)
        low, high = (step, high) if copper.contains(hole) else (low, step)
    return low


@pytest.mark.parametrize(
    ("shape", "width", "trace"),
    [("circle", 1.0, 0.3), ("rect", 1.0, 0.3), ("circle", 1.1, 1.0), ("rect", 1.2, 0.95)],
)
def test_room_is_how_far_a_disc_goes_until_it_leaves(
    shape: str, width: float, trace: float, tmp_path: Path
) -> None:
    board = board_with(shape, width, trace, tmp_path)
    turn = 2 * np.pi * np.arange(WAYS) / WAYS
    ways = np.column_stack([np.cos(turn), np.sin(turn)])

    room = rooms_of(board, (HOLE,))[1].room(np.array([0]))[0, :WAYS]

    wanted = [farthest(board.copper[0].islands[0], way) for way in ways]
    assert room == pytest.approx(wanted, abs=0.002)


def test_wider_drill_has_less_room(tmp_path: Path) -> None:
    board = board_with("circle", 1.0, 0.3, tmp_path)

    drawn, wider = (rooms_of(board, (size,))[1].ring[0] for size in (HOLE, HOLE + 0.1))

    assert drawn - wider == pytest.approx(0.05)


def test_pad_that_nothing_leaves_has_nothing_to_lose(tmp_path: Path) -> None:
    layout = plain()
    post(layout, 5.0, 5.0, "A", 1.0, HOLE)
    board = facts_of(layout, shop(), tmp_path).board

    assert len(rooms_of(board, (HOLE,))[1].hole) == 0
