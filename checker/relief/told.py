"""What relief would do for a board, in two numbers: for reports that only mention it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.isolation import fates
from checker.relief.plan import relief_of, width_of

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.process import Process

MOST = 250  # gaps too narrow; more of them take longer to plan for than a mention is worth


def mention_of(facts: Facts, process: Process) -> tuple[int, int] | None:
    """How many gaps that the nominal cut does not open relief would open, and how many there are.

    So many are planned to open, on the very plan that `checker.relief.make` begins with; where its
    proof finds harm in the board read anew, it gives up some of them.

    None where there is none, where the process cuts none, where more than `MOST` are narrow, or
    where facts do not reach as far as the cut.

    Args:
        facts: of the board, as measured for the process.
        process: as loaded.
    """
    if process.cut is None or facts.reach.cut < width_of(facts.board, process):
        return None
    if _narrow(facts, process) > MOST:
        return None
    shut = [place for place in relief_of(facts.board, facts, process).places if place.shut]
    opened = sum(place.channel is not None for place in shut)
    return (opened, len(shut)) if shut else None


def _narrow(facts: Facts, process: Process) -> int:
    """How many gaps between two nets are too narrow for the widest cut."""
    width = width_of(facts.board, process)
    return sum(
        int(np.count_nonzero(np.diff(layer.net[gaps.islands], axis=1)[:, 0][judged.fits < width]))
        for layer, gaps, judged in zip(
            facts.board.copper, facts.gaps, fates(facts, process), strict=True
        )
    )
