"""Which crowded pads stand at gaps that the rules on gaps tell."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.exact import tie
from checker.isolation import Fate, fates
from checker.measure.boundary.minima import as_lines

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Ints
    from checker.measure import Facts
    from checker.measure.leftover.crowding import Crowding
    from checker.process.model import Process


def at_closed_gaps(facts: Facts, process: Process, near: Crowding) -> NDArray[np.bool_]:
    """Pads at gaps that the cut does not open for sure: they are told as such."""
    told = np.zeros(len(near), bool)
    for (pad, gap), judged in zip(_at_gaps(facts, near), fates(facts, process), strict=True):
        told[pad[judged.fate[gap] != Fate.OPEN]] = True
    return told


@lru_cache(maxsize=2)
def _at_gaps(facts: Facts, near: Crowding) -> tuple[tuple[Ints, Ints], ...]:
    """For each layer the pads (rows of ``near``) that stand at gaps (rows of its gaps)."""
    found = []
    for index, gaps in enumerate(facts.gaps):
        layer = facts.board.copper[index]
        mine = np.flatnonzero(near.layer == index)
        one, part = shapely.STRtree(as_lines(gaps.part)).query(
            layer.objects.shape[near.pad[mine]],
            "dwithin",
            distance=near.distance[mine] + tie(facts.board),
        )
        pad, gap = mine[one], gaps.part_of[part]
        pair = np.stack([layer.island_of[near.pad[pad]], near.island[pad]], axis=1)
        same = (np.sort(pair, axis=1) == gaps.islands[gap]).all(axis=1)
        found.append((pad[same], gap[same]))
    return tuple(found)
