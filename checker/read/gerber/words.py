"""A Gerber file as words: the texts between the asterisks, each with its line."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Ints

# An operation, or nothing at all: the words that make up nine tenths of a file.
OPERATION = re.compile(
    r"\s*(?:G0?([123]))?"
    r"(?:X([+-]?[\d.]+))?(?:Y([+-]?[\d.]+))?(?:I([+-]?[\d.]+))?(?:J([+-]?[\d.]+))?"
    r"(?:D0?([123]))?\s*\Z"
)
# Any word made of codes, one code at a time.
CODE = re.compile(r"\s*([A-Z])\s*([+-]?[\d.]*)")


class StatementError(Exception):
    """What makes a file unreadable; whoever knows the line turns it into a `ReadError`."""

    def __init__(self, found: str, expected: str = "", advice: str = "") -> None:
        super().__init__(found)
        self.found = found
        self.expected = expected
        self.advice = advice


def lines_of(words: Sequence[str]) -> Ints:
    """The 1-based line on which each word begins (leading line breaks are not yet the word)."""
    breaks = np.fromiter((word.count("\n") for word in words), np.int64, len(words))
    lines = 1 + np.cumsum(breaks)
    for several in np.flatnonzero(breaks > 1).tolist():
        word = words[several]
        lines[several] -= word.count("\n", len(word) - len(word.lstrip("% \t\r\n")))
    return lines


def quoted(word: str) -> str:
    """A word as a message shows it: one line, not too long."""
    word = " ".join(word[:200].split())
    return f'"{word[:40]}..."' if len(word) > 40 else f'"{word}"'
