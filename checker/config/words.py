"""Texts, lists and maps of a configuration file, each with one line for what is wrong with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.errors import ProfileError, nearest

if TYPE_CHECKING:
    from collections.abc import Collection

    from checker.process.nodes import Node

LONGEST = 200  # characters of a text
MOST = 500  # items of a list
_SHOWN = 40  # characters of a value in a message


def text(node: Node, key: str, longest: int = LONGEST) -> str:
    """A name: text of one line, without the blanks round it.

    Raises:
        ProfileError: a list or a map, nothing, too long, or not printable.
    """
    where = f"{node.where}: {key}"
    if not isinstance(node.value, str):
        found = "a list" if isinstance(node.value, list) else "keys and values"
        raise ProfileError(where, found, "text")
    words = node.value.strip()
    if not words:
        raise ProfileError(where, "nothing stands here", "text")
    if not words.isprintable():
        raise ProfileError(where, f"{words[:_SHOWN]!r} holds a control character", "text")
    if len(words) > longest:
        raise ProfileError(where, f"{words[:_SHOWN]!r}... is longer than {longest} characters")
    return words


def sentence(node: Node, key: str, longest: int) -> str:
    """Text for people, whose line breaks and other blanks are one blank each.

    Raises:
        ProfileError: as `text`.
    """
    value = " ".join(node.value.split()) if isinstance(node.value, str) else node.value
    return text(replace(node, value=value), key, longest)


def items(node: Node | None, key: str) -> list[Node]:
    """The items of a list; one alone needs no brackets, and where nothing is said there is none.

    Raises:
        ProfileError: an empty list, or one too long.
    """
    if node is None:
        return []
    found = node.value if isinstance(node.value, list) else [node]
    if not 0 < len(found) <= MOST:
        what = f"a list of {len(found)}" if found else "an empty list"
        raise ProfileError(f"{node.where}: {key}", what, f"1 to {MOST} items")
    return found


def inner(node: Node, key: str, known: Collection[str] | None = None) -> dict[str, Node]:
    """The keys and values of a map, whose keys may have to be known.

    Raises:
        ProfileError: not a map, or a key that is not known.
    """
    if not isinstance(node.value, dict):
        shown = "a list" if isinstance(node.value, list) else repr(node.value[:_SHOWN])
        found = shown if node.value else "nothing stands here"
        raise ProfileError(f"{node.where}: {key}", found, "keys and values")
    for word, child in node.value.items():
        if known is not None and word not in known:
            raise ProfileError(
                f"{child.where}: {key}.{word}", "unknown key", advice=nearest(word, known)
            )
    return node.value
