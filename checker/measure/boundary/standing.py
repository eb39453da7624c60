"""What stands at a point of the copper: the drawn object that put it there."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker.board import Kind

if TYPE_CHECKING:
    from checker.board import CopperLayer, Floats, Ints

_UNKNOWN = np.iinfo(np.int64).max


class Standing:
    """Looks up drawn objects of one layer by place."""

    def __init__(self, layer: CopperLayer, tolerance: float) -> None:
        self.layer = layer
        self.slack = 2 * tolerance  # the boundary and the drawn object may each be off by one

    @cached_property
    def _small(self) -> tuple[Ints, Any]:
        """Rows of pads and traces, and a tree over their shapes."""
        objects = self.layer.objects
        rows = np.flatnonzero((self.layer.island_of >= 0) & (objects.kind != Kind.POUR))
        return rows, shapely.STRtree(objects.shape[rows])

    @cached_property
    def _pours(self) -> tuple[Ints, Any]:
        """Rows of pours, and a tree over their shapes: large, so asked last."""
        objects = self.layer.objects
        rows = np.flatnonzero((self.layer.island_of >= 0) & (objects.kind == Kind.POUR))
        return rows, shapely.STRtree(objects.shape[rows])

    def at(self, points: Floats, island: Ints) -> Ints:
        """(n,) row of the object at each point (n, 2) of the islands (n,), -1 where unknown.

        A pad is preferred to a trace and a trace to a pour: it is what a person would name.
        """
        found = np.full(len(points), _UNKNOWN)
        if len(points) and len(self.layer.objects):
            self._ask(self._small, points, island, found)
            rest = np.flatnonzero(found == _UNKNOWN)
            answer = found[rest]
            self._ask(self._pours, points[rest], island[rest], answer)
            found[rest] = answer
        count = max(len(self.layer.objects), 1)
        return np.where(found == _UNKNOWN, -1, found % count)

    def _ask(self, where: tuple[Ints, Any], points: Floats, island: Ints, found: Ints) -> None:
        rows, tree = where
        if not len(rows) or not len(points):
            return
        shapes = self.layer.objects.shape
        x, y = points.T
        slack = self.slack
        point, hit = tree.query(shapely.box(x - slack, y - slack, x + slack, y + slack))
        row = rows[hit]
        own = self.layer.island_of[row] == island[point]
        point, row = point[own], row[own]
        # Prepared, a shape of many corners answers many times faster; a tree prepares the points.
        shapely.prepare(shapes[np.unique(row)])
        near = shapely.dwithin(shapes[row], shapely.points(points[point]), slack)
        point, row = point[near], row[near]
        # One number that sorts by kind first, then by file order.
        rank = self.layer.objects.kind[row].astype(np.int64) * len(self.layer.objects) + row
        np.minimum.at(found, point, rank)
