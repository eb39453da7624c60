"""``relieve``: the board with copper pulled back where gaps are too narrow to be cut."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from checker.commands.shared import config_for, layers_of, only_board, processes_of, write_text
from checker.console import CLEAN, FOUND, say
from checker.errors import UsageError
from checker.options import add_files, add_profiles, length_up_to

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands

FORMATS = ("text", "json")
_MOST = 10.0  # mm
DOCUMENT, PAGE = "relief.json", "relief.html"


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "relieve",
        help="take copper off where gaps are too narrow, and write the board anew",
        description="Pull copper back just so far that the cut passes where a gap is too narrow "
        "and copper stands beside it that can be spared: pours give first, then traces, then pads. "
        "The board's files are written to another folder, the copper files with strokes added that "
        "clear copper, all others as they are. Nothing is written unless the new board, read and "
        "judged again, has lost nothing.",
        epilog="exit status: 0 every gap can be cut, 1 some stay closed, 2 could not run\n",
        allow_abbrev=False,
    )
    add_files(parser)
    add_profiles(parser, "one only", "cone-30-0.1")
    parser.add_argument(
        "-o",
        "--output",
        metavar="DIR",
        type=Path,
        help="the folder to write, new or empty; needed but for --dry-run",
    )
    parser.add_argument("--force", action="store_true", help="write into a folder that has files")
    parser.add_argument("--dry-run", action="store_true", help="tell what would be done")
    parser.add_argument(
        "--only",
        metavar="WHAT",
        choices=("pours",),
        help="pours: take nothing off traces and pads",
    )
    parser.add_argument(
        "--most-taken",
        metavar="MM",
        type=length_up_to(_MOST),
        help="take no more than this off any edge",
    )
    parser.add_argument(
        "--all", action="store_true", help="show every place that is left and every remark"
    )
    parser.add_argument(
        "--format",
        metavar="FORMAT",
        choices=FORMATS,
        default=FORMATS[0],
        help="of the account on standard output: text (default), json",
    )


def run(args: argparse.Namespace) -> int:
    """Plan, prove, write, tell."""
    from checker.hands import both_hands
    from checker.process import DEFAULT_PROFILE
    from checker.read.package import open_package
    from checker.relief import Options
    from checker.relief.files import checked, contents_of, write
    from checker.relief.make import make
    from checker.report import json
    from checker.report.progress import progress
    from checker.report.relief_document import relief_document

    begin = time.perf_counter()
    if args.output is None and not args.dry_run:
        raise UsageError("relieve", "no folder to write", "-o DIR", "or --dry-run")
    paths = only_board(args)
    config = config_for(paths, args)
    names = args.profile or config.profiles or (DEFAULT_PROFILE,)
    process, *others = processes_of(names, config)
    if others:
        raise UsageError("relieve", f"{1 + len(others)} processes are named", "one process")
    target = None if args.dry_run else checked(args.output, paths, args.force)
    most = {} if args.most_taken is None else {"most_taken": args.most_taken}
    options = Options(only_pours=args.only == "pours", **most)
    with progress() as tell:
        tell(f"Reading {paths[0].name}")
        package = open_package(paths)
        contents = contents_of(paths, package)
        layers = layers_of(args.layer, config, package)
        made = make(package, contents, layers, process, options, tell, both_hands())
        document = json.dumps(relief_document(made))
        if target is not None:
            from checker.report.html.relief import relief_page

            tell(f"Writing {args.output}")
            told = {DOCUMENT: document.encode(), PAGE: relief_page(made).encode()}
            write({**contents, **made.files, **told}, target)
    if args.format == "json":
        print(document, end="")
    else:
        from checker.report.relief_text import relief_text

        seconds = time.perf_counter() - begin
        waivers = len(config.waivers)
        write_text(relief_text(made, seconds, args.all, waivers, dry_run=args.dry_run), None)
    if target is not None:
        say(f"{len(contents)} board files, {DOCUMENT} and {PAGE} in {args.output}")
    return FOUND if any(place.shut for place in made.relief.left) else CLEAN
