"""An open board has as many findings of each rule wherever it lies and whichever way it is turned.

Of the board whose round edge is drawn in chords places of copper at the edge are left out: where
one side of it ends and the next begins hangs on which way round it is drawn.
"""

from __future__ import annotations

from collections import Counter

import pytest

from checker.board import Board
from checker.engine import check
from checker.process import load_profile
from checker.read import read_board
from tests.read.made import BOARDS, needs_boards
from tests.transforms import MOTIONS, Motion, moved

QUICK = ("blinker",)
LONG = (
    "clockblock", "ds3231-breakout", "freeduino", "freevse", "herovco-back", "hotpi",
    "librepcb-test", "mppt-2420", "openbci-cyton", "pmw3360-fusion", "pwm555", "simplefoc-shield",
    "snark-barker", "usbtinyisp-ss",
)  # fmt: skip
UNSURE = {"clockblock": "copper-at-edge"}
DEFAULT = "cone-30-0.1"
LONGER = pytest.mark.long
ROUNDED = (("mppt-2420", "flat-0.4"),)
"""Three gaps are as wide as what is at the limit may be, to the last digit: rounding decides."""


def found(board: Board, profile: str) -> Counter[tuple[str, str]]:
    findings = check(board, load_profile(profile)).findings
    unsure = UNSURE.get(board.name)
    return Counter((one.rule, one.seen.state.name) for one in findings if one.rule != unsure)


EACH = [
    pytest.param(name, profile, marks=[] if (name in QUICK and profile == DEFAULT) else LONGER)
    for name in (*QUICK, *LONG)
    for profile in (DEFAULT, "flat-0.4")
    if (name, profile) not in ROUNDED
]


@needs_boards
@pytest.mark.parametrize(("name", "profile"), EACH)
@pytest.mark.parametrize("motion", MOTIONS.values(), ids=MOTIONS)
def test_findings_of_a_board_moved_turned_or_mirrored(
    name: str, profile: str, motion: Motion
) -> None:
    board = read_board([BOARDS / name])

    assert found(moved(board, motion), profile) == found(board, profile)
