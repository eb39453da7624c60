"""The census measures few minima of a run: against measuring each of them by itself.

The board is an open one whose pours are stairs of 0.05 mm, so that runs hold dozens of minima.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.measure.boundary.minima import clusters, double_normals, screen, stretches
from checker.measure.boundary.segments import Segments
from checker.measure.gaps.census import ALIKE, census
from checker.measure.gaps.cuts import widest_cuts
from checker.measure.gaps.walk import Places
from checker.measure.gaps.window import Windows
from checker.read import read_board
from tests.read.made import BOARDS

REACH = 0.28
PIECE = shapely.box(32, 0, 80, 30)  # of the board, mm
EXACT = 0.001  # mm: what walk and window leave open


def test_a_run_is_told_by_the_least_of_all_its_minima() -> None:
    if not BOARDS.is_dir():
        pytest.skip(f"the open boards are not at {BOARDS}")
    board = read_board([str(BOARDS / "gyro-fritzing")])
    layer = next(layer for layer in board.copper if layer.side == "bottom")
    segments = Segments.of(shapely.get_parts(shapely.intersection(layer.islands, PIECE)))
    normals = double_normals(segments, REACH)
    normals = normals.take(screen(segments, normals))
    island_a, island_b = segments.island[normals.i], segments.island[normals.j]
    run = clusters(stretches(segments, normals), normals.distance, island_a, island_b)
    each = Places(island_a, island_b, normals.a, normals.b)
    reach = np.full(len(run), REACH)

    found = census(segments, REACH).width[0]

    cuts = widest_cuts(segments, each, reach)
    width, doubt = cuts.width[0], np.flatnonzero(cuts.doubt[0])
    windows = Windows(segments.polygons)
    width[doubt] = windows.settle(each.take(doubt), width[doubt], reach[doubt], 0.0)
    _, group = np.unique(run, return_inverse=True)
    least = np.full(len(found), np.inf)
    np.minimum.at(least, group, np.where(width < REACH, width, np.inf))
    assert len(found) > 1400
    assert found == pytest.approx(least, abs=ALIKE + EXACT)
