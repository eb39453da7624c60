"""What a person calls the copper at a place: pins, nets, and what it is."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker.board import Kind
from checker.fills import kinds_meant
from checker.named import NamedThing, NamedThings

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Ints, Pin

UNKNOWN = 3  # beside the values of Kind: nobody knows what was drawn there
KIND_WORD = {Kind.PAD: "pad", Kind.TRACE: "trace", Kind.POUR: "pour", UNKNOWN: "copper"}
_VIA = "ViaPad"  # .AperFunction of the Gerber layer format
_HELPFUL = 5.0  # a name farther away than this (mm) does not help to find a place


def at_rows(column: NDArray[np.integer[Any]], rows: Ints, unknown: int) -> Ints:
    """A column of the drawn objects at rows (n,), ``unknown`` at row -1."""
    values: Ints = np.append(column, unknown).astype(np.int64)  # row -1 is the last one
    return values[rows]


def kinds_of(layer: CopperLayer, rows: Ints) -> Ints:
    """(n,) values of `Kind` at rows of the layer's objects, as meant; `UNKNOWN` at row -1."""
    if not len(rows):  # what inner layers mean is not worked out for nothing
        return np.zeros(0, np.int64)
    return at_rows(kinds_meant(layer), rows, UNKNOWN)


@lru_cache(maxsize=1)  # a run judges one board, many rules and processes ask for its labels
def labels_of(board: Board) -> Labels:
    """The labels of a board, worked out once and only where asked."""
    return Labels(board)


class Labels:
    """Names of objects, nets and places of one board; answers are kept."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._things: NamedThings | None = None
        self._pin: dict[tuple[int, int], str | None] = {}
        self._listed: dict[int, dict[int, str]] = {}  # layer -> row of a pad -> what a netlist says
        self._standing: dict[tuple[int, int, int], str] = {}
        self._rank: dict[tuple[int, int, int], tuple[object, ...]] = {}
        self._near: dict[tuple[float, float, str], str | None] = {}
        self._net_at: dict[int, str] | None = None

    @property
    def things(self) -> NamedThings:
        """Pins and pads with a name, by place."""
        if self._things is None:
            self._things = NamedThings(_named(self.board))
        return self._things

    def kind(self, layer: int, row: int) -> int:
        """`Kind` of a drawn object, `UNKNOWN` for row -1."""
        return UNKNOWN if row < 0 else int(kinds_meant(self.board.copper[layer])[row])

    def pin(self, layer: int, row: int) -> str | None:
        """What a pad is called ("U1.3"), by attributes or by a netlist's point on it; else None."""
        key = (layer, row)
        if key not in self._pin:
            self._pin[key] = self._find_pin(layer, row)
        return self._pin[key]

    def _find_pin(self, layer: int, row: int) -> str | None:
        if self.kind(layer, row) != Kind.PAD:
            return None
        copper = self.board.copper[layer]
        name = _pad_name(copper, row)
        if name is not None:
            return name
        if layer not in self._listed:
            self._listed[layer] = _pads_listed(copper, self.board.pins)
        return self._listed[layer].get(row)

    def net(self, layer: int, island: int) -> str:
        """The net's name, or where to find it: "net at 10.2, 3.4"."""
        copper = self.board.copper[layer]
        return copper.net_name[island] or self.net_at(int(copper.net[island]))

    def net_at(self, number: int) -> str:
        """The name of a net by its number, or a place on it that does not depend on file order."""
        if self._net_at is None:
            self._net_at = dict(_net_labels(self.board))
        return self._net_at[number]

    def rank(self, layer: int, row: int, island: int) -> tuple[object, ...]:
        """Sort key of what stands there: pads, traces, pours, then names as people count."""
        key = (layer, row, island)
        if key not in self._rank:
            words = self.standing(layer, row, island)
            self._rank[key] = (self.kind(layer, row), natural(words), self.net(layer, island))
        return self._rank[key]

    def standing(self, layer: int, row: int, island: int) -> str:
        """What stands there, in words: "U1.3 (GND)", "the trace CLK", "a pad", "the pour"."""
        key = (layer, row, island)
        if key not in self._standing:
            self._standing[key] = self._words(layer, row, island)
        return self._standing[key]

    def _words(self, layer: int, row: int, island: int) -> str:
        net = self.board.copper[layer].net_name[island]
        pin = self.pin(layer, row)
        if pin is not None:
            return f"{pin} ({net})" if net else pin
        word = KIND_WORD[self.kind(layer, row)]
        if word == "pad" and self._is_via(layer, row):
            word = "via"
        if net:
            return f"the {word} {net}" if word != "copper" else f"copper of {net}"
        return "a " + word if word != "copper" else word

    def _is_via(self, layer: int, row: int) -> bool:
        objects = self.board.copper[layer].objects
        return objects.name(objects.function, row) == _VIA

    def near(self, x: float, y: float, side: str) -> str | None:
        """The nearest name that helps to find a place."""
        key = (x, y, side)
        if key not in self._near:
            thing = self.things.nearest(x, y, side, _HELPFUL)
            self._near[key] = None if thing is None else thing.name
        return self._near[key]


