"""What strokes do to the islands of a layer, while strokes come and go: harm, and what is left."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from checker.relief.ways import Strokes
from checker.relief.whole import Harm, Island

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    import shapely

    from checker.board import Ints, Shapes
    from checker.relief.channels import Sheet

    Cleared = Mapping[bytes, shapely.Geometry]
    """Names of strokes, and what each clears."""


class Harms:
    """Looks only where strokes came or went since it was asked before."""

    def __init__(self, sheet: Sheet, held: Callable[[int], Shapes], least: float) -> None:
        """Of a layer with no strokes in it.

        Args:
            sheet: the layer's copper.
            held: what has to hang together of an island, by its number.
            least: width of copper that has to be left, mm.
        """
        self._sheet, self._held, self._least = sheet, held, least
        self._islands: dict[int, Island] = {}
        self._taken: dict[bytes, Ints] = {}  # stroke -> islands that it takes of
        self._judged: dict[int, Cleared] = {}  # island -> by which strokes
        self._doubted: dict[int, list[shapely.Geometry]] = {}  # island -> where it was harmed

    def island(self, number: int) -> Island:
        """An island as it was before any stroke."""
        if number not in self._islands:
            held = partial(self._held, number)
            self._islands[number] = Island(self._sheet.islands[number], held, self._least)
        return self._islands[number]

    def of(self, cleared: Cleared) -> Iterator[tuple[int, list[bytes], Strokes, Harm]]:
        """Island, the strokes beside the harm, all that take of the island, and the harm.

        Where nothing has changed since the last time what was harmed then is left out.
        """
        for number, mine in self._by_island(cleared).items():
            before = self._judged.get(number, {})
            changed = [stroke for key, stroke in before.items() if key not in mine]
            changed += [stroke for key, stroke in mine.items() if key not in before]
            changed += self._doubted.get(number, [])
            if not changed:
                continue
            keys, strokes = list(mine), Strokes(_column(mine.values()))
            found = self.island(number).harms(strokes, _column(changed))
            self._judged[number] = mine
            self._doubted[number] = [harm.at for harm in found]
            for harm in found:
                near = [keys[k] for k in strokes.beside(harm.at, self._least).tolist()]
                if near:
                    yield number, near, strokes, harm

    def taking(self, number: int) -> Iterable[bytes]:
        """The strokes that took of an island when it was last looked at."""
        return self._judged[number]

    def left(self, cleared: Cleared) -> Shapes:
        """(islands,) what strokes leave of each."""
        islands = self._sheet.islands.copy()
        for number, mine in self._by_island(cleared).items():
            islands[number] = self.island(number).after(_column(mine.values()))[0]
        return islands

    def _by_island(self, cleared: Cleared) -> dict[int, Cleared]:
        """Island -> the strokes that take of it, in the order of islands."""
        new = [key for key in cleared if key not in self._taken]
        if new:
            stroke, island = self._sheet.touched(_column(cleared[key] for key in new))
            for k, key in enumerate(new):
                self._taken[key] = np.unique(island[stroke == k])
        found: dict[int, dict[bytes, shapely.Geometry]] = {}
        for key, shape in cleared.items():
            for number in self._taken[key].tolist():
                found.setdefault(number, {})[key] = shape
        return dict(sorted(found.items()))


def _column(shapes: Iterable[shapely.Geometry]) -> Shapes:
    several = list(shapes)
    column = np.empty(len(several), dtype=object)
    column[:] = several
    return column
