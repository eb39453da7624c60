"""Many processes judged on one board, for little more than the price of one."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.comparison.change import changes, other_depth
from checker.comparison.left import left_of
from checker.comparison.model import Comparison, Row
from checker.comparison.pair import best_pair
from checker.comparison.rounds import Rounds, count, told_of_gaps
from checker.depth import window_of
from checker.engine import reach_for, rules_asked
from checker.errors import UsageError
from checker.findings import Verdict
from checker.hands import worth_both
from checker.hearing import Hearing
from checker.isolation import Fate, tightest
from checker.measure import facts_when_asked
from checker.measure.holes.uses import uses_of
from checker.registry import load_rules
from checker.tallying import a_gap_stays_shut, tallied, tally_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.board import Board
    from checker.depth import Window
    from checker.findings import Rule
    from checker.measure import Facts
    from checker.process.model import Process
    from checker.tallying import Tallied, Told
    from checker.work import Work

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
        rounds = Rounds(board, processes, rules, hearing)
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
            told[row].update(of_gaps.get(row) or told_of_gaps(rules, facts, process))
        return True

    for row, more in zip(rest, hearing.ask([asked[row][0] for row in rest], on_gaps), strict=True):
        told[row].update(more)
    return [
        tallied(facts.board, process, rules, facts, decided_by_gaps=True, told=one)
        for (process, facts), one in zip(asked, told, strict=True)
    ]


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
        closed=count(facts, process, Fate.JOINED, Fate.AT_LIMIT),
        opens=not count(facts, process, *_SHUT),
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
