"""One table of boundary segments with one tree: every fact of a layer is measured from it."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.runs import Runs
from checker.measure.plane import larger

if TYPE_CHECKING:
    from checker.board import CopperLayer, Floats, Ints, Shapes

COINCIDENT = 1e-6
"""Two consecutive points nearer than this (mm) are one; a shorter segment has no direction."""


class Segments(Struct, frozen=True, eq=False, dict=True):
    """The boundary of islands as directed segments with the copper on their left.

    Columns of length n, in ring order, lengths in mm.

    Attributes:
        polygons: (m,) the islands, exteriors counter-clockwise, holes clockwise.
        a, b: (n, 2) start and end.
        direction: (n, 2) unit vector from a to b.
        normal: (n, 2) unit vector away from the copper.
        length: (n,).
        ring: (n,) number of the ring; ``island`` (n,) index of the polygon.
        next, prev: (n,) rows of the neighbours on the ring.
        along: (n,) length of the ring from its first point to a; ``girth`` (n,) the ring's length.
    """

    polygons: Shapes
    a: Floats
    b: Floats
    direction: Floats
    normal: Floats
    length: Floats
    ring: Ints
    island: Ints
    next: Ints
    prev: Ints
    along: Floats
    girth: Floats

    @classmethod
    def of(cls, polygons: Shapes) -> Segments:
        """Build the table from (m,) valid single polygons."""
        polygons = shapely.orient_polygons(np.asarray(polygons, dtype=object))
        rings, owner = shapely.get_rings(polygons, return_index=True)
        points, ring = shapely.get_coordinates(rings, return_index=True)
        points, ring = _without_repeats(points, ring)
        same = ring[1:] == ring[:-1]
        a, b, ring = points[:-1][same], points[1:][same], ring[:-1][same]
        count = len(a)
        first = np.flatnonzero(np.r_[True, ring[1:] != ring[:-1]]) if count else np.zeros(0, int)
        last = np.r_[first[1:] - 1, count - 1] if count else first
        following, previous = np.arange(1, count + 1), np.arange(-1, count - 1)
        following[last], previous[first] = first, last
        step = b - a
        length = np.hypot(step[:, 0], step[:, 1])
        direction = step / length[:, None]
        total = np.cumsum(length)
        start = (total - length)[first]
        sizes = last - first + 1
        return cls(
            polygons=polygons,
            a=a,
            b=b,
            direction=direction,
            normal=np.column_stack([direction[:, 1], -direction[:, 0]]),
            length=length,
            ring=ring,
            island=owner[ring],
            next=following,
            prev=previous,
            along=total - length - np.repeat(start, sizes),
            girth=np.repeat(total[last] - start, sizes),
        )

    def __len__(self) -> int:
        return len(self.length)

    @cached_property
    def lines(self) -> Shapes:
        """(n,) the segments as LineStrings."""
        return np.asarray(shapely.linestrings(np.stack([self.a, self.b], 1)), dtype=object)

    @cached_property
    def tree(self) -> Any:
        """An STRtree over the segments, built once."""
        return shapely.STRtree(self.lines)

    @cached_property
    def runs(self) -> Runs:
        """Its runs; there have to be segments."""
        return Runs.of_segments(self)

    @cached_property
    def rank(self) -> Ints:
        """(n,) the place of each segment in the order in which the tree finds them."""
        rank = np.empty(len(self), np.int64)
        everywhere = shapely.box(*shapely.total_bounds(self.polygons))
        rank[self.tree.query(everywhere)] = np.arange(len(self))
        return rank

    @cached_property
    def turn(self) -> Floats:
        """(n,) sine of the turn at each start point, positive where the copper is convex."""
        before = self.direction[self.prev]
        turn: Floats = before[:, 0] * self.direction[:, 1] - before[:, 1] * self.direction[:, 0]
        return turn

    def at(self, row: Ints, t: Floats) -> Floats:
        """(k, 2) the points a fraction ``t`` along the segments ``row``."""
        point: Floats = self.a[row] + t[:, None] * (self.b[row] - self.a[row])
        return point


@lru_cache(maxsize=2)  # the two outer sides
def boundary_of(layer: CopperLayer) -> Segments:
    """The boundary of a layer's islands, with its tree built once for all that is measured."""
    return Segments.of(layer.islands)


def _without_repeats(points: Floats, ring: Ints) -> tuple[Floats, Ints]:
    """Drop points that repeat the one before; a ring's last point still equals its first."""
    if not len(points):
        return points, ring
    new_ring = np.r_[True, ring[1:] != ring[:-1]]
    far = np.ones(len(points), dtype=bool)
    far[1:] = larger(np.abs(np.diff(points, axis=0))) > COINCIDENT
    closing = np.r_[new_ring[1:], True]
    # The closing point must stay (it equals the first); drop the point before it instead.
    drop_before_closing = np.zeros(len(points), dtype=bool)
    drop_before_closing[:-1] = closing[1:] & ~far[1:] & ~new_ring[:-1]
    keep = new_ring | closing | (far & ~drop_before_closing)
    return points[keep], ring[keep]
