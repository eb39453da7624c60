"""Where the copper of a net is narrow for a current, ways that lie side by side taken together.

Every neck narrower than a width is cut through in thought. What is left falls into parts, and the
necks are links between them. Parts whose links together are as wide as the width carry the current
between them and become one. Links that stay are narrow, if pads lie on both sides of them.
"""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.segments import Segments
from checker.measure.holes.paths import means_of
from checker.measure.necks.census import ERROR as NECK_ERROR
from checker.measure.necks.census import census_necks

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints, Shapes
    from checker.measure.necks.census import NeckRows

ERROR = NECK_ERROR
"""Bound in mm on the error of the width of one way."""

_SLIT = 1e-4  # mm; half the width of the cut made in thought
_CENTRED = 0.1  # mm; a pad whose middle is this near to a hole's is the hole's own
_BESIDE = 2e-3  # mm from a neck's middle to where its two parts are asked for


class Links(Struct, frozen=True, eq=False):
    """Narrow links between parts of a net's copper, one a row; columns of length n.

    Attributes:
        layer: (n,) index into the board's copper.
        island: (n,) index into the layer's islands.
        at: (n, 2) middle of the narrowest chord of the link, of several side by side the widest.
        width: (n,) of all ways side by side together, mm.
        length: (n,) of that link, mm.
        ways: (n,) how many ways lie side by side.
        split: the net falls into parts no two of whose pads are on the same part: no current
            passes from any pad to another but through a narrow link.
    """

    layer: Ints
    island: Ints
    at: Floats
    width: Floats
    length: Floats
    ways: Ints
    split: bool

    def __len__(self) -> int:
        return len(self.width)


@lru_cache(maxsize=4)
def links_of(board: Board, wanted: tuple[tuple[int, float], ...]) -> tuple[Links, ...]:
    """The links of nets on the outer sides that are narrower than asked, for each net and its mm.

    A hole with pads on both sides joins them, as its plating, a wire or a lead does.
    """
    holes = shapely.STRtree(shapely.points(means_of(board.holes)))
    graphs = [_Graph(holes) for _ in wanted]
    alike: dict[float, list[int]] = defaultdict(list)
    for row, (_, width) in enumerate(wanted):
        alike[width].append(row)
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        pads = _pads(layer)
        for width, rows in alike.items():
            nets = [wanted[row][0] for row in rows]
            narrow = _Narrow(layer, np.flatnonzero(np.isin(layer.net, nets)), pads, width)
            for row, net in zip(rows, nets, strict=True):
                graphs[row].add(index, narrow, np.flatnonzero(layer.net == net))
    for graph, (_, width) in zip(graphs, wanted, strict=True):
        graph.merge(width - ERROR)
        graph.prune()
    return tuple(graph.links() for graph in graphs)


def _pads(layer: CopperLayer) -> Ints:
    objects = layer.objects
    return np.flatnonzero(objects.dark & (objects.kind == Kind.PAD) & (layer.island_of >= 0))


class _Narrow:
    """Islands of a layer and their pads, cut through in thought where narrower than a width."""

    def __init__(self, layer: CopperLayer, islands: Ints, pads: Ints, width: float) -> None:
        pads = pads[np.isin(layer.island_of[pads], islands)]
        self.copper = layer.islands
        self.middles = shapely.get_coordinates(shapely.centroid(layer.objects.shape[pads]))
        self._pads_on = layer.island_of[pads]
        self.necks = census_necks(Segments.of(layer.islands[islands]), width, self.middles)
        self._rows = np.flatnonzero(self.necks.carries & (self.necks.width < width - ERROR))
        self._slits = _slits(self.necks, self._rows)
        self._island = islands[self.necks.island[self._rows]]

    def pads_of(self, island: int) -> Shapes:
        """The middles of the pads on an island."""
        points: Shapes = shapely.points(self.middles[self._pads_on == island])
        return points

    def parts_of(self, island: int) -> tuple[shapely.STRtree, Ints, Ints]:
        """Parts that an island falls into, rows of its necks, and (n, 2) the parts beside each."""
        mine = self._island == island
        copper, rows = self.copper[island], self._rows[mine]
        cut = shapely.difference(copper, shapely.union_all(self._slits[mine]))
        parts = shapely.STRtree(shapely.get_parts(cut))
        ends = parts.nearest(shapely.points(_beside(self.necks, rows)))
        return parts, rows, ends.reshape(-1, 2)


