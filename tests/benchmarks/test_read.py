"""What reading a layer costs, against the one step of it that cannot be left out.

Run with ``pytest tests/benchmarks --benchmark-only``. Numbers go to the report; no test asserts a
time but the ratio of two steps measured one after the other in the same run.
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path
from typing import Any

import pytest
import shapely

from checker.read.gerber import flatten, parse_gerber

BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
pytestmark = pytest.mark.skipif(
    not BOARDS.is_dir(), reason="the open boards are not beside the checkout"
)

# 72 000 draws and flashes, 13 600 objects, 480 000 corners.
LARGEST = "limesdr-altium/Gerber/LimeSDR-QPCIe_1v2.GBL"
# 2 900 draws and flashes, a two-sided board of through-hole parts.
SMALL = "mainboard-diptrace/mainboard_Top.gbr"
MOST = 1.3


def read(text: str) -> Any:
    """A layer from text to islands: its objects."""
    objects = parse_gerber(text, "layer").objects
    flatten(objects)
    return objects


def seconds(work: Any) -> float:
    """Processor time of one call."""
    start = time.process_time()
    work()
    return time.process_time() - start


@pytest.mark.parametrize("name", [LARGEST, SMALL], ids=["largest", "small"])
def test_parse_and_flatten(benchmark: Any, name: str) -> None:
    text = (BOARDS / name).read_text(encoding="latin-1")

    benchmark.pedantic(read, args=(text,), rounds=5, warmup_rounds=1)


@pytest.mark.parametrize("name", [LARGEST], ids=["largest"])
def test_parse_alone(benchmark: Any, name: str) -> None:
    text = (BOARDS / name).read_text(encoding="latin-1")

    benchmark.pedantic(parse_gerber, args=(text, "layer"), rounds=5, warmup_rounds=1)


def test_largest_layer_takes_no_more_than_its_bare_union(benchmark: Any) -> None:
    text = (BOARDS / LARGEST).read_text(encoding="latin-1")
    shapes = read(text).shape

    ratios = [
        seconds(lambda: read(text)) / seconds(lambda: shapely.disjoint_subset_union_all(shapes))
        for _ in range(5)
    ]

    benchmark.extra_info["ratio"] = statistics.median(ratios)
    benchmark.pedantic(shapely.disjoint_subset_union_all, args=(shapes,), rounds=1)
    assert statistics.median(ratios) <= MOST
