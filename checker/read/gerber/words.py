"""A Gerber file as words: the texts between the asterisks, each with its line."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from checker.board import Note

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

MOST_NOTES = 200


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


class Remarks:
    """What was ignored or guessed: each text once, at its first line, with a count."""

    def __init__(self) -> None:
        self._first: dict[str, int] = {}
        self._count: dict[str, int] = {}
        self._beyond = 0

    def add(self, at: int, text: str) -> None:
        """Remember a text for the word number ``at``."""
        if text in self._first:
            self._count[text] += 1
        elif len(self._first) < MOST_NOTES:
            self._first[text] = at
            self._count[text] = 1
        else:
            self._beyond += 1

    def notes(self, source: str, lines: Ints) -> tuple[Note, ...]:
        """All of them as notes, in the order of the file."""
        notes = [
            Note(source, int(lines[at]), _counted(text, self._count[text]))
            for text, at in self._first.items()
        ]
        if self._beyond:
            notes.append(Note(source, 0, f"{self._beyond} further remarks"))
        return tuple(sorted(notes, key=lambda note: note.line))


def _counted(text: str, count: int) -> str:
    return text if count == 1 else f"{text} ({count} times, here first)"
