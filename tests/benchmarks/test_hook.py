"""What a commit waits for: the hook's command on a board that has changed, and on one that has not.

What counts is processor time of whole commands. An unchanged board is set against the start of an
interpreter that loads a YAML reader and a library for command lines; a changed one against the same
check without the cache. Both of a pair run in turn, in the same run; the ratios go to the report.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

from tests.benchmarks.timed import COMPILED, grid_of_leads, seconds

if TYPE_CHECKING:
    from pathlib import Path

    from pytest_benchmark.fixture import BenchmarkFixture

MOST_UNCHANGED, MOST_CHANGED = 3.0, 2.0
ROUNDS = 9
HOOK = ("--format", "concise")


def start() -> float:
    """Processor time of the start that the hook is measured by."""
    begin = os.times()
    subprocess.run([sys.executable, "-c", "import yaml, click"], check=True, env=COMPILED)
    end = os.times()
    return end.children_user + end.children_system - begin.children_user - begin.children_system


def test_an_unchanged_board_takes_little_more_than_a_start(
    benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    board = str(grid_of_leads(tmp_path / "grid"))
    seconds("check", board, *HOOK)
    bare, hook = [], []
    for _ in range(ROUNDS):
        bare.append(start())
        hook.append(seconds("check", board, *HOOK)[0])
    benchmark.extra_info |= {"start": min(bare), "hook": min(hook), "ratio": min(hook) / min(bare)}

    benchmark.pedantic(seconds, ("check", board, *HOOK), rounds=1)  # type: ignore[no-untyped-call]

    assert min(hook) / min(bare) <= MOST_UNCHANGED


def test_a_changed_board_takes_little_more_than_a_check(
    benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    board = grid_of_leads(tmp_path / "grid")
    changed, plain = [], []
    for number in range(3):
        with (board / "top.gbr").open("a", encoding="utf-8") as file:
            file.write(f"G04 {number}*\n")
        changed.append(seconds("check", str(board), *HOOK)[0])
        plain.append(seconds("check", str(board), "--no-cache")[0])
    ratio = min(changed) / min(plain)
    benchmark.extra_info |= {"changed": min(changed), "check": min(plain), "ratio": ratio}

    benchmark.pedantic(seconds, ("check", str(board), *HOOK), rounds=1)  # type: ignore[no-untyped-call]

    assert ratio <= MOST_CHANGED
