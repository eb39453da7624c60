"""What the cuts of a process that bites leave of the copper; measured once for the rules on it."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from checker.isolation import Fate, fates
from checker.measure.copper.bites import loss_of

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.measure.copper.bites import Loss
    from checker.process.bit import Spread
    from checker.process.model import Process


def losses(facts: Facts, process: Process) -> tuple[tuple[int, Loss], ...]:
    """Number of the layer and its loss, for each layer with a gap that opens only by biting."""
    if process.cut is None or not process.bite:
        return ()
    found = []
    for index, judged in enumerate(fates(facts, process)):
        rows = np.flatnonzero(judged.fate == Fate.TRIMMED)
        if len(rows):
            limit = process.minimum_trace or 0.0
            found.append((index, _loss(facts, index, tuple(rows.tolist()), process.cut, limit)))
    return tuple(found)


@lru_cache(maxsize=4)
def _loss(facts: Facts, index: int, rows: tuple[int, ...], cut: Spread, limit: float) -> Loss:
    layer, gaps, chosen = facts.board.copper[index], facts.gaps[index], np.array(rows)
    fits = gaps.widest_cut[0][chosen]
    return loss_of(layer, gaps, chosen, fits, cut.nominal, cut.most, limit)
