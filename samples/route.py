"""A small grid router: each net takes its cheapest way, and what lies in that way is laid anew.

Every object is an axis-parallel box or a line with a radius, so that its distance to all points
of the grid is a closed form. A point is free for a net's track where nothing of another net is
nearer than half the track plus the clearance; the result therefore keeps the clearance exactly,
not to the nearest grid step. Pads are never run over; another net's track may be, at a price that
rises each time that net has to yield, and is then taken up and laid again.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct, field

from samples.layout import Pad, Track, copper_of, core_of
from samples.way import cheapest_way

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from samples.layout import Layout, Point
    from samples.way import Cell, Floats

    Box = tuple[float, float, float, float]

_YIELD = 8.0  # price of a step over another net's track, in grid steps


class Rules(Struct, frozen=True):
    """What the router keeps; it lays tracks on the outer sides only.

    Attributes:
        grid, clearance, edge: step, gap to other nets, copper to the board's edge.
        via: pad and hole of a via, None on boards of one side.
        width: track width by net; "" holds for nets that are not named.
        via_cost: what a via costs, in mm of track.
        keep_out: areas without tracks and vias, by side; "via" forbids vias only.
        side_cost: how much dearer tracks of a side are.
        joined: nets that a pour joins: their drilled pads count as connected.
    """

    grid: float
    clearance: float
    width: Mapping[str, float]
    via: tuple[float, float] | None = None
    edge: float = 1.0
    via_cost: float = 8.0
    keep_out: Mapping[str, Sequence[Box]] = field(default_factory=dict)
    side_cost: Mapping[str, float] = field(default_factory=dict)
    joined: frozenset[str] = frozenset()


def route(layout: Layout, rules: Rules, first: Iterable[str] = (), most_rips: int = 300) -> None:
    """Complete every net of the layout; tracks that lie there already stay.

    Those of ``first`` go before all others, then small nets before large ones.

    Raises:
        ValueError: a net finds no way, or the nets do not settle.
    """
    router = _Router(layout, rules)
    pins = Counter(pad.net for pad in layout.pads if pad.net)
    queue = list(dict.fromkeys([*first, *sorted(pins, key=lambda net: (pins[net], net))]))
    while queue:
        net = queue.pop(0)
        router.connect(net)
        queue += router.yielding(net)
        if sum(router.rips.values()) > most_rips:
            raise ValueError(f"{layout.name}: nets do not settle; {router.rips.most_common(5)}")
    layout.tracks += [track for tracks in router.tracks.values() for track in tracks]
    layout.pads += [via for vias in router.vias.values() for via in vias]


class _Router:
    """The grid, what lies on it, and how often each net had to yield."""

    def __init__(self, layout: Layout, rules: Rules) -> None:
        self.rules = rules
        self.through = layout.sides
        self.sides = [side for side in layout.sides if side in ("top", "bottom")]
        self.size = layout.size
        self.x = np.arange(0.0, layout.size[0] + rules.grid / 2, rules.grid)
        self.y = np.arange(0.0, layout.size[1] + rules.grid / 2, rules.grid)
        self.fixed: list[Pad | Track] = [*layout.pads, *layout.tracks, *layout.pegs()]
        self.tracks: dict[str, list[Track]] = {}
        self.vias: dict[str, list[Pad]] = {}
        self.rips: Counter[str] = Counter()

    def connect(self, net: str) -> None:
        """Lay the net's tracks."""
        self.tracks[net], self.vias[net] = [], []
        parts = self._parts(net)
        width = self.rules.width.get(net, self.rules.width[""])
        prices = np.stack([self._prices(net, side, width / 2) for side in self.sides])
        if net in self.rules.joined:
            self._drop(parts, net, width, prices)
            return
        tree = parts.pop(0)
        no_via = self._no_via(net)
        while parts:
            goals = parts.pop(_nearest(tree, parts))
            path = self._search(net, tree, goals, prices, no_via)
            self._lay(path, tree[path[0]], goals[path[-1]], net, width)
            tree |= goals | {cell: self._point(cell) for cell in path if cell not in tree}

    def _drop(self, parts: list[dict[Cell, Point]], net: str, width: float, prices: Floats) -> None:
        """Lead each surface pad to the pour: to a drilled pad or to a via of its own."""
        poured: dict[Cell, Point] = {}
        for part in parts:
            if len({cell[0] for cell in part}) > 1:
                poured |= part
        no_via = self._no_via(net)
        for part in parts:
            if part.keys() <= poured.keys():
                continue
            path = self._search(net, part, poured, prices, no_via, drop=True)
            end = poured.get(path[-1], self._point(path[-1]))
            self._lay(path, part[path[0]], end, net, width)
            if path[-1] not in poured:
                via = self._via(end, net)
                self._mark(no_via, via, (via.width + self.rules.clearance) / 2)
            poured |= part | {cell: self._point(cell) for cell in path if cell not in part}

    def yielding(self, net: str) -> list[str]:
        """Take up the nets that the net's tracks were laid over, and name them."""
        yielding = [
            other
            for other in self.tracks
            if other != net
            and any(
                self._too_near(own, thing) for thing in self._laid(other) for own in self._laid(net)
            )
        ]
        for other in yielding:
            self.tracks[other], self.vias[other] = [], []
            self.rips[other] += 1
        return yielding

    def _too_near(self, a: Pad | Track, b: Pad | Track) -> bool:
        if not set(a.sides) & set(b.sides):
            return False
        (one, radius), (other, another) = core_of(a), core_of(b)
        reach = radius + another + self.rules.clearance - 1e-6
        return bool(one.dwithin(other, reach))

    def _laid(self, net: str) -> list[Pad | Track]:
        return [*self.tracks[net], *self.vias[net]]

    def _parts(self, net: str) -> list[dict[Cell, Point]]:
        """The net's pads and tracks in connected parts, each as cells to start from or reach."""
        things = [thing for thing in self.fixed if thing.net == net]
        shapes = [copper_of(thing) for thing in things]
        part_of = list(range(len(things)))
        for i, thing in enumerate(things):
            for j in range(i):
                meet = set(thing.sides) & set(things[j].sides)
                meet = meet and shapely.intersects(shapes[i], shapes[j])
                if meet or (net in self.rules.joined and _drilled(thing) and _drilled(things[j])):
                    old, new = part_of[i], part_of[j]
                    part_of = [new if part == old else part for part in part_of]
        parts: dict[int, dict[Cell, Point]] = {}
        for part, thing in zip(part_of, things, strict=True):
            cells = parts.setdefault(part, {})
            ends = [(thing.x, thing.y)] if isinstance(thing, Pad) else thing.points
            for number, side in enumerate(self.sides):
                if side in thing.sides:
                    cells |= {self._cell(number, at): at for at in ends}
        return list(parts.values())

    def _prices(self, net: str, side: str, half: float) -> Floats:
        """(rows, columns) what a step of the net's track costs, in grid steps; inf where barred."""
        reach = half + self.rules.clearance
        closed = self._too_near_edge(half + self.rules.edge)
        for thing in self.fixed:
            if side in thing.sides and thing.net != net:
                self._mark(closed, thing, reach)
        for box in self.rules.keep_out.get(side, ()):
            self._mark(closed, _block(box), half)
        prices = np.where(closed, np.inf, self.rules.side_cost.get(side, 1.0))
        for other in self.tracks:
            taken = np.zeros_like(closed)
            for thing in self._laid(other) if other != net else ():
                if side in thing.sides:
                    self._mark(taken, thing, reach)
            prices[taken] += _YIELD * (1 + self.rips[other])
        return prices

    def _no_via(self, net: str) -> NDArray[np.bool_]:
        """(rows, columns) where no via of the net may stand."""
        if self.rules.via is None:
            return np.ones((len(self.y), len(self.x)), dtype=bool)
        half = self.rules.via[0] / 2
        closed = self._too_near_edge(half + self.rules.edge)
        for thing in [
            *self.fixed,
            *(thing for other in self.tracks for thing in self._laid(other)),
        ]:
            if thing.net != net:
                self._mark(closed, thing, half + self.rules.clearance)
            elif isinstance(thing, Pad):
                self._mark(closed, thing, half + self.rules.clearance / 2)
        for boxes in self.rules.keep_out.values():
            for box in boxes:
                self._mark(closed, _block(box), half)
        return closed

    def _too_near_edge(self, distance: float) -> NDArray[np.bool_]:
        x = (self.x < distance) | (self.x > self.size[0] - distance)
        y = (self.y < distance) | (self.y > self.size[1] - distance)
        return y[:, None] | x[None, :]

    def _mark(self, closed: NDArray[np.bool_], thing: Pad | Track, reach: float) -> None:
        """Close the cells nearer to the thing's copper than ``reach``."""
        core, radius = core_of(thing)
        if isinstance(thing, Pad):
            x0, y0, x1, y1 = core.bounds
            pieces = [((x0, y0), (x1, y1))]
        else:
            pieces = list(pairwise(thing.points))
        reach += radius - 1e-9
        for (x0, y0), (x1, y1) in pieces:
            left, right = np.searchsorted(self.x, (min(x0, x1) - reach, max(x0, x1) + reach))
            low, high = np.searchsorted(self.y, (min(y0, y1) - reach, max(y0, y1) + reach))
            x, y = self.x[None, left:right], self.y[low:high, None]
            if isinstance(thing, Pad):
                dx = np.maximum(np.maximum(x0 - x, x - x1), 0.0)
                dy = np.maximum(np.maximum(y0 - y, y - y1), 0.0)
            else:
                ex, ey = x1 - x0, y1 - y0
                along = ((x - x0) * ex + (y - y0) * ey) / max(ex * ex + ey * ey, 1e-12)
                along = np.clip(along, 0.0, 1.0)
                dx, dy = x0 + along * ex - x, y0 + along * ey - y
            closed[low:high, left:right] |= np.hypot(dx, dy) < reach

    def _search(
        self,
        net: str,
        starts: Iterable[Cell],
        goals: Iterable[Cell],
        prices: Floats,
        no_via: NDArray[np.bool_],
        drop: bool = False,
    ) -> list[Cell]:
        way = cheapest_way(
            starts, goals, prices, no_via, self.rules.via_cost / self.rules.grid, drop
        )
        if way is None:
            raise ValueError(f"no way for {net}")
        return way

    def _lay(self, path: list[Cell], start: Point, end: Point, net: str, width: float) -> None:
        """Turn a path into tracks, one per side in turn, and vias between them."""
        runs: list[list[Cell]] = [[]]
        for cell in path:
            if runs[-1] and runs[-1][-1][0] != cell[0]:
                runs.append([])
            runs[-1].append(cell)
        for k, run in enumerate(runs):
            points = [self._point(cell) for cell in run]
            if k == 0:
                points = [start, *points]
            if k == len(runs) - 1:
                points.append(end)
            points = _straightened(points)
            if len(points) > 1:
                self.tracks[net].append(Track(self.sides[run[0][0]], width, tuple(points), net))
            if k:
                self._via(self._point(run[0]), net)

    def _via(self, at: Point, net: str) -> Pad:
        if self.rules.via is None:
            raise ValueError("a board of one side has no vias")
        pad, hole = self.rules.via
        via = Pad(*at, pad, pad, "circle", self.through, net, hole=hole)
        self.vias[net].append(via)
        return via

    def _cell(self, side: int, at: Point) -> Cell:
        return side, round(at[1] / self.rules.grid), round(at[0] / self.rules.grid)

    def _point(self, cell: Cell) -> Point:
        return round(cell[2] * self.rules.grid, 4), round(cell[1] * self.rules.grid, 4)


def _straightened(points: list[Point]) -> list[Point]:
    """Without repeated points and without points in the middle of a straight run."""
    kept: list[Point] = []
    for point in points:
        if kept and kept[-1] == point:
            continue
        while len(kept) > 1:
            (ax, ay), (bx, by) = kept[-2:]
            if abs((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) > 1e-6:
                break
            if (bx - ax) * (point[0] - bx) + (by - ay) * (point[1] - by) < 0:
                break
            kept.pop()
        kept.append(point)
    return kept


def _nearest(tree: Mapping[Cell, Point], parts: Sequence[Mapping[Cell, Point]]) -> int:
    """The part with a cell nearest to one of the tree's."""
    here = np.array(list(tree))[:, None, 1:]
    gaps = [np.abs(here - np.array(list(part))[None, :, 1:]).max(axis=2).min() for part in parts]
    return int(np.argmin(gaps))


def _drilled(thing: Pad | Track) -> bool:
    return isinstance(thing, Pad) and thing.hole > 0


def _block(box: Box) -> Pad:
    left, low, right, high = box
    return Pad((left + right) / 2, (low + high) / 2, right - left, high - low, "rect", (), "")
