"""Two trees for the same questions: rtree's, and that of shapely, through which bulk queries go.

Questions as they are asked of a board: boxes of all boundary segments grown by a reach, against
the tree over them; the nearest named thing of a point, one at a time; one more thing put in.
Numbers go to the report.

Run with: python -m pytest -o addopts=--import-mode=importlib --benchmark-only tests/benchmarks
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from rtree import index

from checker.measure.boundary.segments import Segments
from checker.read import read_board
from tests.read.made import BOARDS

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytest_benchmark.fixture import BenchmarkFixture

REACH = 0.28  # mm


def took(work: Callable[[], Any]) -> float:
    """Processor time of one call, the least of three."""
    least = np.inf
    for _ in range(3):
        begin = time.process_time()
        work()
        least = min(least, time.process_time() - begin)
    return float(least)


@pytest.mark.parametrize("name", ["freeduino", "openbci-cyton"])
def test_trees(benchmark: BenchmarkFixture, name: str) -> None:
    if not BOARDS.is_dir():
        pytest.skip(f"the open boards are not at {BOARDS}")
    layer = next(la for la in read_board([BOARDS / name]).copper if la.side == "top")
    lines = Segments.of(layer.islands).lines
    boxes = shapely.bounds(lines)
    low, high = boxes[:, :2] - REACH, boxes[:, 2:] + REACH
    windows = shapely.box(*low.T, *high.T)
    rows = np.arange(len(boxes))
    places = shapely.get_coordinates(shapely.centroid(layer.objects.shape[::10]))

    def bulk() -> index.Index:
        stream = ((row, box, None) for row, box in zip(rows.tolist(), boxes.tolist(), strict=True))
        return index.Index(stream)

    def one_by_one() -> index.Index:
        grown = index.Index()
        for row, box in zip(rows[:5000].tolist(), boxes[:5000].tolist(), strict=True):
            grown.insert(row, box)
        return grown

    tree, other = shapely.STRtree(lines), bulk()
    in_bulk: Any = other.intersection_v
    found = {
        "segments": float(len(lines)),
        "load, shapely": took(lambda: shapely.STRtree(lines)),
        "load, rtree": took(bulk),
        "boxes in bulk, shapely": took(lambda: tree.query(windows)),
        "boxes in bulk, rtree": took(lambda: in_bulk(low, high)),
        "nearest one by one, shapely": took(
            lambda: [tree.nearest(shapely.Point(*place)) for place in places]
        ),
        "nearest one by one, rtree": took(
            lambda: [list(other.nearest((*place, *place), 1)) for place in places.tolist()]
        ),
        "5000 insertions, rtree": took(one_by_one),
        "5000 loads anew, shapely, a hundredth of them": took(
            lambda: [shapely.STRtree(lines[:size]) for size in range(0, 5000, 100)]
        ),
    }
    benchmark.extra_info |= found
    benchmark.pedantic(tree.query, (windows,), rounds=1)  # type: ignore[no-untyped-call]

    hits, counts = in_bulk(low, high)
    assert len(hits) == counts.sum() == len(tree.query(windows)[0])
