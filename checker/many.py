"""Many boards, judged in this process or by any executor: a pool of processes, a cluster.

What goes to a worker and what comes back are plain values: the texts of the board's files and the
processes, then reports. So a worker needs this package and nothing else, no disk in common.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from checker.errors import CheckerError, ReadError
from checker.process.load import load_profile
from checker.process.model import Process

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from concurrent.futures import Executor, Future
    from pathlib import Path

    from checker.engine import Said
    from checker.findings import Report, Rule
    from checker.measure import Facts
    from checker.read.package import Package
    from checker.remarks import Origin

Origins = Mapping[str, "tuple[Origin, ...]"]


class Job(Struct, frozen=True):
    """A board to judge.

    Attributes:
        package: the texts of its files.
        processes: to judge it by, at least one.
        layers: roles that the user gives to files.
        title: what to call it where its own name does not do.
        traced: also look up what draws each finding.
        drawn: also hand back the facts, for pictures; not for an executor.
        relieved: also plan relief, where a board can't be made.
    """

    package: Package
    processes: tuple[Process, ...]
    layers: Mapping[str, Sequence[str]] = field(default_factory=dict)
    title: str | None = None
    traced: bool = False
    drawn: bool = False
    relieved: bool = False

    @property
    def name(self) -> str:
        """What the board is called."""
        return self.title or self.package.name


class Answer(Struct, frozen=True):
    """What became of a job.

    Attributes:
        reports: one per process, in their order; empty where the board could not be judged.
        origins: per report, finding id -> what it speaks of; None where nobody asked.
        fault: why the board could not be judged, or None.
        facts: what all of it was found by; None where nobody asked.
    """

    reports: tuple[Report, ...]
    origins: tuple[Origins, ...] | None = None
    fault: CheckerError | None = None
    facts: Facts | None = None


def check_many(
    boards: Iterable[str | Path | Sequence[str | Path]],
    profiles: Iterable[str | Path | Process],
    *,
    executor: Executor | None = None,
) -> list[Answer]:
    """Judge many boards by one process or several, each board measured once.

    Args:
        boards: a folder or an archive each, or the files of a board in a list.
        profiles: processes, or what `load_profile` takes.
        executor: where the work is done, as `concurrent.futures.Executor` has it (a pool of
            processes, the executor of a cluster); None for this process.

    Returns:
        An answer per board, in their order. A board that can't be read has a fault and no reports;
        the others are judged all the same.

    Raises:
        ProfileError: a profile cannot be used.
    """
    from checker.read.package import open_package

    processes = tuple(one if isinstance(one, Process) else load_profile(one) for one in profiles)
    lists = [[b] if isinstance(b, str) or not hasattr(b, "__iter__") else [*b] for b in boards]
    jobs: list[Job | CheckerError] = []
    for paths in lists:
        try:
            jobs.append(Job(open_package(paths), processes))
        except ReadError as fault:
            jobs.append(fault)
    found = answers([job for job in jobs if isinstance(job, Job)], executor)
    return [next(found) if isinstance(job, Job) else Answer((), fault=job) for job in jobs]


def answers(
    jobs: Sequence[Job],
    executor: Executor | None,
    tell: Callable[[str], None] = lambda _: None,
    meanwhile: Callable[[], None] | None = None,
) -> Iterator[Answer]:
    """The answers in the order of the jobs, each as soon as it and those before it are there.

    Left before the end, it takes back what was not begun. ``tell`` is called before each step of
    work in this process, and after each board of an executor. ``meanwhile`` is for work without an
    executor, see `judged`.

    Raises:
        CheckerError: the workers ended before the work.
    """
    if executor is None:
        yield from (answer(job, tell, meanwhile) for job in jobs)
        return
    from concurrent.futures import BrokenExecutor, CancelledError

    sent: list[Future[Answer]] = []
    try:
        sent += (executor.submit(answer, job) for job in jobs)
        for job, one in zip(jobs, sent, strict=True):
            found = one.result()
            tell(f"Judged {job.name}")
            yield found
    except (BrokenExecutor, CancelledError, MemoryError) as fault:
        raise CheckerError(
            "a worker",
            "ended before its answer",
            advice="most often for want of memory: --jobs 1 takes one board at a time",
        ) from fault
    finally:
        for one in sent:
            one.cancel()


def answer(
    job: Job,
    tell: Callable[[str], None] = lambda _: None,
    meanwhile: Callable[[], None] | None = None,
) -> Answer:
    """Judge one board; a fault of its files is part of the answer."""
    reports, origins = [], []
    facts = None
    try:
        for report, facts in judged(job, tell, meanwhile):
            reports.append(report)
            if job.traced:
                from checker.report.origins import origins_of

                trace = origins_of(facts)
                origins.append({found.id: trace.of(found) for found in report.findings})
    except ReadError as fault:
        return Answer((), fault=fault)
    return Answer(
        tuple(reports), tuple(origins) if job.traced else None, facts=facts if job.drawn else None
    )


def judged(
    job: Job,
    tell: Callable[[str], None] = lambda _: None,
    meanwhile: Callable[[], None] | None = None,
) -> Iterator[tuple[Report, Facts]]:
    """The reports of a board with what they were found by, measured once.

    Args:
        job: the board and the processes.
        tell: called before each step with what is being done.
        meanwhile: lets a second process help, see `checker.hands`; called while the other begins
            to read, for this one to get ready what it will want to have.
    """
    from checker.read import read_package

    def prepare() -> None:
        from checker.hearing import get_ready

        get_ready()
        if meanwhile is not None:
            meanwhile()

    tell(f"Reading {job.name}")
    both = meanwhile is not None
    board = read_package(job.package, job.layers, meanwhile=prepare if both else None)
    from checker.engine import check, reach_for
    from checker.findings import Verdict
    from checker.hands import worth_both
    from checker.hearing import heard
    from checker.measure import measure

    if job.title is not None:
        board = replace(board, name=job.title)
    mentions = _Mentions(job, tell)

    def before(rule: Rule, process: Process) -> None:
        tell(f"Judging {board.name} with {process.name}: {rule.name}")

    tell(f"Measuring {board.name}")
    said: Sequence[Mapping[str, Said]] = [{} for _ in job.processes]
    if both and worth_both(board):
        facts, said = heard(board, job.processes, before, mentions.foresee)
    else:
        facts = measure(board, reach_for(job.processes))
    for process, known in zip(job.processes, said, strict=True):
        report = check(
            board, process, facts=facts, before=partial(before, process=process), said=known
        )
        if job.relieved and report.verdict is Verdict.NOT_MAKEABLE:
            report = replace(report, relief=mentions.of(facts, process))
        yield report, facts


class _Mentions:
    """What relief would do for a board, process by process."""

    def __init__(self, job: Job, tell: Callable[[str], None]) -> None:
        self._job, self._tell = job, tell
        self._known: dict[int, tuple[int, int] | None] = {}  # by the id of the process

    def foresee(self, facts: Facts) -> None:
        """Plan it already where gaps alone make it plain that it will be asked."""
        from checker.tallying import a_gap_stays_shut

        for process in self._job.processes if self._job.relieved else ():
            if a_gap_stays_shut(facts, process):
                self.of(facts, process)

    def of(self, facts: Facts, process: Process) -> tuple[int, int] | None:
        """As `checker.relief.told.mention_of`."""
        from checker.relief.told import mention_of

        key = id(process)  # the job keeps it
        if key not in self._known:
            self._tell(f"Looking for spare copper of {facts.board.name} for {process.name}")
            self._known[key] = mention_of(facts, process)
        return self._known[key]
