"""``baseline``: record what is found today, so that only new and worse findings fail."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN, say
from checker.errors import CheckerError, ReadError
from checker.options import add_files, add_profiles

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "baseline",
        help="record what is found today, so that only new and worse findings fail",
        description="Record what is found today in a file beside the board. From then on check "
        "fails for new findings and for those that got worse. What is mended leaves the file by "
        "itself; only this command lets it grow.",
        allow_abbrev=False,
    )
    add_files(parser)
    add_profiles(parser, "repeat it for each process to record", "the default one")


def run(args: argparse.Namespace) -> int:
    """Judge the board and write down what was found."""
    from checker.accepted.baseline import recorded
    from checker.accepted.baseline_file import read_baseline, write_baseline
    from checker.accepted.place import baseline_path
    from checker.cache import usual_cache
    from checker.commands.judging import accepted, answers, tasks
    from checker.commands.shared import only_board
    from checker.report import words

    paths = only_board(args)
    (task,) = tasks(args, [paths])
    if isinstance(task, CheckerError):
        raise task
    (answer,) = answers([task.job], usual_cache(), 1)
    if answer.fault is not None:
        raise answer.fault
    path = baseline_path(paths)
    try:
        before = read_baseline(path)
    except ReadError as fault:
        say(f"{fault.where}: {fault.found}; it is replaced")
        before = None
    reports = accepted(task, answer.reports, all_count=True)
    write_baseline(recorded(reports, path.name, before), path)
    for report in reports:
        count = words.count(len(report.findings), "finding")
        say(f"{count} of {report.board.name} with {report.process.name} recorded in {path}")
    return CLEAN
