"""Boards on their way from the command line to reports, by way of the cache and the workers."""

from __future__ import annotations

import gc
import os
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.accepted.place import baseline_path
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
    from collections.abc import Callable, Iterator, Sequence
    from typing import TypeAlias

    from checker.cache import Cache
    from checker.cache.codec import Origins
    from checker.config import Config
    from checker.findings import Report

    Kept: TypeAlias = tuple[Report, Origins | None]


class Task(Struct, frozen=True):
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
    relieved: bool = False,
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
            yield Task(
                paths, config, Job(package, processes, layers, title, traced, drawn, relieved)
            )


def answers(
    jobs: Sequence[Job], cache: Cache, most: int, meanwhile: Callable[[], None] = lambda: None
) -> list[Answer]:
    """The answers to the jobs in order: from the cache, or worked out and kept there.

    Args:
        jobs: what is wanted.
        cache: where answers are kept.
        most: so many workers at once.
        meanwhile: what this process may do while another begins to read.
    """
    keys = [cache.keys(j.package, j.title, j.layers, j.processes, j.relieved) for j in jobs]
    kept = [
        cache.get_all(row, job.processes, traced=job.traced)
        for job, row in zip(jobs, keys, strict=True)
    ]
    left = [job for job, known in zip(jobs, kept, strict=True) if known is None]
    fresh = iter(_worked_out(left, most, meanwhile) if left else ())
    found = []
    for row, known in zip(keys, kept, strict=True):
        found.append(next(fresh) if known is None else _answer(known))
        if known is None:
            _keep(found[-1], row, cache)
    return found


def _answer(kept: Sequence[Kept]) -> Answer:
    """What was kept of a board, one for each process."""
    origins = tuple(traced for _, traced in kept if traced is not None)
    whole = len(origins) == len(kept)
    return Answer(tuple(report for report, _ in kept), origins if whole else None)


def _keep(answer: Answer, keys: Sequence[str], cache: Cache) -> None:
    origins = answer.origins or (None,) * len(answer.reports)
    for key, report, traced in zip(keys, answer.reports, origins, strict=False):
        cache.keep(key, report, traced)


def _worked_out(jobs: Sequence[Job], workers: int, meanwhile: Callable[[], None]) -> list[Answer]:
    gc.enable()
    from checker.hands import both_hands
    from checker.many import answers
    from checker.report.progress import progress

    if len(jobs) == 1 or workers == 1 or any(job.drawn for job in jobs):
        both = workers > 1 and both_hands()
        steps = sum(2 + len(job.processes) * len(rule_names()) for job in jobs)
        with progress(steps) as tell:
            return list(answers(jobs, None, tell, meanwhile if both else None))
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # Not forked: a terminal's progress bar has a thread, and what it holds would stay held.
    with (
        ProcessPoolExecutor(min(workers, len(jobs)), mp_context=get_context("spawn")) as pool,
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

    path = baseline_path(task.paths)
    known = not all_count and os.path.lexists(path)
    if not known and not task.config.waivers:
        return tuple(reports)
    from checker.accepted.accept import accept
    from checker.accepted.baseline import shrunk
    from checker.accepted.baseline_file import read_baseline, write_baseline

    baseline = read_baseline(path) if known else None
    found = accept(reports, task.config.waivers, baseline, date.today())
    if baseline is not None and (less := shrunk(baseline, reports)) is not None:
        try:
            write_baseline(less, path)
        except OSError as fault:
            say(f"{baseline.source}: cannot shrink: {fault.strerror}")
    return found
