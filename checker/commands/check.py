"""``check``: whether boards can be made, and if not, where, why and what to change."""

from __future__ import annotations

import argparse
import gc
import os
import sys
import time
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.commands.shared import target_of, tell_verdicts, write_text
from checker.console import CLEAN, FAILED, FOUND, NOTHING, fail, say
from checker.errors import CheckerError, ReadError, UsageError
from checker.options import CONFIG, FORMATS, SEVERITIES, STATUS, add_board, add_profiles

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from checker.changes import Change
    from checker.findings import Report
    from checker.options import Commands
    from checker.report.judged import Judged


MOST_JOBS = 512


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "check",
        help="say whether a board can be made, and if not, why",
        description="Say whether a board can be made with a process, and if not, where, why and "
        "what to change.",
        epilog=STATUS,
        allow_abbrev=False,
    )
    add_board(
        parser,
        *FORMATS,
        what="one board or several: each folder and each zip archive is one, loose files together "
        "are one, a folder of boards is all of them (default: the boards that "
        f"{CONFIG} names)",
        least="*",
    )
    add_profiles(parser, "repeat it to judge the board for several", "the default one")
    parser.add_argument(
        "--fail-on",
        choices=SEVERITIES,
        default="error",
        help="the least severity that makes the exit status 1 (default: error, a board that "
        "cannot be made as it is; warnings are for a person to weigh)",
    )
    parser.add_argument(
        "--all",
        action="store_true",
        help="show every cause and every place in the text, not a handful of each",
    )
    parser.add_argument(
        "--watch",
        action="store_true",
        help="check again whenever the files are written anew, and say first what has changed; "
        "Ctrl-C ends it",
    )
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_jobs,
        default=os.cpu_count() or 1,
        help="share the work among up to so many workers, one for each board or two for a single "
        "one (default: one for each processor)",
    )
    parser.add_argument(
        "--no-baseline",
        action="store_true",
        help="count what a baseline knows too, and leave its file alone",
    )
    parser.add_argument(
        "--no-cache",
        action="store_true",
        help="work everything out anew, and keep nothing",
    )


def run(args: argparse.Namespace) -> int:
    """Judge boards by processes, once or whenever their files change."""
    target = target_of(args)
    if not args.watch:
        gc.disable()  # what an answer from the cache takes is soon done
        try:
            return _once(args, target)
        finally:
            gc.enable()
    from checker.report.changes_text import changes_lines, changes_text
    from checker.watch import changes, watch, watched

    def show(found: Sequence[Change]) -> None:
        if target is None and args.format == "text":
            write_text(changes_text(found), None)
        else:
            sys.stderr.write(changes_lines(found))

    again = changes(lambda: watched(args.board, args.profile), without=[target] if target else [])
    return watch(lambda told: _once(args, target, told), again, show)


def _once(
    args: argparse.Namespace,
    target: Path | None,
    told: Callable[[Sequence[Report]], None] = lambda _: None,
) -> int:
    """One check and its exit status; ``told`` gets the reports before they are written."""
    from checker.accepted.accept import once
    from checker.commands.judging import named_boards
    from checker.report import documents, output

    begin = time.perf_counter()
    boards = named_boards(args)
    if args.layer and len(boards) > 1:
        raise UsageError("--layer", f"{len(boards)} boards are named", "one board")
    judged, failed = _judged(args, boards, target is not None)
    if not judged:
        return FAILED
    reports = once(one.report for one in judged)
    found = tuple(replace(one, report=r) for one, r in zip(judged, reports, strict=True))
    severities = SEVERITIES[: SEVERITIES.index(args.fail_on) + 1]
    status = FAILED if failed else _status(reports, severities)
    seconds = time.perf_counter() - begin
    answer = documents.Run(found, severities, status, seconds, args.all, date.today())
    told(reports)
    output.write(documents.document(answer, args.format, None if target else sys.stdout), target)
    if target:
        for report in reports:
            tell_verdicts([report], target, f"{report.board.name}: " if len(boards) > 1 else "")
    if status == FAILED and not failed:
        fail(NOTHING)
    return status


def _judged(
    args: argparse.Namespace, boards: Sequence[tuple[Path, ...]], to_file: bool
) -> tuple[list[Judged], bool]:
    """All that could be judged, and whether anything could not be."""
    from checker.cache import Cache, usual_cache
    from checker.commands.judging import accepted, answers, tasks, with_drawer
    from checker.report import documents
    from checker.report.judged import Judged

    failed = False

    def told(fault: CheckerError, paths: Sequence[Path]) -> bool:
        if len(boards) == 1:
            raise fault
        of, text = str(paths[0]), str(fault)  # of which board its file is, for many are alike
        return bool(fail(text if text.startswith(of) else f"{of}: {text}"))

    drawn = args.format in documents.DRAWN
    ready = []
    asked = tasks(
        args,
        boards,
        traced=args.format in documents.TRACED,
        drawn=drawn,
        relieved=args.format in documents.RELIEVED,
    )
    for paths, task in zip(boards, asked, strict=True):
        if isinstance(task, CheckerError):
            failed = told(task, paths)
        else:
            ready.append(task)
    documents.refuse(args.format, sum(len(task.job.processes) for task in ready), to_file)
    cache = Cache(None) if drawn or args.no_cache else usual_cache()
    found: list[Judged] = []
    jobs, load = [task.job for task in ready], partial(documents.load, args.format)
    for task, answer in zip(ready, answers(jobs, cache, args.jobs, load), strict=True):
        try:
            if answer.fault is not None:
                raise answer.fault
            reports = accepted(task, with_drawer(task, answer.reports), args.no_baseline)
        except ReadError as fault:  # of the board's files, or of its baseline
            failed = told(fault, task.paths)
            continue
        traces = answer.origins or (None,) * len(reports)
        found += [
            Judged(report, answer.facts, task.paths, trace)
            for report, trace in zip(reports, traces, strict=True)
        ]
    if cache.complaint:
        say(cache.complaint)
    return found, failed


def _status(reports: Sequence[Report], severities: Sequence[str]) -> int:
    """The worst of all reports; a run that could judge nothing is no pass."""
    if any(found.severity.value in severities for report in reports for found in report.findings):
        return FOUND
    unjudged = all(report.verdict.value == "not-checked" for report in reports)
    return FAILED if unjudged else CLEAN


def _jobs(text: str) -> int:
    if not (text.isdecimal() and 1 <= int(text) <= MOST_JOBS):
        raise argparse.ArgumentTypeError(
            f"{text} is no number of workers; expected 1 to {MOST_JOBS}"
        )
    return int(text)
