"""Things of a board that have names a person knows, found by place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rtree.index import Index

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class NamedThing:
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
    """Named things in one tree per side, so that a search never walks the other side's.

    Args:
        things: what to hold from the start; loading them at once is many times faster than
            inserting them.
    """

    def __init__(self, things: Iterable[NamedThing] = ()) -> None:
        self._things = list(things)
        self._grown: dict[str | None, Index] | None = None

    @property
    def _trees(self) -> dict[str | None, Index]:
        """Grown when first asked for: many a report names nothing by its place."""
        if self._grown is None:
            from rtree.index import Index

            by_side: dict[str | None, list[int]] = {}
            for number, thing in enumerate(self._things):
                by_side.setdefault(thing.side, []).append(number)
            self._grown = {
                side: Index((number, self._things[number].box, None) for number in numbers)
                for side, numbers in by_side.items()
            }
        return self._grown

    def __len__(self) -> int:
        return len(self._things)

    def insert(self, thing: NamedThing) -> None:
        """Add one more thing."""
        self._things.append(thing)
        if self._grown is None:
            return
        if thing.side not in self._grown:
            from rtree.index import Index

            self._grown[thing.side] = Index()
        self._grown[thing.side].insert(len(self._things) - 1, thing.box)

    def nearest(
        self, x: float, y: float, side: str | None = None, within: float = math.inf
    ) -> NamedThing | None:
        """The thing nearest to a point, None where none lies within that many mm.

        Things that pass through count on every side; ``side`` None looks on all sides. Of things
        equally near, the first by name.
        """
        near = [
            (thing.distance(x, y), thing.name, number)
            for tree in self._on(side)
            for number in tree.nearest((x, y, x, y), 1)
            for thing in (self._things[number],)
        ]
        if not near or min(near)[0] > within:
            return None
        return self._things[min(near)[2]]

    def within(self, box: Box, side: str | None = None) -> tuple[NamedThing, ...]:
        """The things whose boxes meet a box, by name."""
        found = [
            self._things[number] for tree in self._on(side) for number in tree.intersection(box)
        ]
        return tuple(sorted(found, key=lambda thing: (thing.name, thing.box)))

    def _on(self, side: str | None) -> Iterator[Index]:
        for held, tree in self._trees.items():
            if side is None or held is None or held == side:
                yield tree
