"""Places that once went wrong, and copper that touches."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from shapely import Polygon, box

from checker.measure import Gaps, Reach, measure
from checker.measure.boundary.segments import Segments
from checker.measure.gaps.census import ALIKE, census
from tests.layouts import board_of, layout
from tests.measure.test_gaps_against_closing import faults
from tests.oracles.closing import joined

SQUARE = box(0, 0, 1, 1)


def gaps_of(*islands: Polygon, reach: float = 0.5) -> Gaps:
    return measure(board_of(islands), Reach(cut=reach, copper=0.0)).gaps[0]


@pytest.mark.parametrize(
    "other",
    [box(1, 1, 2, 2), box(1, 0.2, 2, 0.8), Polygon([(1, 0.5), (2, 0), (2, 1)])],
    ids=["corner to corner", "edge to edge", "corner to edge"],
)
def test_islands_that_touch_are_a_gap_of_no_width(other: Polygon) -> None:
    gaps = gaps_of(SQUARE, other)

    assert set(gaps.distance) == {0.0}
    assert set(gaps.widest_cut[0.0]) == {0.0}


def test_a_straight_gap_is_one_place_in_its_middle() -> None:
    gaps = gaps_of(SQUARE, box(1.2, 0, 2, 1))

    assert gaps.distance == pytest.approx([0.2])
    assert gaps.widest_cut[0.0] == pytest.approx([0.2])
    assert ((gaps.a + gaps.b) / 2).ravel() == pytest.approx([1.1, 0.5])


def test_a_gap_beyond_the_reach_is_no_place() -> None:
    assert len(gaps_of(SQUARE, box(1.51, 0, 2, 1))) == 0


def test_a_gap_that_only_a_cut_beyond_the_reach_would_not_pass_is_open() -> None:
    # Two square corners facing diagonally pass a cut of (1 + sqrt 2) times their distance.
    gap = 0.3
    gaps = gaps_of(SQUARE, box(1 + gap / sqrt(2), 1 + gap / sqrt(2), 3, 3))

    assert gaps.distance == pytest.approx([gap])
    assert gaps.widest_cut[0.0] == [float("inf")]


@pytest.mark.parametrize("seed", range(6))
def test_pairs_asked_about_alone_have_the_gaps_they_have_among_all(seed: int) -> None:
    segments = Segments.of(np.array(layout("ordinary", seed)))
    every = census(segments, 0.5)
    pairs = np.column_stack([every.places.A, every.places.B])
    asked = np.unique(pairs, axis=0)[::3]

    alone = census(segments, 0.5, between=asked)

    ours = (pairs[:, None] == asked).all(axis=2).any(axis=1)
    assert 0 < len(alone.distance) < len(every.distance)
    assert alone.distance.tolist() == every.distance[ours].tolist()
    assert alone.width[0] == pytest.approx(every.width[0][ours], abs=ALIKE)


# A run with a bay in it whose other half is narrower; pockets between two arms of one island; a
# disc that bulges past the line between two points; a bay that the walk stepped over.
@pytest.mark.parametrize(
    ("family", "seed"),
    [
        *(("ordinary", seed) for seed in (648, 736, 947, 1028, 1093, 1573)),
        *(("stars", seed) for seed in (1, 17, 51, 60)),
        ("combs", 39),
    ],
)
def test_what_once_was_wrong_agrees_with_the_closing(family: str, seed: int) -> None:
    assert not faults(family, range(seed, seed + 1))


def test_the_oracle_tells_a_joint_from_a_gap() -> None:
    islands = layout("ordinary", 1)

    assert not joined(islands, 0.01)[0, 1:].any()
    assert joined(islands, 5.0).all()
