"""Errors a user can cause, and the one line each of them prints.

``CheckerError`` is the base; every child names the stage that refused:

* ``ReadError``: a board file cannot be read
* ``ProfileError``: a process profile cannot be used
* ``ConfigError``: a configuration file cannot be used
* ``MeasurementError``: what was measured on a coupon cannot be used
* ``RulePackageError``: a rule package is missing, shadowed or of another version
* ``UsageError``: the command line asks for something that is not there
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class CheckerError(Exception):
    """A fault the user can mend: where, what was found, what was expected, what to do.

    Args:
        where: file, ``file:line``, object or option at fault.
        found: what stands there.
        expected: what should stand there, or "" where ``found`` says it all.
        advice: what to do about it, or "".
    """

    def __init__(self, where: str, found: str, expected: str = "", advice: str = "") -> None:
        super().__init__(where, found, expected, advice)
        self.where = where
        self.found = found
        self.expected = expected
        self.advice = advice

    def __str__(self) -> str:
        text = f"{self.where}: {self.found}"
        if self.expected:
            text += f"; expected {self.expected}"
        if self.advice:
            text += f"; {self.advice}"
        # Names from hostile files must not move the cursor or add lines.
        return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


class ReadError(CheckerError):
    """A board file cannot be read."""


class ProfileError(CheckerError):
    """A process profile cannot be used."""


class ConfigError(CheckerError):
    """A configuration file cannot be used."""


class MeasurementError(CheckerError):
    """What was measured on a coupon cannot be used."""


class RulePackageError(CheckerError):
    """A rule package is missing, shadowed by something else, or written for another version."""


class UsageError(CheckerError):
    """The command line asks for something that is not there."""


def nearest(word: str, known: Iterable[str]) -> str:
    """Advice that names the nearest known word, or all of them where none is near."""
    import difflib

    names = list(known)
    near = difflib.get_close_matches(word, names, n=1)
    return f"did you mean {near[0]}?" if near else f"known here: {', '.join(names)}"
