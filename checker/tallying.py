"""What is wrong with a board by a process, counted by cause: `check` without a word on each place.

For several processes on one board, where nobody reads thousands of findings of each.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from checker.board import Unchecked
from checker.causes import levels_of, rank, remedy_of, worst_of
from checker.engine import rules_asked, severity_of, unchecked_of, verdict_of
from checker.isolation import Fate, fates

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from typing import TypeAlias

    from checker.board import Board
    from checker.findings import Observation, Rule, State, Verdict
    from checker.measure import Facts
    from checker.process.model import Process
    from checker.severity import Severity

    Told: TypeAlias = tuple[tuple[Observation, int] | Unchecked, ...]


class Count(Struct, frozen=True):
    """A cause and how many places have it; as `Cause`, with the worst place alone."""

    cause: str
    rule: str
    severity: Severity
    state: State
    count: int
    remedy: str
    worst: Observation


class Tallied(Struct, frozen=True, eq=False):
    """The answer for one board and one process.

    Attributes:
        causes: worst first.
        partly: only the rules on gaps were asked: they decide the verdict by themselves.
    """

    verdict: Verdict
    causes: tuple[Count, ...]
    unchecked: tuple[Unchecked, ...]
    partly: bool = False


def tallied(
    board: Board,
    process: Process,
    rules: Mapping[str, Rule],
    facts: Facts,
    *,
    decided_by_gaps: bool = False,
    told: Mapping[str, Told] | None = None,
    ask: Callable[[Rule, Facts, Process], Told] | None = None,
) -> Tallied:
    """The verdict and the causes of `checker.engine.check`, in its order.

    Args:
        board: as read.
        process: as loaded from a profile.
        rules: by name.
        facts: of the board, as far as the process needs them. With ``decided_by_gaps`` gaps may be
            looked for less far: those found stay shut all the same, there are only more of them.
        decided_by_gaps: ask only the rules on gaps where a gap stays shut.
        told: what rules have told already, by name: they are not asked again.
        ask: what a rule tells; `tally_of` where None.

    Raises:
        ProfileError: the profile sets a severity for a rule that does not exist.
    """
    asked = rules_asked(process, rules)
    partly = decided_by_gaps and a_gap_stays_shut(facts, process)
    if partly:
        asked = [rule for rule in asked if rule.of_gaps]
    told, ask, unchecked, causes = told or {}, ask or tally_of, unchecked_of(board, process), []
    for rule in asked:
        known = told.get(rule.name)
        for seen in ask(rule, facts, process) if known is None else known:
            if isinstance(seen, Unchecked):
                unchecked.setdefault(seen)
            else:
                causes.append(_count(rule, process, *seen))
    causes.sort(key=lambda one: rank(one.rule, one.severity, one.worst, one.count))
    verdict = verdict_of(board, process, {one.state for one in causes})
    return Tallied(verdict, tuple(causes), tuple(unchecked), partly)


def a_gap_stays_shut(facts: Facts, process: Process) -> bool:
    """Whether the nominal cut leaves two nets joined somewhere."""
    return any((judged.fate == Fate.JOINED).any() for judged in fates(facts, process))


def tally_of(rule: Rule, facts: Facts, process: Process) -> Told:
    """What a rule says of each cause by its worst place, with how many there are."""
    return tuple(rule.tally(facts, process) if rule.tally else _grouped(rule, facts, process))


def _grouped(
    rule: Rule, facts: Facts, process: Process
) -> Iterator[tuple[Observation, int] | Unchecked]:
    """The tally of a rule that has none of its own."""
    together: dict[str, list[Observation]] = {}
    for seen in rule.check(facts, process):
        if isinstance(seen, Unchecked):
            yield seen
        else:
            together.setdefault(seen.cause, []).append(seen)
    levels = levels_of(facts.board.sides)
    for places in together.values():
        yield worst_of(places, levels), len(places)


def _count(rule: Rule, process: Process, worst: Observation, count: int) -> Count:
    severity = severity_of(rule, worst.state, process)
    remedy = remedy_of(worst, count)
    return Count(worst.cause, rule.name, severity, worst.state, count, remedy, worst)
