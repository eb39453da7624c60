"""The board note: what its maker says of the voltages and currents of the board's nets.

A file of YAML with one group, ``nets``, which reads as that of a profile does; see
`checker.process.ratings`. The group of a process tells what is usual, the note what this board has.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.errors import ProfileError, ReadError, nearest

if TYPE_CHECKING:
    from collections.abc import Collection

    from checker.board import Rating

_EXAMPLE = "nets: {LIVE: 230 V ac}"
_NAMELESS = "its files name no nets: add a netlist, or layers that name them"
_SHOWN = 12  # names to tell where none is near


def read_note(text: str, name: str, nets: Collection[str]) -> dict[str, Rating]:
    """Net name -> rating.

    Args:
        text: the file.
        name: what messages call it.
        nets: names of the board's nets.

    Raises:
        ReadError: no such note, a value that cannot be meant, or a net that the board lacks.
    """
    from checker.process.nodes import LARGEST, parse_nodes
    from checker.process.ratings import GROUP, read_ratings

    if len(text) > LARGEST:
        raise ReadError(name, f"is longer than {LARGEST // 1024} KiB", "a board note")
    try:
        root = parse_nodes(text, name, (_EXAMPLE, _EXAMPLE))
        for word, node in root.items():
            if word != GROUP:
                raise ReadError(f"{node.where}: {word}", "unknown key", _EXAMPLE)
        if GROUP not in root:
            raise ReadError(name, "names no net", _EXAMPLE)
        group = root[GROUP]
        if not isinstance(group.value, dict) or not group.value:
            raise ReadError(f"{group.where}: {GROUP}", "names no net", _EXAMPLE)
        ratings = read_ratings(group.value)
    except ProfileError as fault:
        raise ReadError(*fault.args) from None
    for net, node in group.value.items():
        if net not in nets:
            advice = _advice(net, sorted(nets))
            raise ReadError(f"{node.where}: {GROUP}.{net}", "is no net of the board", advice=advice)
    return ratings


def _advice(net: str, nets: list[str]) -> str:
    if not nets:
        return _NAMELESS
    advice = nearest(net, nets)
    return advice if advice.startswith("did you mean") else nearest(net, nets[:_SHOWN])
