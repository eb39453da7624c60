"""Thin copper in boxes is that of the whole; what stays beside a line is told by stretches."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
import shapely

from checker.relief.limits import Kept
from checker.relief.thin import thin_in

LEAST = 0.3
EXACT = 1e-9


def comb(seed: int) -> shapely.Polygon:
    """A bar with teeth, some of them narrower than copper may be."""
    rng, parts = Random(f"comb {seed}"), [shapely.box(0, 0, 40, 1)]
    for x in range(1, 39, 2):
        width, length = rng.uniform(0.1, 0.8), rng.uniform(1, 4)
        tooth = shapely.box(x, 0.5, x + width, length)
        parts.append(shapely.affinity.rotate(tooth, rng.uniform(-20, 20), origin=(x, 0.5)))
    return shapely.union_all(parts)


@pytest.mark.parametrize("seed", range(10))
def test_in_a_box_the_same_is_thin_as_in_the_whole(seed: int) -> None:
    islands = np.array([comb(seed), shapely.affinity.translate(comb(seed + 100), 0, -10)])
    boxes = [(5.0, 0.0, 9.0, 3.0), (20.0, -10.0, 23.0, -7.0), (22.0, -9.0, 24.0, -8.0)]
    whole, owner = thin_in(islands, LEAST)
    found, of = thin_in(islands, LEAST, boxes)
    assert len(whole) > len(found) > 0
    around = shapely.union_all([shapely.box(*box) for box in boxes])
    for island in range(len(islands)):
        one, other = (
            shapely.intersection(shapely.union_all(some[rows == island]), around)
            for some, rows in ((whole, owner), (found, of))
        )
        assert shapely.area(shapely.symmetric_difference(one, other)) < EXACT


@pytest.mark.parametrize("seed", range(20))
def test_what_stays_beside_a_line_is_what_is_near_to_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shapes = shapely.buffer(shapely.points(rng.uniform(0, 20, (300, 2))), 0.2)
    kept = Kept(shapes, np.zeros(300, dtype=np.int64))
    line = shapely.LineString(np.cumsum(rng.uniform(-0.5, 0.6, (rng.integers(2, 90), 2)), axis=0))
    near = kept.beside(line, 0.5)
    assert near.tolist() == kept.tree.query(line, "dwithin", distance=0.5).tolist()
