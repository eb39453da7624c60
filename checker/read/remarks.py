"""What is to be said of a file, however often: bounded, so that no file can fill a report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.board import Note

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_NOTES = 200


class Remarks:
    """What was ignored or guessed: each text once, at its first place, with a count."""

    def __init__(self) -> None:
        self._first: dict[str, int] = {}
        self._count: dict[str, int] = {}
        self._beyond = 0

    def add(self, at: int, text: str) -> None:
        """Remember a text for a place of the file, such as a line."""
        if text in self._first:
            self._count[text] += 1
        elif len(self._first) < MOST_NOTES:
            self._first[text] = at
            self._count[text] = 1
        else:
            self._beyond += 1

    def notes(self, source: str, line_of: Callable[[int], int] = int) -> tuple[Note, ...]:
        """All of them as notes, in the order of the file; ``line_of`` a place is its line."""
        notes = [
            Note(source, line_of(at), _counted(text, self._count[text]))
            for text, at in self._first.items()
        ]
        if self._beyond:
            notes.append(Note(source, 0, f"{self._beyond} further remarks"))
        return tuple(sorted(notes, key=lambda note: note.line))


def _counted(text: str, count: int) -> str:
    return text if count == 1 else f"{text} ({count} times, here first)"
