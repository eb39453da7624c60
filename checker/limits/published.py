"""Land patterns, leads and pins that makers and standards publish: ``lands.yaml`` of the rules.

Lengths in mm.
"""

from __future__ import annotations

import importlib.util
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from checker.errors import ProfileError, nearest
from checker.process.nodes import Node, read_nodes

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

Size = tuple[float, float]

_PACKAGE = "rules"  # by name: the engine does not import its rules
_NAME = "lands.yaml"
_LARGEST = 20.0  # mm, nothing of a land pattern is larger
_COUNTS = range(2, 13)  # pads of a row
_USUAL = 3


class Land(Struct, frozen=True):
    """A land pattern.

    Attributes:
        family: what it is for.
        pitch: middle to middle along the row; None where two pads face each other.
        pad: width along the row and length, or the diameter of round pads.
        gap: copper-free width between neighbours.
        across: gap between the row and what faces it; None where nothing does.
        facing: size of the one pad that faces the row; None for the same row again.
        hole: diameter of the holes, 0 for none.
        count: pads of the row.
        source: publisher and document, or "from memory".
    """

    family: str
    pitch: float | None
    pad: Size | float
    gap: float
    across: float | None
    facing: Size | None
    hole: float
    count: int
    source: str

    @property
    def size(self) -> Size:
        """Width of a pad along its row, and length."""
        return (self.pad, self.pad) if isinstance(self.pad, float) else self.pad

    @property
    def narrowest(self) -> float:
        """The narrowest gap between two of its pads."""
        return self.gap if self.across is None else min(self.gap, self.across)


class Lead(Struct, frozen=True):
    """A lead at its widest, and the hole published for it."""

    name: str
    lead: float
    hole: float
    source: str


class Pins(Struct, frozen=True):
    """Round pads in a row, each with a hole."""

    name: str
    pitch: float
    pad: float
    hole: float
    source: str


class Published(Struct, frozen=True):
    """The three tables, each in the order of the file."""

    lands: tuple[Land, ...]
    leads: tuple[Lead, ...]
    pins: tuple[Pins, ...]


@lru_cache(maxsize=1)
def published() -> Published:
    """The tables that come with the rules.

    Raises:
        ProfileError: the file is missing, or a row of it is not well-formed.
    """
    spec = importlib.util.find_spec(_PACKAGE)
    places = (spec.submodule_search_locations or ()) if spec else ()
    path = next((path for place in places if (path := Path(place) / _NAME).is_file()), None)
    if path is None:
        raise ProfileError(_PACKAGE, f"holds no {_NAME}", advice="install it again")
    return tables(read_nodes(path, f"{_PACKAGE}/{_NAME}"))


def tables(nodes: Mapping[str, Node]) -> Published:
    """The tables that the map of a file holds.

    Raises:
        ProfileError: a key that is unknown or missing, or a value that is no such length.
    """
    return Published(
        tuple(_land(row) for row in _rows(nodes, "lands")),
        tuple(
            Lead(row["name"], row["lead"], row["hole"], row["source"])
            for row in _rows(nodes, "leads")
        ),
        tuple(
            Pins(row["name"], row["pitch"], row["pad"], row["hole"], row["source"])
            for row in _rows(nodes, "pins")
        ),
    )


def _land(row: Mapping[str, Any]) -> Land:
    land = Land(
        row["family"],
        row.get("pitch"),
        row["pad"],
        row["gap"],
        row.get("across"),
        row.get("facing"),
        row.get("hole", 0.0),
        row.get("count", _USUAL),
        row["source"],
    )
    if row.get("facing") != "pad":
        return land
    width, length = land.size
    return replace(land, facing=(width + (land.count - 1) * (land.pitch or 0.0), length))


# --- reading --------------------------------------------------------------------------------


def _text(node: Node) -> str:
    if not isinstance(node.value, str) or not node.value:
        raise ProfileError(node.where, "no text", "a line of text")
    return node.value


def _length(node: Node) -> float:
    try:
        length = float(node.value) if isinstance(node.value, str) else 0.0
    except ValueError:
        length = 0.0
    if not 0.0 < length <= _LARGEST:
        raise ProfileError(node.where, "no length", f"mm, above 0 and up to {_LARGEST:g}")
    return length


def _size(node: Node) -> Size:
    if not isinstance(node.value, list) or len(node.value) != len(("width", "length")):
        raise ProfileError(node.where, "no size", "a width and a length")
    width, length = map(_length, node.value)
    return width, length


def _pad(node: Node) -> Size | float:
    return _size(node) if isinstance(node.value, list) else _length(node)


def _facing(node: Node) -> Size | str | None:
    if node.value in ("row", "pad"):
        return None if node.value == "row" else "pad"
    return _size(node)


def _count(node: Node) -> int:
    counts = {str(count): count for count in _COUNTS}
    if not isinstance(node.value, str) or node.value not in counts:
        raise ProfileError(node.where, "no count", f"{_COUNTS[0]} to {_COUNTS[-1]}")
    return counts[node.value]


_KEYS: dict[str, dict[str, Callable[[Node], Any]]] = {
    "lands": {
        "family": _text, "pad": _pad, "gap": _length, "source": _text, "pitch": _length,
        "across": _length, "facing": _facing, "hole": _length, "count": _count,
    },
    "leads": {"name": _text, "lead": _length, "hole": _length, "source": _text},
    "pins": {"name": _text, "pitch": _length, "pad": _length, "hole": _length, "source": _text},
}  # fmt: skip
_OPTIONAL = ("pitch", "across", "facing", "hole", "count")  # of a land


def _rows(nodes: Mapping[str, Node], table: str) -> list[dict[str, Any]]:
    if table not in nodes:
        raise ProfileError(_NAME, f"holds no {table}")
    listed, keys = nodes[table], _KEYS[table]
    if not isinstance(listed.value, list):
        raise ProfileError(f"{listed.where}: {table}", "no list", "a list of rows")
    rows = []
    for entry in listed.value:
        if not isinstance(entry.value, dict):
            raise ProfileError(entry.where, "a row without keys", "keys and values")
        for key, node in entry.value.items():
            if key not in keys:
                raise ProfileError(f"{node.where}: {key}", "unknown key", advice=nearest(key, keys))
        for key in keys:
            if key not in entry.value and not (table == "lands" and key in _OPTIONAL):
                raise ProfileError(entry.where, f"a row without {key}")
        rows.append({key: keys[key](node) for key, node in entry.value.items()})
    return rows
