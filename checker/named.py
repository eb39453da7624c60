"""Things of a board that have names a person knows, found by place."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rtree.index import Index

Box = tuple[float, float, float, float]
_DIGITS = 6  # of distances in mm: what differs by less is equally near
_SAME = 2 * 10**-_DIGITS

FEW = 500  # boxes; loading the library of the tree takes longer than to look at so many


class NamedThing(Struct, frozen=True):
    """A pin, a pad, a part: what it is called and where it lies.

    Attributes:
        name: as a person says it, such as "U1.3".
        side: "top", "bottom", "inner N"; None where it passes through all of them.
        box: x0, y0, x1, y1 in mm; a point has x0 = x1 and y0 = y1.
    """

    name: str
    side: str | None
    box: Box

    def distance(self, x: float, y: float) -> float:
        """From a point to the box in mm, 0 inside."""
        x0, y0, x1, y1 = self.box
        return math.hypot(max(x0 - x, 0.0, x - x1), max(y0 - y, 0.0, y - y1))


class NamedThings:
    """Named things in one `_Boxes` per side, so that a search never walks the other side's."""

    def __init__(self, things: Iterable[NamedThing]) -> None:
        self._things = list(things)
        by_side: dict[str | None, list[int]] = {}
        for number, thing in enumerate(self._things):
            by_side.setdefault(thing.side, []).append(number)
        self._sides = {
            side: _Boxes(numbers, [self._things[number].box for number in numbers])
            for side, numbers in by_side.items()
        }

    def __len__(self) -> int:
        return len(self._things)

    def nearest(
        self, x: float, y: float, side: str | None = None, within: float = math.inf
    ) -> NamedThing | None:
        """The thing nearest to a point, None where none lies within that many mm.

        Things that pass through count on every side; ``side`` None looks on all sides. Of things
        equally near, the first by name.
        """
        near = [
            (round(thing.distance(x, y), _DIGITS), thing.name, number)
            for boxes in self._on(side)
            for number in boxes.nearest(x, y)
            for thing in (self._things[number],)
        ]
        if not near or min(near)[0] > within:
            return None
        return self._things[min(near)[2]]

    def _on(self, side: str | None) -> Iterator[_Boxes]:
        for held, boxes in self._sides.items():
            if side is None or held is None or held == side:
                yield boxes


class _Boxes:
    """Boxes to search: few are all looked at, of many a tree is grown when first asked for.

    Args:
        numbers: (n,) what to call them.
        boxes: (n, 4) least x, least y, most x, most y.
    """

    def __init__(self, numbers: Sequence[int], boxes: Sequence[Box]) -> None:
        self._numbers = np.array(numbers)
        self._boxes = np.array(boxes)
        self._tree: Index | None = None

    def nearest(self, x: float, y: float) -> Iterable[int]:
        """The nearest, and all that are as near."""
        if len(self._numbers) > FEW:
            return self._grown().nearest((x, y, x, y), 1)
        x0, y0, x1, y1 = self._boxes.T
        off = np.hypot(
            np.maximum(np.maximum(x0 - x, x - x1), 0.0), np.maximum(np.maximum(y0 - y, y - y1), 0.0)
        )
        found: list[int] = self._numbers[off <= off.min() + _SAME].tolist()
        return found

    def _grown(self) -> Index:
        if self._tree is None:
            from rtree.index import Index

            rows = zip(self._numbers.tolist(), self._boxes.tolist(), strict=True)
            self._tree = Index((number, box, None) for number, box in rows)
        return self._tree
