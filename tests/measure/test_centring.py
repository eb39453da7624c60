from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.board import Hole
from checker.measure.holes.centring import centring
from tests.coppered import Drawn, coppered, disk, drilled, trace

BOTTOM = np.array([1])


def test_a_round_pad_wins_what_its_hole_is_off() -> None:
    pad = [Drawn(disk(10.3, 10.4, 2.0), "NET"), trace("NET", 0.3, (10, 10), (20, 10))]
    board = coppered(drilled(10, 10, 0.8), bottom=pad).board

    away, gain = centring(board, np.array([0]), BOTTOM)

    # A right triangle of 0.3, 0.4 and 0.5 mm.
    assert away.tolist() == pytest.approx([0.5])
    assert gain.tolist() == pytest.approx([0.5], abs=1e-3)


def test_a_slot_is_moved_whole() -> None:
    slot = Hole(((9, 10), (11, 10)), 0.8, None, None, "holes.drl", 1)
    pad = shapely.box(8.4, 9.0, 12.0, 11.0)
    board = coppered(slot, bottom=[Drawn(pad, "NET"), trace("NET", 0.3, (10, 10), (10, 20))]).board

    away, gain = centring(board, np.array([0]), BOTTOM)

    # 0.6 mm to the left end of the pad and 1.0 mm to the right one, 0.8 mm to both in its middle.
    assert away.tolist() == pytest.approx([0.2])
    assert gain.tolist() == pytest.approx([0.2])


def test_a_pad_as_narrow_in_its_middle_wins_nothing() -> None:
    pad = [Drawn(shapely.box(8.0, 9.4, 15.0, 10.6), "NET"), trace("NET", 0.3, (10, 10), (20, 10))]
    board = coppered(drilled(10, 10, 0.8), bottom=pad).board

    away, gain = centring(board, np.array([0]), BOTTOM)

    assert (away.tolist(), gain.tolist()) == ([1.5], [0.0])


def test_a_hole_without_a_pad_has_nothing_to_win() -> None:
    board = coppered(drilled(10, 10, 0.8), bottom=[trace("NET", 0.3, (0, 0), (20, 0))]).board

    away, gain = centring(board, np.array([0]), BOTTOM)

    assert (away.tolist(), gain.tolist()) == ([0.0], [0.0])
