"""``config``: what is configured for a board, and where."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN
from checker.errors import ReadError
from checker.options import CONFIG, ONE_BOARD, add_output

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "config",
        help="show what is configured for a board, and where",
        description="Show what is in force for a board and where each value comes from: the files "
        f"{CONFIG} in the board's folder and in those above it, up to the repository's own.",
        allow_abbrev=False,
    )
    parser.add_argument("board", metavar="BOARD", nargs="+", help=ONE_BOARD)
    add_output(parser, "text", "json")


def run(args: argparse.Namespace) -> int:
    """Show it."""
    from datetime import date

    from checker.commands.shared import only_board, processes_of, target_of, write_json
    from checker.config import config_of
    from checker.process import DEFAULT_PROFILE
    from checker.report import output
    from checker.report.config_text import config_document, config_text

    target = target_of(args)
    paths = only_board(args)
    for path in paths:
        if not path.exists():
            advice = "give a folder, a zip archive or board files"
            raise ReadError(str(path), "there is no such file", advice=advice)
    config = config_of(paths)
    processes = processes_of(config.profiles or (DEFAULT_PROFILE,), config)
    if args.format == "json":
        write_json(config_document(config, processes), target)
    else:
        output.write(config_text(config, processes, date.today()), target)
    return CLEAN
