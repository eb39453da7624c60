"""Many processes judged on one board, for little more than the price of one."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from checker.comparison.change import changes
from checker.comparison.left import left_of
from checker.comparison.model import Comparison, Row
from checker.comparison.pair import best_pair
from checker.depth import window_of
from checker.engine import reach_for
from checker.errors import UsageError
from checker.findings import Verdict
from checker.isolation import Fate, fates, tightest
from checker.measure import Facts, measure
from checker.odds import odds_of
from checker.registry import load_rules
from checker.relief.told import mention_of
from checker.tallying import tallied
from checker.work import work_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.board import Board
    from checker.findings import Rule
    from checker.measure import Reach
    from checker.process.model import Process
    from checker.tallying import Tallied

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
) -> Comparison:
    """Judge a board by several processes.

    Args:
        board: as read.
        processes: with a name each.
        rules: by name; the built-in ones where None.
        odds: whether to work out how likely the board comes out whole.
        relief: whether to plan relief for processes that leave gaps closed.

    Raises:
        UsageError: two processes of one name, or none at all.
        ProfileError, RulePackageError: as `checker.engine.check`.
    """
    _refuse_twins(processes)
    rules = load_rules() if rules is None else rules
    rows = [
        _row(facts, process, rules, odds, relief)
        for process, facts in zip(processes, _measured(board, processes), strict=True)
    ]
    rows.sort(key=_order)
    return Comparison(board, tuple(rows), best_pair(board, rows))


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


def _measured(board: Board, processes: Sequence[Process]) -> list[Facts]:
    """Facts that decide each process: a wider census only for those that need one."""
    wanted = reach_for(processes)
    facts: Facts | None = None
    decided: dict[int, Facts] = {}
    limit = _FIRST
    while len(decided) < len(processes):
        waiting = [(i, process) for i, process in enumerate(processes) if i not in decided]
        now = [process for _, process in waiting if _widest(process) <= limit]
        if now:
            facts = _wider(board, facts, replace(wanted, cut=reach_for(now).cut))
            decided |= {
                i: facts
                for i, process in waiting
                if reach_for(process).cut <= facts.reach.cut or _count(facts, process, Fate.JOINED)
            }
        limit = max(_STEP * limit, min(_widest(process) for _, process in waiting))
    return [decided[i] for i in range(len(processes))]


def _wider(board: Board, facts: Facts | None, reach: Reach) -> Facts:
    """Facts that reach so far; copper is the same for all and measured once."""
    if facts is None:
        return measure(board, reach)
    return Facts(board, reach, measure(board, replace(reach, copper=0.0)).gaps, facts.necks)


def _widest(process: Process) -> float:
    return process.cut.most if process.cut is not None else 0.0


def _count(facts: Facts, process: Process, *wanted: Fate) -> int:
    """How many places between two nets have one of these fates."""
    return sum(int(np.isin(one.fate, wanted).sum()) for one in fates(facts, process))


def _row(
    facts: Facts, process: Process, rules: Mapping[str, Rule], odds: bool, relief: bool
) -> Row:
    def judge(other: Process) -> Tallied:
        return tallied(facts.board, other, rules, facts, decided_by_gaps=True)

    found, window = judge(process), window_of(facts, process)
    cut, gap = process.cut, tightest(facts, process)
    return Row(
        process=process,
        verdict=found.verdict,
        counts=found.causes,
        partly=found.partly,
        closed=_count(facts, process, Fate.JOINED, Fate.AT_LIMIT),
        opens=not _count(facts, process, *_SHUT),
        at_least=reach_for(process).cut > facts.reach.cut,
        margin=None if cut is None else gap.fits - cut.most,
        beyond=gap.row is None,
        window=window,
        left=left_of(facts, process),
        work=work_of(facts.board, process),
        changes=changes(facts, process, window, found, judge),
        unchecked=found.unchecked,
        odds=odds_of(facts, process) if odds else None,
        relief=mention_of(facts, process) if relief else None,
    )


def _order(row: Row) -> tuple[object, ...]:
    """By verdict and closed gaps; then with margin before without; then by time; then by room."""
    work = row.work
    times = (work.machine_minutes, work.hand_minutes)
    minutes = inf if None in times else sum(time for time in times if time is not None)
    return (
        _BEST_FIRST.index(row.verdict),
        row.closed,
        not row.opens,
        round(minutes) if minutes < inf else inf,
        -(row.margin or 0.0),
        row.process.name,
    )
