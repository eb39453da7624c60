"""``coupon``: a small board to mill and measure, so that verdicts are about one's own machine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from checker.console import CLEAN, say

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "coupon",
        help="make a small board to mill and measure",
        description="Make a coupon for a process: Gerber and drill files of a small board with "
        "grooves, gaps and traces round what the process can just do, a sheet that says how to "
        "mill and measure it, and a form for what was measured, which calibrate reads.",
        allow_abbrev=False,
    )
    parser.add_argument("process", metavar="PROFILE", help="a built-in name or a YAML file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="DIR",
        type=Path,
        required=True,
        help="the folder to write, made if it is not there",
    )
    parser.add_argument("--force", action="store_true", help="write over files that are there")


def run(args: argparse.Namespace) -> int:
    """Plan it and write it."""
    from checker.coupon import coupon_of, write
    from checker.process import load_profile

    coupon = coupon_of(load_profile(args.process))
    files = write(coupon, args.output, args.force)
    say(f"{len(files)} files in {args.output}; begin with {args.output / 'sheet.html'}")
    return CLEAN
