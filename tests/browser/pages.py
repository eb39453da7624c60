"""Boards judged and written as pages, once for all tests."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from checker.board import Board
from checker.engine import check, reach_for
from checker.findings import Report
from checker.measure import Facts, measure
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from checker.report.html import html_page

SAMPLES = Path(__file__).parents[2] / "samples"


@cache
def board_of(name: str) -> Board:
    return read_board([SAMPLES / name])


@cache
def judged(name: str, profile: str) -> tuple[Report, Facts]:
    board, process = board_of(name), load_profile(profile)
    facts = measure(board, reach_for(process))
    return check(board, process, facts=facts), facts


@cache
def page(name: str, profile: str = "cone-30-0.1") -> str:
    return html_page([judged(name, profile)], 1.0)


def judged_anew(name: str, process: Process) -> tuple[Report, Facts]:
    """As the command does it: measured for this process and no other."""
    board = board_of(name)
    facts = measure(board, reach_for(process))
    return check(board, process, facts=facts), facts
