"""A small, hostile-safe YAML: maps, lists and plain text, every value with its file and line.

Values stay the text that the file holds, so that ``angle: 1:30`` or ``title: no`` is never read as
a number of seconds or a truth value. Refused: tags, anchors and aliases, a key given twice, more
than one document, more than `LARGEST` bytes, more than `DEEPEST` levels.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeAlias

import yaml
from msgspec import Struct

from checker.errors import ProfileError
from checker.opened import opened

if TYPE_CHECKING:
    from pathlib import Path

LARGEST = 64 * 1024
DEEPEST = 8
LONGEST_KEY = 80


class Node(Struct, frozen=True, eq=False):
    """A value: text, a map or a list; ``where`` is "file:line"."""

    value: str | dict[str, Node] | list[Node]
    where: str


_Events: TypeAlias = Iterator[Any]  # PyYAML's events share no useful base type


_FAST = getattr(yaml, "CSafeLoader", None)  # sixteen times faster; not in every build of PyYAML
_LETTERS = r"[\n -=@-{}~\xa1-\u02ff\u2030-\u24ff]*"
# Texts that both loaders read alike. They differ on tabs, odd ends of lines, and "?", "|" or ">"
# in strange places.
_ORDINARY = re.compile(rf"{_LETTERS}(?:>-\n{_LETTERS})*")

_PROFILE = ("based_on: cone-30-0.1", "method: milling")


def read_nodes(
    path: Path,
    shown: str,
    hint: str = "",
    what: str = "a profile file",
    such_as: tuple[str, str] = _PROFILE,
) -> dict[str, Node]:
    """The map that a profile file holds, or another file of its kind.

    Args:
        path: the file.
        shown: how messages call it.
        hint: advice where there is no such file.
        what: what the file should be.
        such_as: examples of what might stand in it.

    Raises:
        ProfileError: no such file, not text, not YAML, not a map, or one of the refused things.
    """
    return parse_nodes(_text(path, shown, hint, what), shown, such_as)


@lru_cache(maxsize=8)
def parse_nodes(
    text: str,
    shown: str,
    such_as: tuple[str, str] = _PROFILE,
) -> dict[str, Node]:
    """The map that a text holds; ``such_as`` are examples of what might stand in it.

    A base that several profiles share is parsed once.

    Raises:
        ProfileError: not YAML, empty, not a map, or one of the refused things.
    """
    try:
        root = _root(text, shown)
    except yaml.reader.ReaderError as fault:
        line = text.count("\n", 0, fault.position) + 1
        raise ProfileError(
            f"{shown}:{line}", "holds a control character", "a text file in YAML"
        ) from None
    except yaml.MarkedYAMLError as fault:
        raise _not_yaml(fault, shown) from None
    if root is None:
        raise ProfileError(shown, "is empty", f"keys and values, such as {such_as[0]}")
    if not isinstance(root.value, dict):
        what = "a list" if isinstance(root.value, list) else "text without a key"
        raise ProfileError(root.where, what, f"keys and values, such as {such_as[1]}")
    return root.value


def _root(text: str, shown: str) -> Node | None:
    if _FAST is not None and _ORDINARY.fullmatch(text):
        # What is wrong is told by the other, whose words do not hang on what is installed.
        with suppress(yaml.YAMLError, ProfileError):
            return _document(iter(yaml.parse(text, Loader=_FAST)), shown)
    return _document(iter(yaml.parse(text, Loader=yaml.SafeLoader)), shown)


def _text(path: Path, shown: str, hint: str, what: str) -> str:
    try:
        if path.is_dir():
            raise ProfileError(shown, "is a folder", what)
        if not path.exists():
            raise ProfileError(shown, "no such file", advice=hint)
        if not path.is_file():
            raise ProfileError(shown, "is not a regular file", what)
        with opened(path) as file, io.BufferedReader(file) as stream:
            raw = stream.read(LARGEST + 1)
    except OSError as fault:
        raise ProfileError(shown, f"cannot be read: {fault.strerror or fault}") from None
    except ValueError:  # a name that holds a zero byte
        raise ProfileError(shown, "no such file", advice=hint) from None
    if len(raw) > LARGEST:
        raise ProfileError(shown, f"is longer than {LARGEST // 1024} KiB", what)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        raise ProfileError(
            shown, "is not text in UTF-8", advice="save it as UTF-8, or write +- for ±"
        ) from None


def _not_yaml(fault: yaml.MarkedYAMLError, shown: str) -> ProfileError:
    mark = fault.problem_mark or fault.context_mark
    where = shown if mark is None else f"{shown}:{mark.line + 1}"
    problem = fault.problem or fault.context or "cannot be read"
    advice = ""
    if "'\\t'" in problem:
        problem, advice = "a tab where a value should start", "indent with spaces"
    elif "mapping values" in problem:
        problem = "a colon where none may stand"
        advice = "check how far the line is indented, and put text that holds a colon in quotes"
    elif "could not find expected ':'" in problem:
        problem, advice = "a line without a key", "a key ends in a colon and a space"
    return ProfileError(where, f"is not YAML: {problem}", advice=advice)


def _document(events: _Events, shown: str) -> Node | None:
    root = None
    for event in events:
        if isinstance(event, yaml.DocumentStartEvent):
            if root is not None:
                raise ProfileError(_where(event, shown), "a second document", "one per file")
            first = next(events)
            root = _node(first, events, shown, 1)
            if root.value == "" and first.implicit[0]:
                root = None
    return root


def _node(event: Any, events: _Events, shown: str, depth: int) -> Node:
    where = _where(event, shown)
    if isinstance(event, yaml.AliasEvent) or event.anchor is not None:
        raise ProfileError(
            where, "an anchor (&) or alias (*)", "plain values", "put such text in quotes"
        )
    if event.tag is not None:
        raise ProfileError(where, f"a tag ({event.tag})", "plain values", "leave the tag out")
    if isinstance(event, yaml.ScalarEvent):
        return Node(event.value, where)
    if depth > DEEPEST:
        raise ProfileError(where, f"nested more than {DEEPEST} deep", "a flatter file")
    if isinstance(event, yaml.SequenceStartEvent):
        items = []
        while not isinstance(item := next(events), yaml.SequenceEndEvent):
            items.append(_node(item, events, shown, depth + 1))
        return Node(items, where)
    entries: dict[str, Node] = {}
    while not isinstance(item := next(events), yaml.MappingEndEvent):
        key = _node(item, events, shown, depth + 1)
        if not isinstance(key.value, str) or len(key.value) > LONGEST_KEY:
            raise ProfileError(key.where, "a key that is not a word", "a word and a colon")
        if key.value in entries:
            raise ProfileError(
                key.where,
                f"{key.value} is given a second time",
                advice=f"it stands in line {entries[key.value].where.rpartition(':')[2]} already",
            )
        value = _node(next(events), events, shown, depth + 1)
        entries[key.value] = Node(value.value, key.where)
    return Node(entries, where)


def _where(event: Any, shown: str) -> str:
    return f"{shown}:{event.start_mark.line + 1}"
