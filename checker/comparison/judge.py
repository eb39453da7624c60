"""Many processes judged on one board, for little more than the price of one."""

from __future__ import annotations

from functools import partial
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.comparison.change import changes, other_depth
from checker.comparison.left import left_of
from checker.comparison.model import Comparison, Row
from checker.comparison.pair import best_pair, widest_room
from checker.depth import window_of
from checker.engine import reach_for, rules_asked
from checker.errors import UsageError
from checker.findings import Verdict
from checker.hands import worth_both
from checker.hearing import Hearing
from checker.isolation import Fate, fates, tightest
from checker.measure import facts_when_asked
from checker.measure.holes.uses import uses_of
from checker.measure.whole.way import way_of
from checker.registry import load_rules
from checker.tallying import a_gap_stays_shut, tallied, tally_of
from checker.work import offsets_of, work_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.board import Board
    from checker.depth import Window
    from checker.findings import Rule
    from checker.measure import Facts
    from checker.process.model import Process
    from checker.tallying import Tallied, Told
    from checker.work import Work

_FIRST = 0.3
"""Widest cut (mm) that the first census is made for: what an ordinary shop's fine bits cut. Bits
wider than that are mostly ruled out by what it finds, and only the others ask for a wider one."""

_STEP = 1.6  # how much wider the next census looks, while some bits are not decided

_SHUT = (Fate.TIGHT, Fate.TRIMMED, Fate.AT_LIMIT, Fate.JOINED)
_BEST_FIRST = (Verdict.MAKEABLE, Verdict.MARGINAL, Verdict.NOT_CHECKED, Verdict.NOT_MAKEABLE)


def compare(
    board: Board,
    processes: Sequence[Process],
    rules: Mapping[str, Rule] | None = None,
    odds: bool = False,
    relief: bool = False,
    both: bool = False,
    remarks: bool = True,
) -> Comparison:
    """Judge a board by several processes.

    Args:
        board: as read.
        processes: with a name each.
        rules: by name; the built-in ones where None.
        odds: whether to work out how likely the board comes out whole.
        relief: whether to plan relief for processes that leave gaps closed.
        both: let a second process help where that is worth it, see `checker.hands`.
        remarks: whether to ask rules that only remark too: they decide nothing, and what some of
            them look at takes as long as all else.

    Raises:
        UsageError: two processes of one name, or none at all.
        ProfileError, RulePackageError: as `checker.engine.check`.
    """
    _refuse_twins(processes)
    rules = load_rules() if rules is None else rules
    if not remarks:
        rules = _deciding(rules)
    for process in processes:
        rules_asked(process, rules)  # what is wrong with one is told before anything is measured
    judged = _judged(board, processes, rules, both and worth_both(board))
    rows = [_row(one, odds, relief) for one in judged]
    rows.sort(key=_order)
    return Comparison(board, tuple(rows), best_pair(board, rows))


def _deciding(rules: Mapping[str, Rule]) -> dict[str, Rule]:
    """Those that only remark are still known by name, but speak of no method."""
    return {
        name: replace(rule, methods=()) if rule.remarks else rule for name, rule in rules.items()
    }


def _refuse_twins(processes: Sequence[Process]) -> None:
    if not processes:
        raise UsageError("compare", "no process to compare", "at least one profile")
    seen: dict[str, Process] = {}
    for process in processes:
        twin = seen.setdefault(process.name, process)
        if twin is not process:
            raise UsageError(
                f"compare: {process.source}",
                f"is called {process.name!r} like {twin.source}",
                "a name of its own for each process",
                "rename one of the files",
            )


class _Judged(Struct, frozen=True, eq=False):
    """A process as it is, and at the depth that suits the board where that is another."""

    facts: Facts
    process: Process
    found: Tallied
    window: Window | None
    work: Work
    then: Tallied | None = None


def _judged(
    board: Board, processes: Sequence[Process], rules: Mapping[str, Rule], both: bool
) -> list[_Judged]:
    """What each process comes to."""
    if both:
        uses_of(board)  # both hands need them
    with Hearing(facts_when_asked(board, reach_for(processes)), rules, tally_of, both) as hearing:
        rounds = _Rounds(board, processes, rules, hearing)
        rounds.run()
        pairs = [(process, rounds.facts[i]) for i, process in enumerate(processes)]
        found = _tallied(hearing, rules, pairs, rounds.told, rounds.of_gaps)
        judged = [
            _Judged(facts, process, result, window_of(facts, process), work)
            for (process, facts), result, work in zip(pairs, found, rounds.works, strict=True)
        ]
        other = {
            i: (process, one.facts)
            for i, one in enumerate(judged)
            if (process := other_depth(one.process, one.window, one.found)) is not None
        }
        then = dict(zip(other, _tallied(hearing, rules, list(other.values())), strict=True))
    return [replace(one, then=then.get(i)) for i, one in enumerate(judged)]


