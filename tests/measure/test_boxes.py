"""Boxes in groups meet those that each of them meets by itself."""

from __future__ import annotations

import numpy as np
import pytest

from checker.measure.boundary.boxes import MOST, Boxes, Grouped, first_rows
from tests.examples import seeds


def grouped(rng: np.random.Generator, count: int) -> Grouped:
    """Boxes along a way, in rings of any length."""
    low = np.cumsum(rng.normal(0, 0.3, (count, 2)), axis=0)
    ring = np.sort(rng.integers(0, max(1, count // 5), count))
    return Grouped.of(Boxes.of(low, low + rng.uniform(0, 0.4, (count, 2))), first_rows(ring))


@pytest.mark.parametrize("seed", seeds(6, 100))
def test_groups_find_every_pair_of_boxes_that_meet_once(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, other = grouped(rng, 60), grouped(rng, 40)

    found = one.meeting(other)

    i, j = np.divmod(np.arange(60 * 40), 40)
    met = one.each.meet(i, other.each, j)
    pairs = sorted(zip(*(side.tolist() for side in found), strict=True))
    assert pairs == list(zip(i[met].tolist(), j[met].tolist(), strict=True))


def test_a_group_is_of_one_ring_and_of_few() -> None:
    ring = np.repeat([0, 1, 2], [3, 30, 1])
    first = first_rows(ring)
    groups = np.split(ring, first[1:])
    assert all(len(set(group.tolist())) == 1 and len(group) <= MOST for group in groups)
