"""Boards on their way from the command line to reports, by way of the cache and the workers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from checker.commands.shared import config_for, layers_of, processes_of
from checker.config import boards_named, check_rules
from checker.console import say
from checker.errors import CheckerError, UsageError
from checker.many import Answer, Job
from checker.process import DEFAULT_PROFILE
from checker.read.boards import boards_of, titles_of
from checker.read.package import open_package
from checker.registry import rule_names

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence
    from typing import TypeAlias

    from checker.cache import Cache
    from checker.cache.codec import Origins
    from checker.config import Config
    from checker.findings import Report

    Kept: TypeAlias = tuple[Report, Origins | None]


_NOTHING = Answer(())


@dataclass(frozen=True, slots=True)
class Task:
    """A board that is to be judged: what was named, what is configured for it, its files."""

    paths: tuple[Path, ...]
    config: Config
    job: Job


def named_boards(args: argparse.Namespace) -> list[tuple[Path, ...]]:
    """The boards of a line that may name none, which are then those of the configuration."""
    if args.board:
        return boards_of(args.board)
    if args.no_config:
        raise UsageError("check --no-config", "no board is named", "BOARD")
    return [(path,) for path in boards_named(Path())]


def tasks(
    args: argparse.Namespace,
    boards: Sequence[tuple[Path, ...]],
    *,
    traced: bool = False,
    drawn: bool = False,
) -> Iterator[Task | CheckerError]:
    """Each board with its files, or why there is none.

    Raises:
        CheckerError: the configuration or a profile is at fault.
    """
    for paths, title in zip(boards, titles_of(boards), strict=True):
        config = config_for(paths, args)
        check_rules(config, rule_names())
        names = args.profile or config.profiles or (DEFAULT_PROFILE,)
        processes = tuple(processes_of(names, config))
        try:
            package = open_package(paths)
            layers = layers_of(args.layer, config, package)
        except CheckerError as fault:
            yield fault
        else:
            yield Task(paths, config, Job(package, processes, layers, title, traced, drawn))


def answers(jobs: Sequence[Job], cache: Cache, most: int) -> list[Answer]:
    """The answers to the jobs in order: from the cache, or worked out and kept there.

    Args:
        jobs: what is wanted.
        cache: where answers are kept.
        most: so many boards at once.
    """
    looked = [_Looked.up(job, cache) for job in jobs]
    left = [one.job for one in looked if one.job.processes]
    if left:
        fresh = iter(_worked_out(left, min(most, len(left))))
        looked = [replace(one, fresh=next(fresh)) if one.job.processes else one for one in looked]
    return [one.answer(cache) for one in looked]


@dataclass(frozen=True, slots=True)
class _Looked:
    """A job once the cache was asked.

    Attributes:
        keys, kept: one for each process; None what is not kept.
        job: what is left to do: the processes for which nothing is kept.
        fresh: the answer to that.
    """

    keys: tuple[str, ...]
    kept: tuple[Kept | None, ...]
    job: Job
    fresh: Answer = _NOTHING

    @classmethod
    def up(cls, job: Job, cache: Cache) -> _Looked:
        """Look up all that is kept for a job."""
        keys = cache.keys(job.package, job.title, job.layers, job.processes)
        kept = tuple(
            cache.get(key, process, traced=job.traced)
            for key, process in zip(keys, job.processes, strict=True)
        )
        missing = (one for one, known in zip(job.processes, kept, strict=True) if known is None)
        return cls(keys, kept, replace(job, processes=tuple(missing)))

    def answer(self, cache: Cache) -> Answer:
        """What was kept and what is fresh, in the order of the processes; the latter is kept."""
        if self.fresh.fault is not None:
            return self.fresh
        traces = self.fresh.origins or (None,) * len(self.fresh.reports)
        fresh = zip(self.fresh.reports, traces, strict=True)
        found: list[Kept] = []
        for key, known in zip(self.keys, self.kept, strict=True):
            found.append(known or next(fresh))
            if known is None:
                cache.keep(key, *found[-1])
        origins = tuple(traced for _, traced in found if traced is not None)
        whole = len(origins) == len(found)
        reports = tuple(report for report, _ in found)
        return Answer(reports, origins if whole else None, facts=self.fresh.facts)


def _worked_out(jobs: Sequence[Job], workers: int) -> list[Answer]:
    from checker.many import answers
    from checker.report.progress import progress

    if workers < 2:
        steps = sum(2 + len(job.processes) * len(rule_names()) for job in jobs)
        with progress(steps) as tell:
            return list(answers(jobs, None, tell))
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # Not forked: a terminal's progress bar has a thread, and what it holds would stay held.
    with (
        ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool,
        progress(len(jobs)) as tell,
    ):
        tell(f"Judging {len(jobs)} boards")
        return list(answers(jobs, pool, tell))


def with_drawer(task: Task, reports: Sequence[Report]) -> tuple[Report, ...]:
    """The reports of a board, which name the maker's bits that would open every gap of it."""
    if not task.config.bits:
        return tuple(reports)
    from checker.exact import TIE

    own = [one for one in processes_of(task.config.bits, task.config) if one.cut is not None]

    def named(report: Report) -> Report:
        window, cut = report.window, report.process.cut
        if window is None or window.beyond or cut is None or cut.most + TIE <= window.fits:
            return report
        fit = [one.name for one in own if one.cut and one.cut.most + TIE <= window.fits]
        return replace(report, drawer=tuple(fit))

    return tuple(map(named, reports))


def accepted(task: Task, reports: Sequence[Report], all_count: bool) -> tuple[Report, ...]:
    """The reports of a board with what was waived or is known set apart; its baseline shrinks.

    Args:
        task: the board.
        reports: one for each process.
        all_count: pass over the baseline.
    """
    from datetime import date

    from checker.accepted.accept import accept
    from checker.accepted.baseline import baseline_path, shrunk
    from checker.accepted.baseline_file import read_baseline, write_baseline

    path = baseline_path(task.paths)
    baseline = None if all_count else read_baseline(path)
    found = accept(reports, task.config.waivers, baseline, date.today())
    if baseline is not None and (less := shrunk(baseline, reports)) is not None:
        try:
            write_baseline(less, path)
        except OSError as fault:
            say(f"{baseline.source}: cannot shrink: {fault.strerror}")
    return found
