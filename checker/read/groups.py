"""Union-find over numbered things."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from checker.board import Ints


class Groups:
    """Joins numbers 0 .. n-1 into groups; the least number of a group is its label."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def find(self, item: int) -> int:
        """The label of the group an item is in."""
        parent = self._parent
        while parent[item] != item:
            parent[item] = item = parent[parent[item]]
        return item

    def join(self, a: Ints, b: Ints) -> None:
        """Join the groups of each pair (a[i], b[i])."""
        for one, other in zip(a.tolist(), b.tolist(), strict=True):
            one, other = sorted((self.find(one), self.find(other)))
            self._parent[other] = one

    def labels(self) -> Ints:
        """(n,) the label of each item."""
        return np.array([self.find(i) for i in range(len(self._parent))], dtype=np.int64)
