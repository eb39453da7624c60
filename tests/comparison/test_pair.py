"""The pair of bits: lengths against GEOS, and that a pair is only told where it is worth it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board
from checker.comparison import Pair, compare
from checker.findings import Verdict
from checker.process import load_profile
from checker.process.model import Process
from tests.layouts import board_of

FINE, COARSE = load_profile("cone-10-0.1"), load_profile("flat-0.4")


def two_squares(gap: float, count: int = 1) -> Board:
    """Pairs of squares of 5 mm, ``gap`` apart, 4 mm from pair to pair."""
    return board_of(
        [
            shapely.box(x, y, x + 5, y + 5)
            for row in range(count)
            for y in [9 * row]
            for x in (0, 5 + gap)
        ]
    )


def pair_of(board: Board, *processes: Process) -> Pair | None:
    return compare(board, processes).pair


def test_the_fine_bit_cuts_only_the_gap_and_the_coarse_bit_all_the_rest() -> None:
    board = two_squares(0.3, count=12)

    pair = pair_of(board, FINE, COARSE)

    assert pair is not None
    assert (pair.fine, pair.coarse) == ("cone-10-0.1", "flat-0.4")
    # The gap is 5 mm long, and each square has its pass in it; the fine bit clears as much as the
    # gap gives room for.
    assert FINE.cut is not None
    assert COARSE.cut is not None
    passes = sum(
        offset * 2 <= 0.3 + 1e-6 for offset in np.arange(FINE.cut.nominal / 2, 0.15 + 1e-9, 0.01)
    )
    assert passes > 0
    assert 12 * 2 * 5 <= 1000 * pair.fine_metres <= 12 * 2 * 5 * 3.2
    islands = shapely.union_all(board.copper[0].islands)
    outside = shapely.buffer(islands, 0.15).buffer(COARSE.cut.nominal / 2 - 0.15)
    assert 1000 * pair.coarse_metres == pytest.approx(outside.length, rel=0.05)


def test_a_pair_takes_less_time_than_the_fine_bit_alone_by_what_it_says() -> None:
    board = two_squares(0.3, count=12)
    found = compare(board, [FINE, COARSE])

    alone = next(row for row in found.rows if row.process is FINE).work.tools[0].minutes
    assert found.pair is not None
    assert alone is not None
    assert found.pair.saved == pytest.approx(alone - found.pair.minutes)
    assert found.pair.saved > 1


def test_no_pair_where_the_coarse_bit_does_it_alone() -> None:
    assert pair_of(two_squares(2.0, count=12), FINE, COARSE) is None


def test_no_pair_for_a_board_so_small_that_the_change_of_bit_takes_longer() -> None:
    assert pair_of(two_squares(0.3), FINE, COARSE) is None


def test_no_pair_with_a_coarse_bit_that_leaves_foil() -> None:
    bit = COARSE.bit
    assert bit is not None
    shallow = replace(COARSE, bit=replace(bit, depth=FINE.bit.depth), bed_error=0.06)  # type: ignore[union-attr]

    assert pair_of(two_squares(0.3, count=12), FINE, shallow) is None


def test_no_pair_where_no_bit_makes_the_board() -> None:
    found = compare(two_squares(0.05, count=12), [FINE, COARSE])

    assert {row.verdict for row in found.rows} == {Verdict.NOT_MAKEABLE}
    assert found.pair is None
