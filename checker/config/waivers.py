"""One waiver of a configuration file. Lengths in mm."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from checker.accepted.waiver import WITHIN, Waiver
from checker.config.patterns import check_pattern
from checker.config.words import inner, items, sentence, text
from checker.errors import ProfileError
from checker.process.keys import RULE_NAME, Key, Kind
from checker.process.units import LENGTH, Measure, read_quantity
from checker.process.values import read_value

if TYPE_CHECKING:
    from pathlib import Path

    from checker.process.nodes import Node

WORDS = ("rule", "reason", "board", "side", "nets", "pins", "at", "within", "until")
SIDE = "top|bottom|inner ?[1-9][0-9]?"
PIN = r".+\..+"
FARTHEST = 10_000.0  # mm: of a place from the origin of the files
WIDEST = (0.001, 1000.0)  # mm round a place
LONGEST_REASON = 1000  # characters


def read_waiver(node: Node, folder: Path) -> Waiver:
    """A waiver from its keys.

    Args:
        node: what stands in the list.
        folder: of the file.

    Raises:
        ProfileError: a key that is missing or not known, or a value that cannot be meant.
    """
    parts = inner(node, "waivers", WORDS)
    for needed, why in (("rule", "one such as uncuttable-gap"), ("reason", "why it will do")):
        if needed not in parts:
            raise ProfileError(f"{node.where}: waivers", f"{needed} is missing", why)
    if "within" in parts and "at" not in parts:
        where = f"{parts['within'].where}: waivers.within"
        raise ProfileError(where, "within of which place?", advice="say at: [12.3, 40.1] too")
    side = _formed(parts, "side", SIDE, "top, bottom or inner1")
    board = _formed(parts, "board", ".+", "")
    return Waiver(
        rule=_formed(parts, "rule", RULE_NAME, "a rule's name such as uncuttable-gap") or "",
        reason=sentence(parts["reason"], "waivers.reason", LONGEST_REASON),
        where=node.where,
        folder=folder,
        board=board and check_pattern(board, _at("board", parts["board"])),
        side=side and side.replace(" ", ""),
        nets=_names(parts, "nets", ".+", ""),
        pins=_names(parts, "pins", PIN, "a part and its pin such as U1.2"),
        at=_place(parts["at"]) if "at" in parts else None,
        within=_length(parts["within"], "within", WIDEST) if "within" in parts else WITHIN,
        until=_day(parts["until"]) if "until" in parts else None,
    )


def _at(word: str, node: Node) -> str:
    return f"{node.where}: waivers.{word}"


def _formed(parts: dict[str, Node], word: str, pattern: str, expected: str) -> str | None:
    return _text(parts[word], word, pattern, expected) if word in parts else None


def _names(parts: dict[str, Node], word: str, pattern: str, expected: str) -> tuple[str, ...]:
    nodes = items(parts.get(word), f"waivers.{word}")
    return tuple(_text(node, word, pattern, expected) for node in nodes)


def _text(node: Node, word: str, pattern: str, expected: str) -> str:
    words = text(node, f"waivers.{word}")
    if not re.fullmatch(pattern, words):
        raise ProfileError(_at(word, node), repr(words[:40]), expected)
    return words


def _place(node: Node) -> tuple[float, float]:
    entries = node.value if isinstance(node.value, list) else []
    if len(entries) != 2:
        raise ProfileError(_at("at", node), "is no place", "x and y in mm such as [12.3, 40.1]")
    x, y = (_length(entry, "at", (-FARTHEST, FARTHEST)) for entry in entries)
    return x, y


def _length(node: Node, word: str, plausible: tuple[float, float]) -> float:
    words = text(node, f"waivers.{word}")
    return read_quantity(words, Measure(LENGTH, plausible), _at(word, node))


def _day(node: Node) -> date:
    return date.fromisoformat(str(read_value(Key("waivers.until", Kind.DATE, ""), node).value))
