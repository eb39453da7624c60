"""Which crowded pads stand at gaps that the rules on gaps tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.exact import tie
from checker.isolation import Fate, fates

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.measure import Facts
    from checker.measure.leftover.crowding import Crowding
    from checker.process.model import Process


def at_closed_gaps(facts: Facts, process: Process, near: Crowding) -> NDArray[np.bool_]:
    """Pads at gaps that the cut does not open for sure: they are told as such."""
    told = np.zeros(len(near), bool)
    for index, (gaps, judged) in enumerate(zip(facts.gaps, fates(facts, process), strict=True)):
        layer, rows = facts.board.copper[index], np.flatnonzero(judged.fate != Fate.OPEN)
        middles = shapely.points((gaps.a[rows] + gaps.b[rows]) / 2)
        mine = np.flatnonzero(near.layer == index)
        pads = layer.objects.shape[near.pad[mine]]
        one, gap = shapely.STRtree(middles).query(
            pads, "dwithin", distance=near.distance[mine] + tie(facts.board)
        )
        pair = np.stack([layer.island_of[near.pad[mine[one]]], near.island[mine[one]]], axis=1)
        same = (np.sort(pair, axis=1) == gaps.islands[rows[gap]]).all(axis=1)
        told[mine[one[same]]] = True
    return told
