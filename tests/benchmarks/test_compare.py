"""Twenty bits judged together against one judged alone: whole commands, in the same run.

What counts is processor time of the commands, children of this process, so that what else the
machine does matters little. The ratio goes to the report beside both times.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from checker.process import profile_names
from tests.read.made import BOARDS, at, drill, write

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pytest_benchmark.fixture import BenchmarkFixture

MOST = 1.3
# On a small board one bit takes 2 s, a quarter of it to start; a census for the wide bits adds a
# seventh, the strips that another method's limits ask for a sixth, all the further bits a fifth.
MOST_SMALL = 1.6
BITS = 20
DEPTHS = (0.07, 0.08, 0.1, 0.12)  # mm, beside the 0.09 that the built-in profiles set
ROWS, PITCH = 22, 2.54


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


@pytest.fixture
def grid(tmp_path: Path) -> Path:
    """A two-sided board of 2 000 operations that the default profile makes.

    Leads on a grid of 2.54 mm: on the bottom a wire links each column of them, on the top one from
    the first lead of each row to its last goes between the rows.
    """
    pads = [f"{at(PITCH * i, PITCH * k)}D03*" for i in range(ROWS) for k in range(ROWS)]
    stubs, wires = [], []
    for k in range(ROWS):
        low, high = PITCH * (k + 0.5) - 0.02, PITCH * (k + 0.5) + 0.02
        steps = [at(PITCH * (i + 0.5), high if i % 2 else low) for i in range(ROWS - 1)]
        steps = [at(0, PITCH * k), *steps, at(PITCH * (ROWS - 1), PITCH * k)]
        wires += [f"{steps[0]}D02*", *(f"{step}D01*" for step in steps[1:])]
        column = [at(PITCH * k, PITCH * i) for i in range(ROWS)]
        stubs += [f"{column[0]}D02*", *(f"{step}D01*" for step in column[1:])]
    end, m = PITCH * (ROWS - 1), 6.0
    rim = [(-m, -m), (end + m, -m), (end + m, end + m), (-m, end + m), (-m, -m)]
    edge = [f"{at(*rim[0])}D02*", *(f"{at(*corner)}D01*" for corner in rim[1:])]
    holes = [f"X{PITCH * i:.3f}Y{PITCH * k:.3f}" for i in range(ROWS) for k in range(ROWS)]
    dowels = [f"X{place:.3f}Y{place:.3f}" for place in (2 - m, end + m - 2)]
    files = {
        "top.gbr": layer("Copper,L1,Top", ["D10*", *pads, "D11*", *wires]),
        "bottom.gbr": layer("Copper,L2,Bot", ["D10*", *pads, "D11*", *stubs]),
        "edge.gbr": layer("Profile,NP", ["D12*", *edge]),
        "holes.drl": drill(*holes, "T2", *dowels, tools="T1C0.8\nT2C3.0"),
    }
    write(tmp_path / "grid", files)
    return tmp_path / "grid"


def layer(function: str, lines: Sequence[str]) -> str:
    pens = "%ADD10C,1.6*%\n%ADD11C,0.26*%\n%ADD12C,0.1*%\n"
    body = "\n".join(["G01*", *lines])
    return f"%TF.FileFunction,{function}*%\n%FSLAX46Y46*%\n%MOMM*%\n{pens}{body}\nM02*\n"


def seconds(*arguments: str) -> tuple[float, int]:
    """Processor time of one command, and its exit status."""
    begin = os.times()
    command = [sys.executable, "-m", "checker", *arguments]
    status = subprocess.run(command, capture_output=True, check=False).returncode
    end = os.times()
    used = end.children_user + end.children_system - begin.children_user - begin.children_system
    return used, status


def ratio(benchmark: BenchmarkFixture, board: Path, bits: list[str], rounds: int) -> float:
    """The least time of all bits together against the least time of the default one alone."""
    each = [argument for bit in bits for argument in ("-p", bit)]
    alone, together = [], []
    for _ in range(rounds):
        alone.append(seconds("check", str(board)))
        together.append(seconds("compare", str(board), *each))
    assert {status for _, status in alone + together} <= {0, 1}
    one, many = min(alone)[0], min(together)[0]
    benchmark.extra_info |= {"one": one, "twenty": many, "ratio": many / one}
    benchmark.pedantic(seconds, ("compare", str(board), *each), rounds=1)  # type: ignore[no-untyped-call]
    return many / one


def test_twenty_bits_on_a_board_of_2000_operations(
    benchmark: BenchmarkFixture, grid: Path, bits: list[str]
) -> None:
    assert seconds("check", str(grid))[1] == 0  # the default makes it: nothing is cut short

    assert ratio(benchmark, grid, bits, rounds=3) <= MOST_SMALL


@pytest.mark.parametrize("name", ["openbci-cyton", "limesdr-altium"])
def test_twenty_bits_on_an_open_board(
    benchmark: BenchmarkFixture, name: str, bits: list[str]
) -> None:
    if not BOARDS.is_dir():
        pytest.skip(f"the open boards are not at {BOARDS}")

    assert ratio(benchmark, BOARDS / name, bits, rounds=1) <= MOST
