"""Twenty bits judged together against one judged alone: whole commands, in the same run.

What counts is processor time of the commands, children of this process, so that what else the
machine does matters little. The ratio goes to the report beside both times, and so does that by the
clock, which counts on two idle processors only.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import pytest

from checker.process import profile_names
from tests.benchmarks.timed import cost, grid_of_leads, seconds
from tests.read.made import BOARDS

if TYPE_CHECKING:
    from pytest_benchmark.fixture import BenchmarkFixture

SAMPLES = Path(__file__).parents[2] / "samples" / "boards"
MOST = 1.3
MOST_SMALL = 1.4  # of boards that one bit is soon judged on: a run is off by a tenth there
ROUNDS = 5
BITS = 20
DEPTHS = (0.07, 0.08, 0.1, 0.12)  # mm, beside the 0.09 that the built-in profiles set


@pytest.fixture
def bits(tmp_path: Path) -> list[str]:
    """All built-in profiles and cones at other depths."""
    cones = [name for name in profile_names() if name.startswith("cone")]
    variants = [f"{name} at {depth}" for depth in DEPTHS for name in cones]
    for name in variants:
        base, _, depth = name.partition(" at ")
        text = f"based_on: {base}\nbit:\n  depth: {depth} mm ± 0.01 mm\n"
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    files = [str(tmp_path / f"{name}.yaml") for name in variants]
    return [*profile_names(), *files][:BITS]


def ratio(benchmark: BenchmarkFixture, board: Path, bits: list[str]) -> float:
    """The least time of all bits together against the least time of the default one alone."""
    each = [argument for bit in bits for argument in ("-p", bit)]
    alone, together = [], []
    for _ in range(ROUNDS):
        alone.append(cost("checker", "check", str(board), "--no-cache"))
        together.append(cost("checker", "compare", str(board), *each))
    assert {one.status for one in alone + together} <= {0, 1}
    one, many = (min(run.seconds for run in runs) for runs in (alone, together))
    clock = [median(run.elapsed for run in runs) for runs in (alone, together)]
    benchmark.extra_info |= {
        "one": one,
        "twenty": many,
        "ratio": many / one,
        "one by the clock": clock[0],
        "twenty by the clock": clock[1],
        "ratio by the clock": clock[1] / clock[0],
    }
    benchmark.pedantic(seconds, ("compare", str(board), *each), rounds=1)  # type: ignore[no-untyped-call]
    return many / one


def test_twenty_bits_on_a_board_of_2000_operations(
    benchmark: BenchmarkFixture, tmp_path: Path, bits: list[str]
) -> None:
    grid = grid_of_leads(tmp_path / "grid")

    _, status = seconds("check", str(grid), "--no-cache")
    assert status == 0  # the default makes it: nothing is cut short

    assert ratio(benchmark, grid, bits) <= MOST


@pytest.mark.parametrize("name", ["coop-door", "hive-scale"])
def test_twenty_bits_on_a_sample(benchmark: BenchmarkFixture, name: str, bits: list[str]) -> None:
    assert ratio(benchmark, SAMPLES / name, bits) <= MOST_SMALL


@pytest.mark.parametrize("name", ["freeduino", "openbci-cyton", "limesdr-altium"])
def test_twenty_bits_on_an_open_board(
    benchmark: BenchmarkFixture, name: str, bits: list[str]
) -> None:
    if not BOARDS.is_dir():
        pytest.skip(f"the open boards are not at {BOARDS}")

    assert ratio(benchmark, BOARDS / name, bits) <= MOST
