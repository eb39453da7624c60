"""Numbers with their nouns."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def count(number: int, what: str) -> str:
    """A number with its noun in the plural or not: "1 hole", "3 holes"."""
    plural = "es" if what.endswith("s") else "s"
    return f"{number} {what}" if number == 1 else f"{number} {what}{plural}"


def listed(words: Sequence[str]) -> str:
    """Words in a row: "top", "top and bottom", "top, inner 1 and bottom"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
