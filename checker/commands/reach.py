"""``reach``: what a process can make, before anything is drawn."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from checker.commands.shared import write_json, write_text
from checker.console import CLEAN
from checker.options import add_output

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "reach",
        help="say what a process can make, before anything is drawn",
        description="Say what a process can make, before anything is drawn: widths and clearances "
        "to set in a layout editor, vias, traces between pins, land patterns, the largest board.",
        allow_abbrev=False,
    )
    parser.add_argument("process", metavar="PROFILE", help="a built-in name or a YAML file")
    add_output(parser, "text", "json", "yaml")


def run(args: argparse.Namespace) -> int:
    """Ask the rules about small boards of our own."""
    from checker.limits import limits_of
    from checker.process import load_profile
    from checker.report import output

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, [Path(args.process)])
    limits = limits_of(load_profile(args.process))
    seconds = time.perf_counter() - begin
    if args.format == "text":
        from checker.report.limits_text import limits_text

        write_text(limits_text(limits, seconds), target)
        return CLEAN
    from checker.report.limits_document import limits_document, yaml_text

    document = limits_document(limits)
    if args.format == "yaml":
        output.write(yaml_text(document), target)
    else:
        write_json(document, target)
    return CLEAN
