"""What relief would do for a board, in two numbers: for reports that only mention it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.isolation import Fate
from checker.relief.model import Options
from checker.relief.plan import left_alone, planned, too_narrow, width_of

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.process import Process

MOST = 240  # gaps to plan for; more of them take longer than a mention is worth


def mention_of(facts: Facts, process: Process) -> tuple[int, int] | None:
    """How many gaps that the nominal cut does not open relief would open, and how many there are.

    So many are planned to open, on the very plan that `checker.relief.make` begins with; where its
    proof finds harm in the board read anew, it gives up some of them.

    None where there is none, where the process cuts none, where more than `MOST` would have to be
    planned for, or where facts do not reach as far as the cut.

    Args:
        facts: of the board, as measured for the process.
        process: as loaded.
    """
    if process.cut is None:
        return None
    width = width_of(facts.board, process)
    if facts.reach.cut < width:
        return None
    narrow = list(too_narrow(facts, process, width))
    copper = facts.board.copper
    open_ = {index for index, _, _ in narrow if not left_alone(copper[index], width)}
    if sum(len(rows) for index, _, rows in narrow if index in open_) > MOST:
        return None
    opened, every = 0, 0
    for index, judged, rows in narrow:
        shut = [row for row in rows if judged.fate[row] > Fate.TIGHT]
        every += len(shut)
        if shut and index in open_:
            work = planned(facts, index, process, Options(), width, rows)
            opened += len(work.of.keys() & set(shut))
    return (opened, every) if every else None
