"""What the rules say of one board, asked in two processes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from checker.engine import reach_for, rules_asked
from checker.hands import shared
from checker.measure import facts_when_asked
from checker.registry import load_rules

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import TypeAlias

    from checker.board import Board
    from checker.engine import Said
    from checker.findings import Rule
    from checker.measure import Facts
    from checker.process.model import Process

    Job: TypeAlias = tuple[int, str]  # which process, which rule

_NECKS = (-1, "necks")  # the job that measures them


def heard(
    board: Board, processes: Sequence[Process], before: Callable[[Rule, Process], None]
) -> tuple[Facts, list[Mapping[str, Said]]]:
    """What the rules say of a board, and the facts they were asked about.

    This process takes the gaps and the rules on them, the other one the necks; then both take the
    rules that are left, whoever is free.

    Args:
        board: as read.
        processes: to judge it by.
        before: called before each rule is asked, or its answer taken over.

    Returns:
        The facts; for each process, what each of its rules says, by the rule's name.

    Raises:
        ProfileError: a profile sets a severity for a rule that does not exist.
    """
    rules = load_rules()
    asked = {(i, r.name): r for i, one in enumerate(processes) for r in rules_asked(one, rules)}
    facts = facts_when_asked(board, reach_for(processes))

    def answer(job: Job) -> Any:
        return facts.necks if job == _NECKS else tuple(asked[job].check(facts, processes[job[0]]))

    def told(job: Job) -> None:
        if job != _NECKS:
            before(asked[job], processes[job[0]])

    found = shared(
        answer,
        told,
        here=[job for job, rule in asked.items() if "gaps" in rule.asks],
        there=[
            _NECKS, *(job for job, rule in asked.items() if rule.asks and "gaps" not in rule.asks),
        ],
        either=[job for job, rule in asked.items() if not rule.asks],
    )  # fmt: skip
    facts.take(found.pop(_NECKS))
    by_process: list[Mapping[str, Said]] = [
        {name: found[i, name] for k, name in asked if k == i} for i in range(len(processes))
    ]
    return facts, by_process
