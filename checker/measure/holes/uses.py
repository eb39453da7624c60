"""What a hole is for, and what copper stands round it on the outer sides."""

from __future__ import annotations

from enum import IntEnum
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.fills import fill_strokes
from checker.labels import labels_of, natural

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Hole, Ints


class Use(IntEnum):
    """What a hole is for."""

    UNKNOWN = 0  # it stands in copper, and the files say no more
    VIA = 1  # joins two sides; without plating a wire or a rivet does
    COMPONENT = 2  # takes a lead
    MECHANICAL = 3  # stands in no copper, or the files say so


# What tells of a hole's use, the surest first: attributes .AperFunction of the Gerber layer format
# on the drill and on pads round the hole, then names. A pad for vias may lie in one for a lead; a
# surface pad takes no lead.
_PIN, _LONE, _COPPER = "named pin", "pad without a part", "copper"
_SAYS = {
    "ViaDrill": Use.VIA,
    "ComponentDrill": Use.COMPONENT,
    "CastellatedDrill": Use.COMPONENT,
    "MechanicalDrill": Use.MECHANICAL,
    "ViaPad": Use.VIA,
    "ComponentPad": Use.COMPONENT,
    "SMDPad": Use.VIA,
    "BGAPad": Use.VIA,
    "HeatsinkPad": Use.VIA,
    _PIN: Use.COMPONENT,
    _LONE: Use.VIA,
    _COPPER: Use.UNKNOWN,
}


DRILLED_AWAY = 0.002
"""A pad wider than its hole by no more than this (mm) marks the place and is gone."""


class HoleUses(Struct, frozen=True, eq=False):
    """What every hole of a board is for; columns as long as the board's holes.

    Attributes:
        at: (n, 2) middle of the hole or slot, mm.
        use: (n,) values of `Use`.
        nets: the nets of the pads round it, as people call them.
        pins: what stands in it ("J1.2").
    """

    at: Floats
    use: NDArray[np.int8]
    nets: tuple[tuple[str, ...], ...]
    pins: tuple[tuple[str, ...], ...]


@lru_cache(maxsize=1)
def uses_of(board: Board) -> HoleUses:
    """What every hole of a board is for.

    The first that says so: the function of the drill; that of a pad round it; a component that a
    pad or a point of the netlist names there. A pad without a component is a via's where other
    pads of its layer have one.
    """
    holes, labels, flat = board.holes, labels_of(board), _flat_pins(board)
    at = np.array([_middle(hole) for hole in holes]).reshape(-1, 2)
    said = [{_first_word(hole.function)} for hole in holes]
    nets: list[set[str]] = [set() for _ in holes]
    pins: list[set[str]] = [set() for _ in holes]
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        objects = layer.objects
        lone = _LONE if (objects.component >= 0).any() else _COPPER
        pads = ((objects.kind == Kind.PAD) & (layer.island_of >= 0)).tolist()
        for hole, row in _standing(layer, at, holes):
            if not pads[row]:
                said[hole].add(_COPPER)
                continue
            nets[hole].add(labels.net(index, int(layer.island_of[row])))
            pin = labels.pin(index, row)
            if pin is not None:
                pins[hole].add(pin)
            said[hole].add(_first_word(objects.name(objects.function, row)))
            said[hole].add(lone if pin is None else "SMDPad" if pin in flat else _PIN)
    _ask_netlist(board, at, said, pins)
    return HoleUses(
        at,
        np.array([_use(words) for words in said], dtype=np.int8),
        tuple(map(_in_order, nets)),
        tuple(map(_in_order, pins)),
    )


def _in_order(names: set[str]) -> tuple[str, ...]:
    """Names as people count; most holes have one or none."""
    return tuple(names) if len(names) < 2 else tuple(sorted(names, key=natural))


def _middle(hole: Hole) -> tuple[float, float]:
    (x0, y0), (x1, y1) = hole.path[0], hole.path[-1]
    return (x0 + x1) / 2, (y0 + y1) / 2


def _standing(layer: CopperLayer, at: Floats, holes: Sequence[Hole]) -> Iterable[tuple[int, int]]:
    """(hole, row) for every pad or trace that a hole's middle lies in, if the hole leaves any.

    The strokes of a fill count as its region would where a pad is drawn that the hole takes away:
    it marks a peg.
    """
    objects = layer.objects
    rows: Ints = np.flatnonzero(objects.dark & (objects.kind != Kind.POUR))
    tree = shapely.STRtree(objects.shape[rows])
    hole, found = tree.query(shapely.points(at), predicate="intersects")
    x0, y0, x1, y1 = shapely.bounds(objects.shape[rows[found]]).T
    size = np.array([one.diameter for one in holes])[hole] if len(hole) else np.empty(0)
    stays = np.maximum(x1 - x0, y1 - y0) > size + DRILLED_AWAY
    pegs = hole[~stays & (objects.kind[rows[found]] == Kind.PAD)]
    stays &= ~(fill_strokes(layer)[rows[found]] & np.isin(hole, pegs))
    return zip(hole[stays].tolist(), rows[found[stays]].tolist(), strict=True)


def _ask_netlist(board: Board, at: Floats, said: list[set[str]], pins: list[set[str]]) -> None:
    """Points of a netlist within a hole."""
    if not board.pins or not len(at):
        return
    radius = np.array([hole.diameter / 2 for hole in board.holes])
    tree = shapely.STRtree(shapely.points([(pin.x, pin.y) for pin in board.pins]))
    near = tree.query(shapely.points(at), predicate="dwithin", distance=radius)
    for hole, row in near.T.tolist():
        pin = board.pins[row]
        if (name := pin.called) is not None and pin.side is None:
            said[hole].add(_PIN)
            pins[hole].add(name)
        elif pin.component is None and board.holes[hole].plated is not False:
            said[hole].add(_LONE)  # a netlist may list holes without plating too


def _flat_pins(board: Board) -> frozenset[str]:
    """Pins that the netlist names on one side only."""
    sides: dict[bool, set[str]] = {True: set(), False: set()}
    for pin in board.pins:
        if (name := pin.called) is not None:
            sides[pin.side is None].add(name)
    return frozenset(sides[False] - sides[True])


def _use(said: set[str]) -> Use:
    for word, use in _SAYS.items():
        if word in said:
            return use
    return Use.MECHANICAL


def _first_word(function: str | None) -> str:
    return (function or "").partition(",")[0]
