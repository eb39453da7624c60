"""``calibrate``: from what was measured on a coupon to a profile of one's own machine."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from checker.commands.shared import write_json, write_text
from checker.console import CLEAN
from checker.errors import UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable, Iterator, Sequence

    from checker.board import Board
    from checker.calibration import Change
    from checker.config import Config
    from checker.options import Commands

FORMATS = ("text", "json", "html", "svg")
_OF_ACCOUNTS = (".txt", ".json", ".html", ".htm", ".svg")


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "calibrate",
        help="make a profile from what was measured on a coupon",
        description="Fit the width of the cut, its spread and what else was measured on a coupon, "
        "and write a profile based on the one that the coupon was made for.",
        allow_abbrev=False,
    )
    parser.add_argument("process", metavar="PROFILE", help="a built-in name or a YAML file")
    parser.add_argument("measurements", metavar="PATH", type=Path, help="the form, filled in")
    parser.add_argument(
        "-o",
        "--output",
        metavar="PATH",
        type=Path,
        help="the profile to write (default: PROFILE-measured.yaml beside the form)",
    )
    parser.add_argument("--force", action="store_true", help="write over a profile that is there")
    parser.add_argument(
        "--board",
        metavar="PATH",
        type=Path,
        action="append",
        default=[],
        help="a board, a folder or an archive, whose verdicts before and after to tell; repeatable",
    )
    parser.add_argument(
        "--format",
        metavar="FORMAT",
        choices=FORMATS,
        default="text",
        help="of the account: text (default), json, html with a plot, svg, the plot alone",
    )
    parser.add_argument(
        "--account",
        metavar="PATH",
        type=Path,
        help="write the account to a file instead of standard output",
    )


def run(args: argparse.Namespace) -> int:
    """Fit, write the profile, tell."""
    from checker.calibration import calibrate, read_measurements
    from checker.process import load_profile
    from checker.report import output
    from checker.report.calibration_profile import write_profile

    begin = time.perf_counter()
    before = load_profile(args.process)
    target = args.output or args.measurements.with_name(f"{before.name}-measured.yaml")
    if target.suffix.lower() in _OF_ACCOUNTS:
        raise UsageError(
            f"--output {target}",
            "takes the profile",
            "a name that ends in .yaml",
            "--account takes the account",
        )
    account = args.account and output.writable(args.account, [args.measurements, *args.board])
    calibration = calibrate(before, read_measurements(args.measurements))
    boards = list(_boards(args.board))  # what can't be read is told before anything is written
    write_profile(calibration, args.process, target, args.force)
    changed = _changed(boards, args.process, target)
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report.calibration_document import calibration_document

        write_json(calibration_document(calibration, changed), account)
    elif args.format == "html":
        from checker.report.html.calibration import calibration_page

        output.write(calibration_page(calibration, changed, seconds), account)
    elif args.format == "svg":
        from checker.report.calibration_svg import calibration_svg

        output.write(calibration_svg(calibration), account)
    else:
        from checker.report.calibration_text import calibration_text

        write_text(calibration_text(calibration, changed, seconds, str(target)), account)
    return CLEAN


def _boards(named: Sequence[Path]) -> Iterator[tuple[Board, Config]]:
    """The boards, each with what is configured for it, so that verdicts are those of a check."""
    from checker.commands.shared import layers_of
    from checker.config import config_of
    from checker.read import read_package
    from checker.read.boards import boards_of
    from checker.read.package import open_package

    for paths in boards_of([str(path) for path in named]) if named else ():
        config, package = config_of(paths), open_package(paths)
        yield read_package(package, layers_of((), config, package)), config


def _changed(
    boards: Iterable[tuple[Board, Config]], before: str, after: Path
) -> tuple[Change, ...]:
    """What becomes of each board."""
    from checker.calibration import changes
    from checker.process import load_profile

    return tuple(
        change
        for board, config in boards
        for change in changes(
            [board], *(load_profile(p, over=config.over) for p in (before, after))
        )
    )
