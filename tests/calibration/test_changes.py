"""What becomes of boards once the process is measured."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from checker import Verdict, check, compare, load_profile, measure, read_board
from checker.board import Board, Unchecked
from checker.calibration import Change, changes
from checker.measure import Facts, Reach

SAMPLES = Path(__file__).parents[2] / "samples" / "boards"
FINE, COARSE = load_profile("cone-30-0.1"), load_profile("flat-0.8")


def test_verdicts_are_those_of_a_check_with_either_profile() -> None:
    board = read_board([SAMPLES / "coop-door"])

    (change,) = changes([board], FINE, COARSE)

    before, after = compare(board, [FINE, COARSE]).rows
    assert change.name == "coop-door"
    assert (change.before, change.after) == (Verdict.MAKEABLE, Verdict.NOT_MAKEABLE)
    assert (change.before, change.after) == tuple(
        check(board, process).verdict for process in (FINE, COARSE)
    )
    assert (change.closed_before, change.closed_after) == (before.closed, after.closed)


def test_boards_may_be_named_by_their_paths() -> None:
    found = changes([SAMPLES / "coop-door", str(SAMPLES / "hive-scale")], FINE, FINE)

    silent = Unchecked(
        "voltages and currents",
        "no net has a voltage or a current: a board note or the profile can name them",
    )
    assert found == (
        Change("coop-door", Verdict.MAKEABLE, Verdict.MAKEABLE, 0, 0),
        Change("hive-scale", Verdict.MAKEABLE, Verdict.MAKEABLE, 0, 0, (silent,), (silent,)),
    )


def test_a_board_is_measured_once_for_both(monkeypatch: pytest.MonkeyPatch) -> None:
    measured: list[str] = []

    def counted(board: Board, reach: Reach) -> Facts:
        measured.append(board.name)
        return measure(board, reach)

    monkeypatch.setattr(sys.modules["checker.measure"], "measure", counted)

    changes([SAMPLES / "coop-door"], FINE, COARSE)

    assert measured == ["coop-door"]
