"""How much copper edge lies near other copper edge, told before gaps and necks are measured on it.

The work of measuring grows with the pairs of straight stretches of edge that come within a cutter's
reach of each other, not with the size of a file: a thousand dots of 0.01 mm on a grid of 0.02 mm
have as many as the largest open board. What is beyond the bounds here is broken or hostile, mostly
a board read at a tenth of its size or less.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.errors import ReadError

if TYPE_CHECKING:
    from checker.board import Floats, Ints, Shapes

NEAR = 0.3  # mm by which the boxes of two stretches may be apart; widths of cuts are about that

# Pairs of all stretches with all, counted from both, some 1 us each; the largest open board has ten
# million. And those of one run with all, some 300 bytes each, for that many are looked at together;
# the open boards have 1.4 million at most.
MOST = 160_000_000
RUN = 20_000
MOST_OF_RUN = 8_000_000

_SOME, _OF_RUN = 3_000, 300  # stretches, drawn at random, that stand for all and for a run


def check_density(islands: Shapes, name: str) -> None:
    """See that the islands of a layer can be measured in minutes and a few GiB.

    Raises:
        ReadError: their edges lie near each other beyond all bounds.
    """
    near = neighbours(islands)
    for count, most in ((sum(near), MOST), (max(near, default=0.0), MOST_OF_RUN)):
        if count > most:
            raise ReadError(
                name,
                f"copper so fine and dense that {count / 1e6:.0f} million pairs of straight "
                f"stretches of its edge lie within {NEAR:g} mm of each other",
                f"{most // 1_000_000} million at most",
                "check the unit and the number format of the file",
            )


def neighbours(islands: Shapes) -> list[float]:
    """How many pairs each run of `RUN` straight stretches of the boundary has with all of them.

    Stretches pair where their boxes come within `NEAR`. Exact for few stretches; of many, random
    samples are looked at.
    """
    points, ring = shapely.get_coordinates(shapely.get_rings(islands), return_index=True)
    starts = np.flatnonzero(ring[1:] == ring[:-1])
    random = Random(0)  # the one of numpy takes 10 ms to load, for which every check would wait
    tree = shapely.STRtree(_boxes(points, _sample(random, starts, _SOME)))
    weight = len(starts) / max(len(tree), 1)
    found = []
    for first in range(0, len(starts), RUN):
        run = starts[first : first + RUN]
        some = _sample(random, run, _SOME if len(starts) <= _SOME else _OF_RUN)
        met = tree.query(_boxes(points, some)).shape[1]
        found.append(met * weight * len(run) / len(some))
    return found


def _sample(random: Random, rows: Ints, most: int) -> Ints:
    if len(rows) <= most:
        return rows
    chosen: Ints = rows[random.sample(range(len(rows)), most)]
    return chosen


def _boxes(points: Floats, starts: Ints) -> Shapes:
    """Boxes of stretches from these points to the next, wider by half of `NEAR` all round."""
    a, b = points[starts], points[starts + 1]
    low, high = np.minimum(a, b) - NEAR / 2, np.maximum(a, b) + NEAR / 2
    boxes: Shapes = shapely.box(*low.T, *high.T)
    return boxes
