"""How often lines cross, told before work is done whose time grows with it.

A file of n lines that all cross has n²/4 crossings and as many faces between them, however short
it is. No board comes near: the bounds here are for files that are broken or hostile.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from checker.board import Floats, Ints, Shapes

# Crossings that one layer may have: a square of 100 mm hatched crosswise at 0.4 mm has 62 500. The
# open boards have 15 000 at most.
MOST_CROSSINGS = 80_000

# Things, drawn at random, whose pairs are counted, and pairs of their boxes that are looked at.
_SAMPLE = 1_500
_LOOKS = 50_000
_CHUNK = 16

# Segments of a piece of a chain, and the pieces that a piece may meet in the middle. On the open
# boards a piece meets at most 16.
PIECE = 8
_CROWD = 20
SHORT = PIECE * _CROWD  # points of a chain that is never crowded


def crossings(lines: Any) -> float:
    """How often the segments of a LineString, or of an array of them, cross, all with all.

    Exact for few segments; of many, a random sample is looked at.
    """
    points, index = shapely.get_coordinates(lines, return_index=True)
    pairs = np.stack([points[:-1], points[1:]], axis=1)[np.diff(index) == 0]
    return meetings(shapely.linestrings(pairs), "crosses") if len(pairs) > 1 else 0.0


def meetings(shapes: Shapes, how: str) -> float:
    """Of how many pairs of two shapes one meets the other, by a symmetric predicate of shapely.

    Exact for few shapes; of many, a random sample is looked at.
    """
    # Python's own: the one of numpy takes 10 ms to load, for which every check would wait.
    some = shapes[Random(0).sample(range(len(shapes)), min(len(shapes), _SAMPLE))]
    tree = shapely.STRtree(some)
    meets = getattr(shapely, how)
    found = 0.0
    looks = asked = 0
    while asked < len(some) and looks < _LOOKS:
        chunk = some[asked : asked + _CHUNK]
        shapely.prepare(chunk)
        a, b = tree.query(chunk)
        looks += len(a)
        two = a + asked != b
        asked += len(chunk)
        found += meets(chunk[a[two]], some[b[two]]).sum()
    return float(found / 2 * len(some) / max(asked, 1) * (len(shapes) / max(len(some), 1)) ** 2)


def pieces(points: Floats) -> Floats:
    """A chain of (n, 2) points cut into (m, PIECE + 1, 2), each beginning where one ends.

    The last one stays at the last point.
    """
    first = np.arange(0, len(points) - 1, PIECE)
    rows = np.minimum(first[:, None] + np.arange(PIECE + 1), len(points) - 1)
    cut: Floats = points[rows]
    return cut


def is_crowded(points: Floats, reach: float = 0.0) -> bool:
    """Whether a chain of (n, 2) points runs again and again over where it was.

    Told by its pieces: whether the boxes round them, wider by ``reach`` mm all round, overlap
    more than `_CROWD` each.
    """
    if len(points) <= SHORT:
        return False
    cut = pieces(points)
    low, high = cut.min(axis=1) - reach, cut.max(axis=1) + reach
    return bool(pairs_within(shapely.box(*low.T, *high.T), most=_CROWD * len(cut)) is None)


def pairs_within(
    shapes: Shapes, others: Shapes | None = None, *, reach: float | None = None, most: int
) -> tuple[Ints, Ints] | None:
    """Rows of shapes and of others that intersect or come within ``reach`` mm of each other.

    Boxes alone decide where no reach is given. None where there are more than ``most`` pairs:
    that is found without making them all.
    """
    tree = shapely.STRtree(shapes if others is None else others)
    ask = {} if reach is None else {"predicate": "dwithin", "distance": reach}
    found: list[Ints] = []
    count = 0
    rows = 16
    first = 0
    while first < len(shapes):
        pairs = tree.query(shapes[first : first + rows], **ask)
        pairs[0] += first
        found.append(pairs)
        count += pairs.shape[1]
        if count > most:
            return None
        first += rows
        rows *= 2
    a, b = np.concatenate(found, axis=1) if found else np.empty((2, 0), np.int64)
    return a, b
