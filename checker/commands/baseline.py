"""``baseline``: record what is found today, so that only new and worse findings fail."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN, say
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
    from datetime import date

    from checker.accepted import accept, baseline
    from checker.commands.shared import config_for, layers_of, only_board, processes_of
    from checker.many import Job, judged
    from checker.process import DEFAULT_PROFILE
    from checker.read.package import open_package
    from checker.report.progress import progress

    paths = only_board(args)
    config = config_for(paths, args)
    names = args.profile or config.profiles or (DEFAULT_PROFILE,)
    processes = tuple(processes_of(names, config))
    job = Job(open_package(paths), processes, layers_of(args.layer, config))
    with progress() as tell:
        reports = [report for report, _ in judged(job, tell)]
    left = accept(reports, config.waivers, None, date.today())
    path = baseline.baseline_path(paths)
    baseline.write_baseline(baseline.recorded(left, baseline.read_baseline(path)), path)
    for report in left:
        say(f"{len(report.findings)} findings with {report.process.name} recorded in {path}")
    return CLEAN
