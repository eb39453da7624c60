"""``check``: whether boards can be made, and if not, where, why and what to change."""

from __future__ import annotations

import argparse
import os
import sys
import time
from typing import TYPE_CHECKING

from checker.commands.shared import layers_of, processes_of, target_of, tell_verdicts
from checker.console import CLEAN, FAILED, FOUND, NOTHING, fail
from checker.errors import ReadError, UsageError
from checker.options import CONFIG, FORMATS, SEVERITIES, STATUS, add_board, add_profiles

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        help="judge up to so many boards at once (default: one for each processor)",
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
    """Judge boards by processes."""
    from checker.many import Job, judged
    from checker.process import DEFAULT_PROFILE
    from checker.read.boards import boards_of, titles_of
    from checker.read.package import open_package
    from checker.registry import load_rules
    from checker.report import documents, output
    from checker.report.judged import Judged
    from checker.report.progress import progress

    begin = time.perf_counter()
    target = target_of(args)
    processes = tuple(processes_of(args.profile or [DEFAULT_PROFILE]))
    boards = boards_of(args.board)
    if args.layer and len(boards) > 1:
        raise UsageError("--layer", f"{len(boards)} boards are named", "one board")
    documents.refuse(args.format, len(boards) * len(processes), target is not None)
    found: list[Judged] = []
    failed = False
    with progress(len(boards) * (2 + len(processes) * len(load_rules()))) as tell:
        for paths, title in zip(boards, titles_of(boards), strict=True):
            try:
                job = Job(open_package(paths), processes, layers_of(args.layer), title)
                found += [Judged(*one, paths) for one in judged(job, tell)]
            except ReadError as error:
                if len(boards) == 1:
                    raise
                failed = bool(fail(str(error)))
    if not found:
        return FAILED
    reports = [one.report for one in found]
    severities = SEVERITIES[: SEVERITIES.index(args.fail_on) + 1]
    status = FAILED if failed else _status(reports, severities)
    seconds = time.perf_counter() - begin
    answer = documents.Run(tuple(found), severities, status, seconds, args.all)
    output.write(documents.document(answer, args.format, None if target else sys.stdout), target)
    if target:
        for report in reports:
            tell_verdicts([report], target, f"{report.board.name}: " if len(boards) > 1 else "")
    if status == FAILED and not failed:
        fail(NOTHING)
    return status


def _status(reports: Sequence[Report], severities: Sequence[str]) -> int:
    """The worst of all reports; a run that could judge nothing is no pass."""
    if any(found.severity.value in severities for report in reports for found in report.findings):
        return FOUND
    unjudged = all(report.verdict.value == "not-checked" for report in reports)
    return FAILED if unjudged else CLEAN


def _jobs(text: str) -> int:
    if not (text.isdecimal() and 1 <= int(text) <= MOST_JOBS):
        raise argparse.ArgumentTypeError(
            f"{text} is no number of boards; expected 1 to {MOST_JOBS}"
        )
    return int(text)
