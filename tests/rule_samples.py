"""The two sample boards of each rule, read and judged once for all tests of a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from checker.engine import check
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board

if TYPE_CHECKING:
    from checker.board import Board
    from checker.findings import Report
    from checker.process.model import Process

FOLDER = Path(__file__).parents[1] / "samples" / "rules"


@cache
def process_of(rule: str, which: str = "bad") -> Process:
    """What a sample is judged by: its own profile, its rule's, or the default one."""
    own = [folder / "profile.yaml" for folder in (FOLDER / rule / which, FOLDER / rule)]
    return load_profile(next(filter(Path.exists, own), DEFAULT_PROFILE))


@cache
def board_of(rule: str, which: str = "bad") -> Board:
    return read_board([FOLDER / rule / which])


@cache
def report_of(rule: str, which: str = "bad") -> Report:
    return check(board_of(rule, which), process_of(rule, which))
