"""Slots within one island on a wheel of ever finer teeth, where every wall is near to many others.

Processor time of a wheel of 5 000 corners against one of a quarter of that, whose walls have a
quarter of the neighbours: the exponent goes to the report. Closing the copper, which GEOS does, is
most of what is left.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

import math
import time
from typing import TYPE_CHECKING

from checker.measure.copper.slots import slots_of
from tests.measure.test_slots import board, teeth

if TYPE_CHECKING:
    from pytest_benchmark.fixture import BenchmarkFixture

CUT, LEAST, SQUARES = 0.17, 3.4, 10  # as the rule asks for a fine bit
MOST_EXPONENT = 1.9


def seconds(count: int) -> float:
    begin = time.process_time()
    slots_of(board(teeth(count)), CUT, LEAST, SQUARES)
    return time.process_time() - begin


def test_a_wheel_of_many_teeth(benchmark: BenchmarkFixture) -> None:
    few = min(seconds(625) for _ in range(3))
    many = min(seconds(2500) for _ in range(2))

    benchmark.pedantic(seconds, (2500,), rounds=1)  # type: ignore[no-untyped-call]
    exponent = math.log(many / few, 4)
    benchmark.extra_info |= {"1 250 corners": few, "5 000 corners": many, "exponent": exponent}
    assert exponent <= MOST_EXPONENT
