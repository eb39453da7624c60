"""How long `check` takes on the sample boards, from the files to the text.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from checker import cli
from checker.console import CLEAN, FOUND

if TYPE_CHECKING:
    from pytest_benchmark.fixture import BenchmarkFixture

BOARDS = Path(__file__).parents[2] / "samples" / "boards"


@pytest.mark.parametrize("board", ["coop-door", "hive-scale", "tide-logger", "orchard-cam"])
def test_whole_check(board: str, tmp_path: Path, benchmark: BenchmarkFixture) -> None:
    report = tmp_path / "report.txt"

    line = ["check", str(BOARDS / board), "--no-cache", "--output", str(report)]
    status = benchmark(cli.main, line)

    assert status in (CLEAN, FOUND)
    assert report.read_text(encoding="utf-8")
