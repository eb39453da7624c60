"""``compare``: which bit or method suits a board."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from checker.commands.shared import (
    board_of,
    processes_of,
    target_of,
    tell_verdicts,
    write_json,
    write_text,
)
from checker.console import CLEAN, FOUND, NOTHING, fail
from checker.options import add_board, add_profiles

if TYPE_CHECKING:
    import argparse

    from checker.config import Config
    from checker.options import Commands
    from checker.process import Process


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "compare",
        help="say which bit or method suits a board, in one table",
        description="Judge a board by several processes: which of them make it, at which depth, "
        "with what margin, in what time, and what would help the others. "
        "Without --profile the bits and profiles that .cutworthy.yaml names are compared, or all "
        "built-in ones.",
        epilog="exit status: 0 one of them makes the board, 1 none does, 2 could not run\n",
        allow_abbrev=False,
    )
    add_board(parser)
    add_profiles(parser, "repeat it for each process to compare", "all built-in ones")
    parser.add_argument(
        "--odds",
        action="store_true",
        help="work out how likely the board comes out whole with each, by drawing the errors of "
        "machine and bit many times",
    )
    parser.add_argument(
        "--relief",
        action="store_true",
        help="plan for each process that leaves gaps closed how many of them taking off spare "
        "copper would open",
    )
    parser.add_argument(
        "--all",
        action="store_true",
        help="show every cause in the text, remarks too, not a handful of each process",
    )


def run(args: argparse.Namespace) -> int:
    """Judge a board by several processes; 0 where one of them makes it."""
    from checker.findings import Verdict
    from checker.process import profile_names

    begin = time.perf_counter()
    target = target_of(args)
    processes: list[Process] = []

    def prepare(config: Config) -> None:
        import checker.comparison  # noqa: F401 - takes long to load
        from checker.hearing import get_ready

        names = args.profile or (*config.bits, *config.profiles) or profile_names()
        processes.extend(processes_of(names, config))
        get_ready()
        if args.format == "text":
            from checker.report import comparison_text  # noqa: F401 - takes long to load

    with board_of(args, prepare) as (board, config, tell):
        from checker.comparison import compare
        from checker.hands import both_hands

        tell(f"Comparing {len(processes)} processes for {board.name}")
        found = compare(
            board,
            processes,
            odds=args.odds,
            relief=args.relief,
            both=both_hands(),
            remarks=args.all or args.format == "json",  # what nobody reads is not asked
        )
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report.comparison_json import comparison_document

        write_json(comparison_document(found), target)
    else:
        from checker.report.comparison_text import comparison_text

        waivers = len(config.waivers)
        shown = comparison_text(found, seconds, args.all, waivers, relief=args.relief)
        write_text(shown, target)
    if target:
        tell_verdicts(found.rows[:1], target)
    best = found.rows[0].verdict
    if all(row.verdict is Verdict.NOT_CHECKED for row in found.rows):
        return fail(NOTHING)
    return CLEAN if best in (Verdict.MAKEABLE, Verdict.MARGINAL) else FOUND
