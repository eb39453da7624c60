"""Runs pass over what cannot be a double normal: against asking every pair of segments."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from checker.measure.boundary import minima
from checker.measure.boundary.boxes import MOST
from checker.measure.boundary.minima import double_normals, facing
from checker.measure.boundary.runs import Runs
from checker.measure.boundary.segments import Segments
from tests.examples import seeds
from tests.layouts import FAMILIES, layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Ints


def every(_: Runs, i: Ints, j: Ints) -> NDArray[np.bool_]:
    """Any runs may hold a pair."""
    return np.ones(np.broadcast(i, j).shape, dtype=bool)


@pytest.mark.parametrize("inside", [False, True])
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", seeds(4, 100))
def test_runs_pass_over_no_double_normal(seed: int, family: str, inside: bool) -> None:
    segments = Segments.of(np.array(layout(family, seed), object))
    island = segments.island

    def wanted(i: Ints, j: Ints) -> NDArray[np.bool_]:
        pairs: NDArray[np.bool_] = (
            (island[i] == island[j]) & (i < j) if inside else island[i] < island[j]
        )
        return pairs

    found = double_normals(segments, 0.6, inside=inside)

    sign = -1.0 if inside else 1.0
    pairs = [
        (i, j)
        for near in facing(segments, 0.6, wanted, every, inside=inside)
        for kept in (near.take(minima._is_minimum(segments, near, sign)),)
        for i, j in zip(kept.i.tolist(), kept.j.tolist(), strict=True)
    ]
    assert sorted(zip(found.i.tolist(), found.j.tolist(), strict=True)) == sorted(pairs)


def test_a_run_ends_with_its_ring() -> None:
    disc = shapely.Point(0, 0).buffer(1, quad_segs=5)
    ring = disc.difference(shapely.Point(0, 0).buffer(0.5, quad_segs=3))
    segments = Segments.of(np.array([ring], object))

    runs = Runs.of_segments(segments)

    assert (segments.ring[runs.first[runs.of]] == segments.ring).all()
    assert np.bincount(runs.of).max() <= MOST


def test_a_run_that_turns_back_has_no_direction() -> None:
    comb = shapely.box(0, 0, 0.2, 1)

    runs = Runs.of_segments(Segments.of(np.array([comb], object)))

    assert runs.spread.tolist() == [np.pi]


def test_the_tree_finds_segments_in_the_order_of_their_rank() -> None:
    segments = Segments.of(np.array(layout(min(FAMILIES), 1), object))
    for x, y in np.random.default_rng(1).uniform(-2, 8, (50, 2)).tolist():
        found = segments.tree.query(shapely.box(x, y, x + 3, y + 2))
        assert (np.diff(segments.rank[found]) > 0).all()
    assert sorted(segments.rank.tolist()) == list(range(len(segments)))
