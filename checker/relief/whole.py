"""Whether copper stays whole where channels are cut: one piece, and nowhere newly too narrow."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.clipping import clipped
from checker.relief.ways import SPECK, Clips, Strokes, narrowed

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.board import Shapes

SLIVER = 0.0015  # mm; copper that an erosion by this empties is an accident of chords
_MORE = 0.004  # mm that is spared beyond what is missing


def after(island: shapely.Polygon, strokes: Shapes) -> Shapes:
    """What strokes leave of an island, its parts from the largest down."""
    left = shapely.difference(island, shapely.disjoint_subset_union_all(strokes))
    parts = shapely.get_parts(left)
    parts = parts[shapely.area(parts) > SPECK]
    # A disc of the radius area / length fits into any shape.
    thin = np.flatnonzero(shapely.area(parts) <= SLIVER * shapely.length(parts))
    lost = thin[shapely.is_empty(shapely.buffer(parts[thin], -SLIVER))]
    parts = np.delete(parts, lost)
    ordered: Shapes = parts[np.argsort(-shapely.area(parts), kind="stable")]
    return ordered


class Harm(Struct, frozen=True):
    """A place where strokes cut an island, or leave a way through it too narrow.

    Attributes:
        at: what is cut off, or what is left of the way.
        rest: the copper from which it is cut off; None where it is a way.
    """

    at: shapely.Geometry
    rest: shapely.Geometry | None

    def spared(
        self, island: Clips, strokes: Strokes, least: float
    ) -> Callable[[int], shapely.Geometry]:
        """Copper that a stroke would have to leave for the harm to be none, by its number.

        Args:
            island: before any stroke.
            strokes: all that take of it.
            least: width of copper that has to be left, mm.
        """
        width = 2 * shapely.area(self.at) / max(shapely.length(self.at), 1e-9)
        reach = 2 * least if self.rest is not None else max(least - width, 0.0) + _MORE
        zone = shapely.buffer(self.at, reach)
        box = shapely.bounds(zone)
        if self.rest is not None:
            rest = clipped(self.rest, box)
            zone = shapely.intersection(zone, shapely.buffer(rest, reach))
        copper = shapely.make_valid(island.within(box.tolist()))
        zone, near = shapely.intersection(zone, copper), strokes.beside(self.at, reach)

        def of(number: int) -> shapely.Geometry:
            taken = shapely.intersection(zone, strokes.shape[number])
            others = strokes.tree.query(taken, "intersects")
            others = np.intersect1d(near, others[others != number])
            if not len(others):
                return taken
            return shapely.difference(taken, shapely.union_all(strokes.shape[others]))

        return of


class Island:
    """One island, looked at again and again while strokes come and go.

    Args:
        shape: before any stroke.
        held: copper that must hang together: pads, traces, holes of this island.
        least: width of copper that has to be left, mm.

    Attributes:
        clips: small parts of its shape.
    """

    def __init__(self, shape: shapely.Polygon, held: Callable[[], Shapes], least: float) -> None:
        self.shape, self.least = shape, least
        self.clips = Clips(shape)
        self._held = held
        self._last: tuple[Shapes, Shapes] | None = None  # strokes, and what they leave

    @cached_property
    def _stays(self) -> shapely.STRtree:
        return shapely.STRtree(self._held())

    def after(self, strokes: Shapes) -> Shapes:
        """What strokes leave of it, see `after`; of the strokes asked last it is known."""
        if self._last is None or list(map(id, self._last[0])) != list(map(id, strokes)):
            self._last = strokes, after(self.shape, strokes)
        return self._last[1]

    def harms(self, strokes: Strokes, about: Shapes) -> list[Harm]:
        """Places where strokes cut it, or leave a way through it too narrow.

        Args:
            strokes: all that take of it.
            about: shapes beside which ways are looked at.
        """
        parts = self.after(strokes.shape)
        if not len(parts):
            return [Harm(self.shape, self.shape)]
        main = parts[0]
        if len(parts) > 1:
            # The part that holds most of what has to stay is the island; any other is cut off.
            held = [len(self._stays.query(part, "intersects")) for part in parts]
            main = parts[int(np.argmax(held))]
        cut = [Harm(part, main) for part in parts if part is not main]
        ways = narrowed(self.shape, main, self.least, strokes, about)
        return cut + [Harm(way, None) for way in ways]
