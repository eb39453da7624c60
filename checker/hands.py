"""One board judged with both hands: part of its rules in a second process, where that can be had.

The second process is a copy of this one, so nothing is read or sent twice; it sends back plain
values. What it does not answer, for whatever reason, is worked out here: it can make the answer
come sooner, never make it another.
"""

from __future__ import annotations

import gc
import os
import pickle
import sys
from itertools import chain
from typing import TYPE_CHECKING

import shapely

from checker.engine import reach_for, rules_asked
from checker.measure import facts_when_asked
from checker.registry import load_rules

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from typing import TypeAlias

    from checker.board import Board
    from checker.engine import Said
    from checker.findings import Rule
    from checker.measure import Facts, Necks
    from checker.process.model import Process

    Job: TypeAlias = tuple[int, str]  # which process, which rule
    Answers: TypeAlias = dict[Job, Said]

WORTH = 30_000
"""Corners of copper from which on a second process is worth it: a copy takes 20 ms to begin, and
some facts are then measured twice."""

_INDEX = 4  # bytes of a job's number in the queue
_MOST = 4096 // _INDEX  # jobs: that much a pipe takes at once (POSIX, PIPE_BUF, on Linux)


def both_hands() -> bool:
    """Whether a second process can be had: copied as it stands, with a processor of its own."""
    return sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1


def worth_both(board: Board) -> bool:
    """Whether a board is so large that a second process makes its answer come sooner."""
    corners = sum(int(shapely.get_num_coordinates(one.islands).sum()) for one in board.copper)
    return corners >= WORTH


def heard(
    board: Board, processes: Sequence[Process], before: Callable[[Rule, Process], None]
) -> tuple[Facts, list[Mapping[str, Said]]]:
    """What the rules say of a board, asked in two processes, and the facts they were asked about.

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
    here = [job for job, rule in asked.items() if "gaps" in rule.asks]
    there = [job for job, rule in asked.items() if "gaps" not in rule.asks and rule.asks]
    either = [job for job, rule in asked.items() if not rule.asks][:_MOST]

    def answer(job: Job) -> Said:
        return tuple(asked[job].check(facts, processes[job[0]]))

    found: Answers = {}
    with _Queue(either) as queue, _Second(lambda: _theirs(facts, there, queue, answer)) as second:
        _ = facts.gaps
        for job in chain(here, queue):
            before(asked[job], processes[job[0]])
            found[job] = answer(job)
        necks, theirs = second.result() or (None, {})
    if necks is not None:
        facts.take(necks)
    for job in asked.keys() - found.keys():
        before(asked[job], processes[job[0]])
        found[job] = theirs[job] if job in theirs else answer(job)
    by_process: list[Mapping[str, Said]] = [
        {name: found[i, name] for k, name in asked if k == i} for i in range(len(processes))
    ]
    return facts, by_process


def _theirs(
    facts: Facts, jobs: Sequence[Job], queue: _Queue, answer: Callable[[Job], Said]
) -> tuple[tuple[Necks, ...], Answers]:
    """The second process's part. A rule that fails there is asked again here, and fails here."""
    necks, found = facts.necks, {}
    for job in chain(jobs, queue):
        try:
            found[job] = answer(job)
        except Exception:
            continue
    return necks, found


class _Queue:
    """Jobs for whichever process is free, taken in order: their numbers in a pipe."""

    def __init__(self, jobs: Sequence[Job]) -> None:
        self._jobs = jobs

    def __enter__(self) -> _Queue:
        self._ends = os.pipe()
        os.write(self._ends[1], b"".join(i.to_bytes(_INDEX) for i in range(len(self._jobs))))
        os.set_blocking(self._ends[0], False)
        return self

    def __iter__(self) -> Iterator[Job]:
        while True:
            try:
                taken = os.read(self._ends[0], _INDEX)
            except BlockingIOError:
                return
            yield self._jobs[int.from_bytes(taken)]

    def __exit__(self, *_: object) -> None:
        for end in self._ends:
            os.close(end)


class _Second:
    """A copy of this process that works something out; it leaves no trace but its result."""

    def __init__(self, work: Callable[[], tuple[tuple[Necks, ...], Answers]]) -> None:
        self._work = work
        self._process = 0

    def __enter__(self) -> _Second:
        try:
            self._end, into = os.pipe()
            self._process = os.fork()
        except OSError:  # no more processes: all is worked out here
            return self
        if self._process == 0:
            gc.disable()  # a collection would write to every page that is shared
            status = 1
            try:
                with os.fdopen(into, "wb") as pipe:
                    pickle.dump(self._work(), pipe, pickle.HIGHEST_PROTOCOL)
                status = 0
            finally:
                os._exit(status)
        os.close(into)
        return self

    def result(self) -> tuple[tuple[Necks, ...], Answers] | None:
        """What was worked out, once it is there; None where it could not be."""
        if not self._process:
            return None
        with os.fdopen(self._end, "rb") as pipe:
            data = pipe.read()
        _, status = os.waitpid(self._process, 0)
        self._process = 0
        if status:
            return None
        found: tuple[tuple[Necks, ...], Answers] = pickle.loads(data)
        return found

    def __exit__(self, *_: object) -> None:
        if self._process:  # left before the result was asked for
            import signal

            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)
            os.close(self._end)
