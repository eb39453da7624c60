"""``completion``: a script that completes the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse


def run(args: argparse.Namespace) -> int:
    """Print it."""
    from checker.completion import script

    print(script(args.shell), end="")
    return CLEAN
