"""From the text of one key to its value: every kind of value, short form and long form.

Short: ``0.1 mm``, ``0.1 mm ± 0.02 mm``, ``0.1 mm sd 0.01 mm``. Long: ``{value: <short>}``,
``{value: 0.1 mm, sd: 0.01 mm}`` or ``{least:, nominal:, most:}``, each with or without a source.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from checker.errors import ProfileError, nearest
from checker.process.bit import Spread
from checker.process.keys import LISTS, QUANTITIES, Key, Kind
from checker.process.units import COVERAGE, Measure, read_quantity, read_spread

if TYPE_CHECKING:
    from checker.process.nodes import Node

COMMA = "inside { } a comma ends a value: use quotes, and a point for decimals"
LONGEST_LIST = 500
_SHOWN = 40  # characters of a value in a message

Plain: TypeAlias = "str | int | float | Spread | tuple[float, ...] | None"

_ONE_VALUE = ("value", "source")
_WITH_SD = ("value", "sd", "source")
_ENDS = ("least", "nominal", "most", "source")


class Value(Struct, frozen=True):
    """A value in mm, degrees or words, and the source the profile names for it."""

    value: Plain
    source: str | None = None


def read_value(key: Key, node: Node) -> Value:
    """Read what stands at a key.

    Raises:
        ProfileError: it is not what the table asks for.
    """
    where = f"{node.where}: {key.name}"
    if key.kind in LISTS:
        return _list(key, node, where)
    if isinstance(node.value, str):
        return Value(_short(key, node.value, where))
    if isinstance(node.value, list):
        raise ProfileError(where, "a list", key.expected)
    if key.kind in (Kind.TEXT, Kind.CHOICE, Kind.DATE):
        raise ProfileError(where, "keys and values", key.expected)
    return _long(key, node.value, where)


def _short(key: Key, text: str, where: str) -> Plain:
    words, found = " ".join(text.split()), _found(text)
    if not words:
        raise ProfileError(where, found, key.expected)
    if not words.isprintable():
        raise ProfileError(where, f"{found} holds a control character", key.expected)
    match key.kind:
        case Kind.TEXT:
            return words
        case Kind.CHOICE:
            if words not in key.choices:
                raise ProfileError(where, found, key.expected, key.hint)
            return words
        case Kind.DATE:
            if not _is_date(words):
                raise ProfileError(where, f"{found} is no date", key.expected)
            return words
        case Kind.COUNT:
            low, high = key.plausible
            if key.may_be_none and words in ("none", "null"):
                return None
            if not re.fullmatch("[0-9]{1,4}", words) or not low <= int(words) <= high:
                expected = f"{key.expected} from {low:g} to {high:g}"
                raise ProfileError(where, found, expected)
            return int(words)
        case kind if kind in QUANTITIES:
            if key.may_be_none and words in ("none", "null"):
                return None
            return read_quantity(words, key.measure, where)
        case Kind.SPREAD | Kind.FOIL:
            spread = read_spread(words, key.measure, where)
            told = "±" in words or " sd " in words
            if key.spread_required and not told and spread.least == spread.most:
                raise ProfileError(
                    where, f"{words!r} says nothing of its spread", f"{words} ± 0.01 mm or the like"
                )
            return spread
    raise AssertionError(key.kind)


def _is_date(words: str) -> bool:
    """Whether a day of the calendar is written as ISO 8601 has it, year first."""
    if not re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", words):
        return False
    try:
        date.fromisoformat(words)
    except ValueError:
        return False
    return True


def _list(key: Key, node: Node, where: str) -> Value:
    """Lengths in any order, or two for a size; also as ``{value: [...], source: <text>}``."""
    source = None
    if isinstance(node.value, dict):
        parts = node.value
        for name in parts:
            if name not in _ONE_VALUE:
                at = f"{parts[name].where}: {key.name}.{name}"
                raise ProfileError(at, "unknown key", advice=nearest(name, _ONE_VALUE))
        if "value" not in parts:
            raise ProfileError(where, "value is missing", ", ".join(_ONE_VALUE))
        source = _source(parts, where)
        node = parts["value"]
    if isinstance(node.value, str) and key.may_be_none and node.value.strip() in ("none", "null"):
        return Value(None, source)
    if isinstance(node.value, str) and (key.kind is Kind.SIZE or _several(node.value)):
        raise ProfileError(where, _found(node.value), key.expected)
    entries = node.value if isinstance(node.value, list) else [node]
    if len(entries) > LONGEST_LIST or (key.kind is Kind.SIZE and len(entries) != 2):
        raise ProfileError(where, f"a list of {len(entries)}", key.expected)
    lengths = []
    for entry in entries:
        if not isinstance(entry.value, str):
            raise ProfileError(where, "a list of something else", key.expected)
        lengths.append(read_quantity(" ".join(entry.value.split()), key.measure, where))
    if not lengths:
        raise ProfileError(where, "an empty list", key.expected)
    return Value(tuple(lengths if key.kind is Kind.SIZE else sorted(set(lengths))), source)


def _several(text: str) -> bool:
    """Whether text is none or more than one length; a decimal comma has a message of its own."""
    return not text.strip() or re.search(r"[,;]\s|[0-9a-z]\s+[0-9]", text) is not None


def _found(text: str) -> str:
    """A value as messages show it."""
    words = " ".join(text.split())
    if not words:
        return "nothing stands here"
    return repr(words if len(words) <= _SHOWN else words[:_SHOWN] + "...")


def _source(parts: dict[str, Node], where: str) -> str | None:
    if "source" not in parts:
        return None
    source = " ".join(str(parts["source"].value).split())
    if not isinstance(parts["source"].value, str) or not source or not source.isprintable():
        raise ProfileError(f"{where}.source", "no printable text", "words")
    return source


def _long(key: Key, parts: dict[str, Node], where: str) -> Value:
    spread = key.kind in (Kind.SPREAD, Kind.FOIL)
    ends = spread and any(end in parts for end in _ENDS[:3])
    allowed = _ENDS if ends else _WITH_SD if spread else _ONE_VALUE
    for name, node in parts.items():
        at = f"{node.where}: {key.name}.{name}"
        if name not in allowed:
            advice = nearest(name, allowed)
            if node.value == "":  # {source: a, b} or {value: 0,1 mm}
                advice = COMMA
            raise ProfileError(at, "unknown key", advice=advice)
        if not isinstance(node.value, str):
            raise ProfileError(at, "keys and values" if isinstance(node.value, dict) else "a list")
    texts = {name: str(node.value) for name, node in parts.items()}
    missing = [name for name in (_ENDS[:3] if ends else ("value",)) if name not in texts]
    if missing:
        raise ProfileError(where, f"{missing[0]} is missing", ", ".join(allowed))
    source = _source(parts, where)

    def length(name: str) -> float:
        measure = key.measure
        if name in ("least", "most"):  # a plausible value may spread beyond what is plausible
            measure = Measure(measure.units, (0, 2 * measure.plausible[1]))
        return read_quantity(texts[name], measure, f"{parts[name].where}: {key.name}.{name}")

    if ends:
        least, nominal, most = map(length, _ENDS[:3])
        if not least <= nominal <= most:
            raise ProfileError(
                where, f"{least:g}, {nominal:g}, {most:g} mm", "least, nominal and most in order"
            )
        return Value(Spread(least, nominal, most), source)
    if "sd" in texts:
        return Value(_scattered(key, texts, where), source)
    return Value(_short(key, texts["value"], f"{parts['value'].where}: {key.name}"), source)


def _scattered(key: Key, texts: dict[str, str], where: str) -> Spread:
    nominal = read_quantity(texts["value"], key.measure, where)
    widest = Measure(key.measure.units, (0, nominal / COVERAGE))
    wide = COVERAGE * read_quantity(texts["sd"], widest, f"{where}.sd")
    return Spread(nominal - wide, nominal, nominal + wide)
