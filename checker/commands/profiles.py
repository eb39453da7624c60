"""``profiles``: the built-in processes, or one with its sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "profiles",
        help="list the built-in processes, or show one resolved",
        description="List the built-in processes with the width of their cut, or show all values "
        "of one and where they come from.",
        allow_abbrev=False,
    )
    parser.add_argument("name", metavar="NAME|FILE", nargs="?", help="the process to show")


def run(args: argparse.Namespace) -> int:
    """List them, or show one."""
    from checker.process import load_profile, profile_names
    from checker.report import pages

    if args.name is None:
        lines = pages.profile_list(map(load_profile, profile_names()))
    else:
        lines = pages.profile_page(load_profile(args.name))
    print("\n".join(lines))
    return CLEAN
