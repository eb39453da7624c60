"""``completion``: a script that completes the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN
from checker.options import SHELLS

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "completion",
        help="print a script that completes the command line in a shell",
        description="Print a script that completes commands, options, and the names of processes "
        "and rules in a shell. README says where to put it.",
        allow_abbrev=False,
    )
    parser.add_argument("shell", metavar="SHELL", choices=SHELLS, help=", ".join(SHELLS))


def run(args: argparse.Namespace) -> int:
    """Print it."""
    from checker.completion import script

    print(script(args.shell), end="")
    return CLEAN
