"""All rules against the gap census alone, on the largest open board.

Both run in one process, one after the other on the same board; the ratio is what counts. The rules
measure what they ask for, so their time holds every fact but the two censuses.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from checker.engine import check, reach_for
from checker.measure import Reach, measure
from checker.process import load_profile
from checker.read import read_board

if TYPE_CHECKING:
    from pytest_benchmark.fixture import BenchmarkFixture

BOARD = Path(__file__).parents[2].parent / "shared" / "boards" / "limesdr-altium"


def test_all_rules_against_the_gap_census(benchmark: BenchmarkFixture) -> None:
    if not BOARD.is_dir():
        pytest.skip(f"the open boards are not at {BOARD.parent}")
    process = load_profile("cone-30-0.1")
    board = read_board([BOARD])
    begin = time.perf_counter()
    measure(board, Reach(reach_for(process).cut, 0.0))
    census = time.perf_counter() - begin

    begin = time.perf_counter()
    report = benchmark.pedantic(check, (board, process), rounds=1)  # type: ignore[no-untyped-call]
    ratio = (time.perf_counter() - begin) / census

    benchmark.extra_info["ratio to the gap census alone"] = ratio
    assert report.findings
