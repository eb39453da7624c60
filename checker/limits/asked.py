"""The least length that check lets pass, found by asking check, in steps of mm and of mils.

A process that passes a length passes every longer one, so each answer lies in a bracket that is
divided until it is one step wide. A round of all questions is one sheet of specimens, that is one
check.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.findings import State
from checker.limits.sheet import judged

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from checker.findings import Rule
    from checker.limits.sheet import Findings, Specimen
    from checker.process.model import Process

STEP = 0.05  # mm
MIL = 0.0254  # mm, exactly
MOST = 12.8  # mm; no bit that a profile may name is wider, and no limit longer
SURE = (State.NOT_MAKEABLE, State.MARGINAL)  # what a length that passes with margin is free of
LUCK = (State.NOT_MAKEABLE,)
_PARTS = 4  # into which a bracket is divided in a round
_EXACT = 1e-9


class Question(Struct, frozen=True):
    """A length to be asked.

    Attributes:
        name: what a person calls it.
        draw: the specimen for a length in mm.
        above: only lengths beyond this (mm) can be drawn.
        keys: the profile's keys that may limit it.
        only: nothing but those keys limits it.
        with_luck: whether the least that passes with luck is asked too.
    """

    name: str
    draw: Callable[[float], Specimen]
    above: float = 0.0
    keys: tuple[str, ...] = ()
    only: bool = True
    with_luck: bool = True


class Least(Struct, frozen=True):
    """The least lengths that pass.

    Attributes:
        mm: in steps of 0.05 mm; None where none up to `MOST` passes.
        mil: in whole mils; None likewise.
        free: the very first step passes in both, so that nothing limits the length.
    """

    mm: float | None
    mil: int | None
    free: bool


class Answer(Struct, frozen=True):
    """What check says of a question.

    Attributes:
        sure: the least that passes with margin.
        luck: the least that passes with luck, care or hand work; None where that is not asked.
        below: what is found at the longest length asked that does not pass with margin.
    """

    question: Question
    sure: Least
    luck: Least | None
    below: Findings


def answers(
    questions: Sequence[Question],
    process: Process,
    rules: Mapping[str, Rule],
    sides: tuple[str, ...] = ("top",),
) -> list[Answer]:
    """Ask every question of a process, on boards with copper on these sides."""
    asked: list[tuple[Question, dict[float, Findings]]] = [(one, {}) for one in questions]
    sure = [_Search(*one, STEP, SURE) for one in asked]
    luck = [_Search(*one, STEP, LUCK) for one in asked if one[0].with_luck]
    _run([*sure, *luck], process, rules, sides)
    fine = {id(search): search.finer(MIL) for search in (*sure, *luck)}
    _run(fine.values(), process, rules, sides)
    least = {id(search.seen): _least(search, fine[id(search)]) for search in luck}
    return [
        Answer(
            search.question,
            _least(search, fine[id(search)]),
            least.get(id(search.seen)),
            search.below(),
        )
        for search in sure
    ]


class _Search(Struct):
    """A bracket in whole steps of a unit: ``low`` does not pass, ``high`` does once it is known."""

    question: Question
    seen: dict[float, Findings]
    unit: float
    states: tuple[State, ...]
    low: int = -1
    high: int | None = None

    def __post_init__(self) -> None:
        self.low = max(self.low, self.first - 1)

    @property
    def first(self) -> int:
        """The least step above what is known not to pass."""
        return math.floor(self.question.above / self.unit + _EXACT) + 1

    def finer(self, unit: float) -> _Search:
        """The same search in steps of another unit, in the bracket that is known."""
        low = math.floor(self.low * self.unit / unit + _EXACT)
        high = None if self.high is None else math.ceil(self.high * self.unit / unit - _EXACT)
        return _Search(self.question, self.seen, unit, self.states, low, high)

    def wanted(self) -> list[int]:
        """The steps to ask next; none once the answer is known."""
        if self.high is None:
            last = round(math.log(MOST / self.unit, _PARTS))
            wanted = [self.first - 1 + _PARTS**power for power in range(last + 1)]
            return [] if wanted[-1] <= self.low else wanted
        part = max(1, math.ceil((self.high - self.low) / _PARTS))
        return list(range(self.low + part, self.high, part))

    def lengths(self) -> list[float]:
        """The lengths to ask next, mm."""
        return [self.length(step) for step in self.wanted()]

    def length(self, step: int) -> float:
        """A step in mm."""
        return round(step * self.unit, 6)

    def narrow(self) -> None:
        """Draw the bracket together by what has been seen."""
        wanted = self.wanted()
        self.low = max([self.low, *(step for step in wanted if not self._passes(step))])
        self.high = min((step for step in wanted if step > self.low), default=self.high)

    def below(self) -> Findings:
        """What is found just below the answer."""
        return self.seen.get(self.length(self.low), ())

    def _passes(self, step: int) -> bool:
        return not any(one.seen.state in self.states for one in self.seen[self.length(step)])


def _run(
    searches: Iterable[_Search],
    process: Process,
    rules: Mapping[str, Rule],
    sides: tuple[str, ...],
) -> None:
    """Round after round until every search has its answer."""
    going = list(searches)
    while going := [search for search in going if search.wanted()]:
        wanted = {
            (id(search.seen), length): (search, length)
            for search in going
            for length in search.lengths()
            if length not in search.seen
        }
        specimens = [search.question.draw(length) for search, length in wanted.values()]
        found = judged(specimens, process, rules, sides)
        for (search, length), one in zip(wanted.values(), found, strict=True):
            search.seen[length] = one
        for search in going:
            search.narrow()


def _least(coarse: _Search, fine: _Search) -> Least:
    return Least(
        None if coarse.high is None else coarse.length(coarse.high),
        fine.high,
        coarse.high == coarse.first and fine.high == fine.first,
    )
