"""Open boards: which islands a cut joins, against the full closing of the layer."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from checker.measure import Reach, measure
from checker.read import read_board
from tests.oracles.closing import equivalence, joined

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
WIDTHS = (0.12, 0.16, 0.18, 0.22, 0.26, 0.31, 0.36, 0.42)
WITHIN = 0.002  # mm: nearer to a widest cut than this, either answer is right
SMALL = (*("blinker", "ds3231-breakout", "pdstepper-power", "pmw3360-fusion", "usbtinyisp-ss"),)
LARGER = (
    *("carte-test", "clockblock", "freeduino", "hotpi", "librepcb-test", "mppt-2420"),
    *("mainboard-diptrace", "precadsr-aux", "pwm555"),
    *("openbci-cyton", "snark-barker", "stepper-geda"),
)

pytestmark = pytest.mark.skipif(
    not BOARDS.is_dir(), reason="the open boards are not beside the checkout"
)


def check_board(name: str) -> None:
    board = read_board([BOARDS / name])
    facts = measure(board, Reach(cut=max(WIDTHS) + 0.01, copper=0.0))
    judged = 0
    for layer, gaps in zip(board.copper, facts.gaps, strict=True):
        if not gaps.reach:  # an inner layer, out of a cutter's reach
            continue
        cut = gaps.widest_cut[0.0]
        for width in WIDTHS:
            if len(cut) and np.abs(cut - width).min() < WITHIN:
                continue
            linked = gaps.islands[cut < width]
            found = equivalence(len(layer.islands), linked[:, 0], linked[:, 1])

            assert np.array_equal(found, joined(list(layer.islands), width)), (layer.side, width)
            judged += 1
    assert judged


@pytest.mark.parametrize("name", SMALL)
def test_joined_islands_of_small_boards_are_those_of_the_closing(name: str) -> None:
    check_board(name)


@pytest.mark.long
@pytest.mark.parametrize("name", LARGER)
def test_joined_islands_of_larger_boards_are_those_of_the_closing(name: str) -> None:
    check_board(name)
