"""What the rules say of one board, asked in two processes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Generic, TypeVar

import shapely

from checker.engine import reach_for, rules_asked
from checker.hands import Hands
from checker.labels import labels_of
from checker.measure import OUTER, facts_when_asked, gaps_of
from checker.once import Once
from checker.registry import load_rules

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from checker.board import Board
    from checker.engine import Said
    from checker.findings import Rule
    from checker.measure import Facts, Gaps, Reach
    from checker.process.model import Process

_T = TypeVar("_T")

_DEAREST = "leftover"
_NECKS, _GAPS = ("", "necks"), ("", "gaps")  # jobs that measure; in the others rules are asked


def _dear_first(rule: Rule) -> tuple[bool, bool]:
    return not rule.asks, _DEAREST not in rule.asks


class Hearing(Generic[_T]):
    """The rules that look at no gaps, asked about one board by several processes.

    Rules that look at the same facts are one job, see `checker.hands`, so that the facts are
    measured once; the other hand measures the necks. The rules on gaps are left to who asks, and
    so are the gaps but for one layer, see `gaps`.
    """

    def __init__(
        self,
        facts: Facts,
        rules: Mapping[str, Rule],
        say: Callable[[Rule, Facts, Process], _T],
        both: bool,
    ) -> None:
        """Get ready; a block is entered to begin.

        Args:
            facts: of the board, whose necks may be pending, see `checker.measure`.
            rules: by name.
            say: what a rule says, a plain value.
            both: whether to share the work.
        """
        self.facts = facts
        self._rules, self._say, self._both = rules, Once(say), both
        self._jobs: dict[tuple[str, ...], list[Rule]] = {_NECKS: []}
        # The dear ones first, the dearest before all: then they are not what is left for one hand
        # at the end.
        for rule in sorted(rules.values(), key=_dear_first):
            if "gaps" not in rule.asks:
                self._jobs.setdefault(rule.asks or (rule.name,), []).append(rule)
        self._left = [_NECKS]
        self._hands: Hands[tuple[str, ...], Any, Any] = Hands(
            self._answer,
            [*self._jobs, _GAPS],
            there=[job for job in self._jobs if "necks" in job],
            both=both,
        )

    def __enter__(self) -> Hearing[_T]:
        if self._both:
            labels_of(self.facts.board)  # both hands need them
        self._hands.__enter__()
        return self

    def __exit__(self, *_: object) -> None:
        self._hands.__exit__()

    def gaps(self, reach: Reach, busy: bool = False) -> Callable[[], tuple[Gaps, ...]]:
        """The gaps of each layer of the board, as far as a reach: measured when this is called.

        Of two layers the other hand takes the smaller one, and begins with it at once. Where this
        process is busy for a while it takes the larger one, once it is free.
        """
        layers = self.facts.board.copper
        outer = [number for number, layer in enumerate(layers) if layer.side in OUTER]
        outer.sort(key=lambda number: -shapely.get_num_coordinates(layers[number].islands).sum())
        theirs = outer[::2] if busy and len(outer) > 1 else outer[1::2]
        later = self._hands.ahead(_GAPS, (reach, theirs)) if theirs else list

        def measured() -> tuple[Gaps, ...]:
            ours = {
                number: gaps_of(self.facts.board, reach, number)
                for number in range(len(layers))
                if number not in theirs
            }
            found = {**ours, **dict(zip(theirs, later(), strict=True))}
            return tuple(found[number] for number in range(len(layers)))

        return measured

    def ask(
        self,
        processes: Sequence[Process],
        first: Callable[[], bool] = lambda: True,
        last: Callable[[], None] = lambda: None,
        before: Callable[[Rule, Process], None] = lambda _rule, _process: None,
    ) -> list[dict[str, _T]]:
        """What the rules say, for each process by the rule's name.

        Args:
            processes: to judge the board by.
            first: what this process does before it asks. Where it is False nobody wants to hear
                the rules any more, and there are no answers.
            last: what this process does when it has nothing left to ask, while the other ends.
            before: called before each rule is asked, or its answer taken over.

        Raises:
            ProfileError: a profile sets a severity for a rule that does not exist.
        """
        asked = [{rule.name for rule in rules_asked(one, self._rules)} for one in processes]
        every = set().union(*asked)
        jobs = [job for job, rules in self._jobs.items() if any(r.name in every for r in rules)]
        heard = True

        def begin() -> None:
            nonlocal heard
            heard = first()

        def told(job: tuple[str, ...]) -> None:
            for rule in self._jobs[job]:
                for process, one in zip(processes, asked, strict=True):
                    if rule.name in one:
                        before(rule, process)

        found = self._hands.ask(
            tuple(processes),
            [*self._left, *jobs],
            first=begin,
            last=last,
            wanted=lambda job: heard or job == _NECKS,
            before=told,
        )
        if _NECKS in found:
            self.facts.take(necks=found.pop(_NECKS))
            self._left = []
        return [
            {name: said for job in found.values() for name, said in job[row].items()}
            for row in range(len(processes))
        ]

    def _answer(self, job: tuple[str, ...], matter: Any) -> Any:
        if job == _NECKS:
            return self.facts.necks
        if job == _GAPS:
            reach, numbers = matter
            return [gaps_of(self.facts.board, reach, number) for number in numbers]
        processes: Sequence[Process] = matter
        return [
            {
                rule.name: self._say(rule, self.facts, process)
                for rule in self._jobs[job]
                if process.method in rule.methods
            }
            for process in processes
        ]


def get_ready() -> None:
    """Load what a hearing takes: the rules, and with this module all that measures."""
    load_rules()


def heard(
    board: Board,
    processes: Sequence[Process],
    before: Callable[[Rule, Process], None],
    then: Callable[[Facts], None] = lambda _: None,
    reach: Reach | None = None,
) -> tuple[Facts, list[Mapping[str, Said]]]:
    """What the rules say of a board, and the facts they were asked about.

    This process takes the gaps of one layer and the rules on gaps; the other one takes the gaps of
    the other layer and the necks. Then both take the rules that are left, whoever is free.

    Args:
        board: as read.
        processes: to judge it by.
        before: called before each rule is asked, or its answer taken over.
        then: called here with the facts once the rules on gaps are asked; the other goes on.
        reach: how far to measure, where that is farther than the rules look.

    Returns:
        The facts; for each process, what each of its rules says, by the rule's name.

    Raises:
        ProfileError: a profile sets a severity for a rule that does not exist.
    """
    rules = load_rules()
    asked = [rules_asked(process, rules) for process in processes]
    facts = facts_when_asked(board, reach or reach_for(processes))
    said: list[dict[str, Said]] = [{} for _ in processes]

    def on_gaps() -> bool:
        for process, names, found in zip(processes, asked, said, strict=True):
            for rule in names:
                if "gaps" in rule.asks:
                    before(rule, process)
                    found[rule.name] = tuple(rule.check(facts, process))
        then(facts)
        return True

    def say(rule: Rule, facts: Facts, process: Process) -> Said:
        return tuple(rule.check(facts, process))

    with Hearing(facts, rules, say, both=True) as hearing:
        facts.take(gaps=hearing.gaps(facts.reach))
        rest = hearing.ask(processes, on_gaps, before=before)
    return facts, [{**found, **more} for found, more in zip(said, rest, strict=True)]
