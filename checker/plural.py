"""Numbers with their nouns."""

from __future__ import annotations


def count(number: int, what: str) -> str:
    """A number with its noun in the plural or not: "1 hole", "3 holes"."""
    plural = "es" if what.endswith("s") else "s"
    return f"{number} {what}" if number == 1 else f"{number} {what}{plural}"