class _Rounds:
    """Rounds of a census and of rules, until it is known which gaps each process leaves shut.

    That decides what else is asked, and by how many. While gaps are measured the other hand hears
    the processes that those before decided; at first the finest process: where that is not asked,
    no other will be.

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
                for row, facts in self._last.items()
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
            if _count(facts, process, Fate.JOINED) or reach_for(process).cut <= facts.reach.cut
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
            self.of_gaps[row] = _of_gaps(self._rules, facts, self._processes[row])


def _works(board: Board, processes: Sequence[Process]) -> list[Work]:
    """What each process takes; the way of the bit is measured once, for their pairs as well."""
    milling = [process for process in processes if process.method == "milling"]
    offsets = (offset for process in processes for offset in offsets_of(process))
    way_of(board, max(widest_room(milling), *offsets, 0.0))
    return [work_of(board, process) for process in processes]


def _tallied(
    hearing: Hearing[Told],
    rules: Mapping[str, Rule],
    asked: Sequence[tuple[Process, Facts]],
    known: Mapping[int, Mapping[str, Told]] | None = None,
    of_gaps: Mapping[int, Mapping[str, Told]] | None = None,
) -> list[Tallied]:
    """What is wrong with each process.

    Args:
        hearing: asks the rules that look at no gaps.
        rules: by name.
        asked: processes, with what was measured for each.
        known: what those rules told already, by the row in ``asked``.
        of_gaps: the same, of the rules that look at gaps.
    """
    known, of_gaps = known or {}, of_gaps or {}
    told = [dict(known.get(row, {})) for row in range(len(asked))]
    rest = [
        row
        for row, (process, facts) in enumerate(asked)
        if not told[row] and not a_gap_stays_shut(facts, process)
    ]

    def on_gaps() -> bool:
        for row, (process, facts) in enumerate(asked):
            more = of_gaps.get(row)
            told[row].update(_of_gaps(rules, facts, process) if more is None else more)
        return True

    for row, more in zip(rest, hearing.ask([asked[row][0] for row in rest], on_gaps), strict=True):
        told[row].update(more)
    return [
        tallied(facts.board, process, rules, facts, decided_by_gaps=True, told=one)
        for (process, facts), one in zip(asked, told, strict=True)
    ]


def _of_gaps(rules: Mapping[str, Rule], facts: Facts, process: Process) -> dict[str, Told]:
    """What the rules say that look at gaps; where one stays shut, those that judge gaps alone."""
    shut = a_gap_stays_shut(facts, process)
    return {
        rule.name: tally_of(rule, facts, process)
        for rule in rules_asked(process, rules)
        if rule.of_gaps or ("gaps" in rule.asks and not shut)
    }


def _widest(process: Process) -> float:
    return process.cut.most if process.cut is not None else 0.0


def _count(facts: Facts, process: Process, *wanted: Fate) -> int:
    """How many places between two nets have one of these fates."""
    return sum(int(np.isin(one.fate, wanted).sum()) for one in fates(facts, process))


def _row(one: _Judged, odds: bool, relief: bool) -> Row:
    if odds:
        from checker.odds import odds_of
    if relief:
        from checker.relief.told import mention_of

    facts, process = one.facts, one.process
    cut, gap = process.cut, tightest(facts, process)
    return Row(
        process=process,
        verdict=one.found.verdict,
        counts=one.found.causes,
        partly=one.found.partly,
        closed=_count(facts, process, Fate.JOINED, Fate.AT_LIMIT),
        opens=not _count(facts, process, *_SHUT),
        at_least=reach_for(process).cut > facts.reach.cut,
        margin=None if cut is None else gap.fits - cut.most,
        beyond=gap.row is None,
        window=one.window,
        left=left_of(facts, process),
        work=one.work,
        changes=changes(facts, process, one.window, one.found, one.then),
        unchecked=one.found.unchecked,
        odds=odds_of(facts, process) if odds else None,
        relief=mention_of(facts, process) if relief else None,
    )


def _order(row: Row) -> tuple[object, ...]:
    """By verdict and closed gaps; then by what the margin lacks; then by time; then by room."""
    work = row.work
    times = (work.machine_minutes, work.hand_minutes)
    minutes = inf if None in times else sum(time for time in times if time is not None)
    return (
        _BEST_FIRST.index(row.verdict),
        row.closed,
        0.0 if row.opens else -round(row.margin or 0.0, 2),
        round(minutes) if minutes < inf else inf,
        -(row.margin or 0.0),
        row.process.name,
    )
