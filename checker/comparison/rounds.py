"""What decides each of many processes: censuses, one wider than the other, and rules meanwhile."""

from __future__ import annotations

from functools import partial
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from checker.comparison.pair import widest_room
from checker.engine import reach_for, rules_asked
from checker.isolation import Fate, fates
from checker.measure import facts_when_asked
from checker.measure.whole.way import way_of
from checker.tallying import a_gap_stays_shut, tally_of
from checker.work import offsets_of, work_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.board import Board
    from checker.findings import Rule
    from checker.hearing import Hearing
    from checker.measure import Facts
    from checker.process.model import Process
    from checker.tallying import Told
    from checker.work import Work

_FIRST = 0.3
"""Widest cut (mm) that the first census is made for: what an ordinary shop's fine bits cut. Bits
wider than that are mostly ruled out by what it finds, and only the others ask for a wider one."""

_STEP = 1.6  # how much wider the next census looks, while some bits are not decided


class Rounds:
    """Rounds of a census and of rules, until it is known which gaps each process leaves shut.

    That decides what else is asked, and by how many. While gaps are measured the other hand hears
    the processes that those before decided; at first the finest process: where that is not asked,
    no other will be. And it measures for the next round while this process judges by the last.

    Attributes:
        facts: whose gaps decide a process, by its row.
        told: what rules said of it meanwhile, by their names.
        of_gaps: the same, of those that look at gaps.
        works: what each process takes.
    """

    def __init__(
        self,
        board: Board,
        processes: Sequence[Process],
        rules: Mapping[str, Rule],
        hearing: Hearing[Told],
    ) -> None:
        self.facts: dict[int, Facts] = {}
        self.told: dict[int, dict[str, Told]] = {row: {} for row in range(len(processes))}
        self.of_gaps: dict[int, dict[str, Told]] = {}
        self.works: list[Work] = []
        self._board, self._processes, self._hearing = board, processes, hearing
        self._rules = rules
        self._finest = min(self.told, key=lambda row: _widest(processes[row]) or inf)
        self._limit = _FIRST
        self._last: dict[int, Facts] = {}  # of the last census, by row
        self._coming: Facts | None = None  # of the next one, which may be under way

    def run(self) -> None:
        """Make censuses, one wider than the other, till all are decided."""
        asked = [self._finest]
        self._coming = self._begun()
        while (facts := self._coming) is not None:
            answers = self._hearing.ask(
                [self._processes[row] for row in asked],
                partial(self._decide, facts),
                self._go_on,
            )
            for row, more in zip(asked, answers, strict=True):
                self.told[row].update(more)
            facts.take(necks=self._hearing.facts.necks)
            asked = [
                row
                for row in self._last
                if not (self.told[row] or a_gap_stays_shut(facts, self._processes[row]))
            ]

    def _begun(self, busy: bool = False) -> Facts | None:
        """A census wider than before, for those that need it; None where nobody does.

        Args:
            busy: whether this process has more to do before it can measure its share.
        """
        waiting = self._waiting().values()
        while waiting:
            limit = self._limit
            self._limit = max(_STEP * limit, min(map(_widest, waiting)))
            now = [process for process in waiting if _widest(process) <= limit]
            if now:
                wanted = replace(reach_for(self._processes), cut=reach_for(now).cut)
                facts = facts_when_asked(self._board, wanted)
                facts.take(gaps=self._hearing.gaps(wanted, busy))
                return facts
        return None

    def _decide(self, facts: Facts) -> bool:
        """Measure; whether the finest process opens all gaps, so that rules are heard."""
        self._last = {
            row: facts
            for row, process in self._waiting().items()
            if count(facts, process, Fate.JOINED) or reach_for(process).cut <= facts.reach.cut
        }
        self.facts.update(self._last)
        self._coming = self._begun(busy=True)
        finest = self._finest
        return not a_gap_stays_shut(self.facts[finest], self._processes[finest])

    def _waiting(self) -> dict[int, Process]:
        return {row: one for row, one in enumerate(self._processes) if row not in self.facts}

    def _go_on(self) -> None:
        """What this process has to do anyway, while the other one measures."""
        if not self.works:
            self.works.extend(_works(self._board, self._processes))
        for row, facts in self._last.items():
            self.of_gaps[row] = told_of_gaps(self._rules, facts, self._processes[row])


def _works(board: Board, processes: Sequence[Process]) -> list[Work]:
    """What each process takes; the way of the bit is measured once, for their pairs as well."""
    milling = [process for process in processes if process.method == "milling"]
    offsets = (offset for process in processes for offset in offsets_of(process))
    way_of(board, max(widest_room(milling), *offsets, 0.0))
    return [work_of(board, process) for process in processes]


def told_of_gaps(rules: Mapping[str, Rule], facts: Facts, process: Process) -> dict[str, Told]:
    """What the rules say that look at gaps; where one stays shut, those that judge gaps alone."""
    shut = a_gap_stays_shut(facts, process)
    return {
        rule.name: tally_of(rule, facts, process)
        for rule in rules_asked(process, rules)
        if rule.of_gaps or ("gaps" in rule.asks and not shut)
    }


def _widest(process: Process) -> float:
    return process.cut.most if process.cut is not None else 0.0


def count(facts: Facts, process: Process, *wanted: Fate) -> int:
    """How many places between two nets have one of these fates."""
    return sum(int(np.isin(one.fate, wanted).sum()) for one in fates(facts, process))