class _Graph:
    """Parts of copper, the necks that link them and the pads on them."""

    def __init__(self, holes: shapely.STRtree) -> None:
        self.holes = holes
        self.group: list[int] = []  # of each part; the parts of a group are one
        self.drilled: list[tuple[int, int]] = []  # a part and a hole in a pad on it
        self.pads: dict[int, set[tuple[float, float]]] = defaultdict(set)  # by group
        self.necks: list[tuple[int, int, float, int, int, tuple[float, float], float]] = []

    def add(self, index: int, narrow: _Narrow, islands: Ints) -> None:
        """Take in the islands of a net on one layer."""
        necks = narrow.necks
        for island in islands.tolist():
            parts, mine, ends = narrow.parts_of(island)
            first = len(self.group)
            self.group += range(first, first + len(parts))
            for row, (one, other) in zip(mine.tolist(), (first + ends).tolist(), strict=True):
                x, y = necks.at[row].tolist()
                wide, long = float(necks.width[row]), float(necks.length[row])
                self.necks.append((one, other, wide, index, island, (x, y), long))
            own = narrow.pads_of(island)
            on = (first + parts.nearest(own)).tolist()
            for part, at in zip(on, own, strict=True):
                self.pads[part].add((round(at.x, 1), round(at.y, 1)))
            pad, hole = self.holes.query(own, "dwithin", distance=_CENTRED)
            self.drilled += [(on[a], b) for a, b in zip(pad.tolist(), hole.tolist(), strict=True)]

    def root(self, part: int) -> int:
        """The group of a part."""
        while self.group[part] != part:
            part = self.group[part]
        return part

    def join(self, one: int, other: int) -> None:
        """Make one group of two."""
        low, high = sorted((self.root(one), self.root(other)))
        if low != high:
            self.group[high] = low
            self.pads[low] |= self.pads.pop(high, set())

    def merge(self, width: float) -> None:
        """Join what a hole joins, then what necks join that together are as wide as asked."""
        first: dict[int, int] = {}
        for part, hole in self.drilled:
            self.join(part, first.setdefault(hole, part))
        while True:
            wide = [
                pair
                for pair, rows in self.between().items()
                if sum(self.necks[row][2] for row in rows) >= width
            ]
            if not wide:
                return
            for one, other in wide:
                self.join(one, other)

    def between(self) -> dict[tuple[int, int], list[int]]:
        """Pairs of groups -> the necks between them."""
        found: dict[tuple[int, int], list[int]] = defaultdict(list)
        for row, neck in enumerate(self.necks):
            one, other = sorted((self.root(neck[0]), self.root(neck[1])))
            if one != other:
                found[one, other].append(row)
        return found

    def prune(self) -> None:
        """Drop the necks to what ends blind: groups without a pad that only one other borders."""
        while True:
            beside: dict[int, set[int]] = defaultdict(set)
            for one, other in self.between():
                beside[one].add(other)
                beside[other].add(one)
            blind = [group for group, near in beside.items() if len(near) == 1]
            blind = [group for group in blind if not self.pads.get(group)]
            if not blind:
                return
            for group in blind:
                self.join(group, *beside[group])

    def links(self) -> Links:
        """What is left of the necks, those between the same groups as one."""
        rows = []
        for members in self.between().values():
            widest = max(members, key=lambda row: (self.necks[row][2], self.necks[row][5]))
            _, _, _, layer, island, at, length = self.necks[widest]
            together = sum(self.necks[row][2] for row in members)
            rows.append((layer, island, *at, together, length, len(members)))
        columns = np.array(rows, float).reshape(-1, 7)
        whole = columns.astype(np.int64)
        return Links(
            layer=whole[:, 0],
            island=whole[:, 1],
            at=columns[:, 2:4],
            width=columns[:, 4],
            length=columns[:, 5],
            ways=whole[:, 6],
            split=self.split,
        )

    @property
    def split(self) -> bool:
        """Whether no group has two pads."""
        return all(len(places) < 2 for places in self.pads.values())


def _slits(necks: NeckRows, rows: Ints) -> Shapes:
    """(n,) a thin cut through each neck, from wall to wall and a little beyond."""
    start, middle = necks.contact[rows], necks.at[rows]
    over = (middle - start) * (1 + 2 * _SLIT / np.maximum(necks.width[rows], _SLIT))[:, None]
    lines = shapely.linestrings(np.stack([middle - over, middle + over], 1))
    slits: Shapes = shapely.buffer(lines, _SLIT, cap_style="square")
    return slits


def _beside(necks: NeckRows, rows: Ints) -> Floats:
    """(2 n, 2) two points beside each neck's chord, one in either part."""
    across = necks.at[rows] - necks.contact[rows]
    along = np.stack([-across[:, 1], across[:, 0]], 1)
    along *= _BESIDE / np.maximum(np.hypot(*along.T), _SLIT)[:, None]
    points: Floats = np.stack([necks.at[rows] - along, necks.at[rows] + along], 1).reshape(-1, 2)
    return points
