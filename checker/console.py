"""What is said beside the answer: a line on standard error, and how a command ends."""

from __future__ import annotations

import sys

from checker.options import PROG

CLEAN, FOUND, FAILED = 0, 1, 2  # exit statuses
NOTHING = "nothing was there to judge, which is no pass"


def say(message: str) -> None:
    """One line on standard error, whatever the message holds."""
    line = "".join(c if c.isprintable() else repr(c)[1:-1] for c in message)
    print(f"{PROG}: {line}", file=sys.stderr)


def fail(message: str) -> int:
    """Say why a command could not run; the exit status of one that couldn't."""
    say(message)
    return FAILED
