"""``profiles``: the built-in processes, or one with its sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse


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
