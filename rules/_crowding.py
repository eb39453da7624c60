"""Which crowded pads stand at gaps that the rules on gaps tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.exact import tie
from checker.isolation import Fate, fates
from checker.measure.boundary.minima import as_lines

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.measure import Facts
    from checker.measure.leftover.crowding import Crowding
    from checker.process.model import Process


def at_closed_gaps(facts: Facts, process: Process, near: Crowding) -> NDArray[np.bool_]:
    """Pads at gaps that the cut does not open for sure: they are told as such."""
    told = np.zeros(len(near), bool)
    for index, (gaps, judged) in enumerate(zip(facts.gaps, fates(facts, process), strict=True)):
        layer = facts.board.copper[index]
        shut = np.flatnonzero((judged.fate != Fate.OPEN)[gaps.part_of])
        mine = np.flatnonzero(near.layer == index)
        pads = layer.objects.shape[near.pad[mine]]
        one, part = shapely.STRtree(as_lines(gaps.part[shut])).query(
            pads, "dwithin", distance=near.distance[mine] + tie(facts.board)
        )
        pair = np.stack([layer.island_of[near.pad[mine[one]]], near.island[mine[one]]], axis=1)
        islands = gaps.islands[gaps.part_of[shut[part]]]
        same = (np.sort(pair, axis=1) == islands).all(axis=1)
        told[mine[one[same]]] = True
    return told