def _pad_name(layer: CopperLayer, row: int) -> str | None:
    objects = layer.objects
    component, pin = objects.name(objects.component, row), objects.name(objects.pin, row)
    return component if component is None or pin is None else f"{component}.{pin}"


def _named(board: Board) -> Iterator[NamedThing]:
    for layer in board.copper:
        objects = layer.objects
        rows = np.flatnonzero((objects.kind == Kind.PAD) & (objects.component >= 0) & objects.dark)
        boxes = shapely.bounds(objects.shape[rows]).tolist()
        for row, (x0, y0, x1, y1) in zip(rows.tolist(), boxes, strict=True):
            name = _pad_name(layer, row)
            if name is not None and x0 <= x1:
                yield NamedThing(name, layer.side, (x0, y0, x1, y1))
    for pin in board.pins:
        if (name := pin.called) is not None:
            yield NamedThing(name, pin.side, (pin.x, pin.y, pin.x, pin.y))


def _pads_listed(layer: CopperLayer, pins: Iterable[Pin]) -> dict[int, str]:
    """The rows of pads that points of a netlist lie on, with their names; of several the first."""
    listed = [
        (name, pin.x, pin.y)
        for pin in pins
        if pin.side in (None, layer.side) and (name := pin.called) is not None
    ]
    if not listed:
        return {}
    listed.sort()
    rows = np.flatnonzero(kinds_meant(layer) == Kind.PAD)
    tree = shapely.STRtree(shapely.points([(x, y) for _, x, y in listed]))
    pad, point = tree.query(layer.objects.shape[rows], predicate="intersects")
    order = np.argsort(-point, kind="stable")  # the first by name is written last
    return {int(rows[pad[k]]): listed[point[k]][0] for k in order.tolist()}


def _net_labels(board: Board) -> Iterator[tuple[int, str]]:
    """Name or first place, by side, x and y, of every net."""
    named: dict[int, str] = {}
    first: dict[int, tuple[int, float, float]] = {}
    for order, layer in enumerate(board.copper):
        at = np.round(shapely.get_coordinates(shapely.point_on_surface(layer.islands)), 1) + 0.0
        for net, name, (x, y) in zip(layer.net.tolist(), layer.net_name, at.tolist(), strict=True):
            if name:
                named.setdefault(net, name)
            first[net] = min(first.get(net, (order, x, y)), (order, x, y))
    for net, (_, x, y) in first.items():
        yield net, named.get(net) or f"net at {x:.1f}, {y:.1f}"


def natural(name: str) -> tuple[tuple[int, str], ...]:
    """Sort key that puts C2 before C10."""
    return tuple(
        (int(part), "") if part.isdecimal() and part.isascii() else (-1, part)
        for part in re.split(r"(\d+)", name)
        if part
    )
