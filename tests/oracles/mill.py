"""A virtual mill: cuts a small board on pixels with a real tool and says whether it is whole.

Nothing but arrays and a tree of points (numpy, scipy): copper is filled by counting crossings, the
clearance of a pixel is its distance to points along the edges, the path is the line on which the
clearance is half the width of the trial cut, and the tool takes away every pixel that lies within
half its width, at the depth it has there, of that line. What is left is labelled: nets must be in
one piece each, none with another, and none with what lies beyond its path. Holes are drilled where
they fall; their rims must be copper all round.

The path is found between pixels (crossings are interpolated, ridges of the clearance are solved
for), so that a gap is entered at its true width. Copper is told pixel by pixel, and a bridge
narrower than a pixel may have no middle of one on it: so between every two ends of the path that
nearly meet a line is followed from net to net, and where no cut meets it they are joined. A neck
counts exactly if its middle line goes through middles of pixels.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from scipy.ndimage import label, map_coordinates
from scipy.spatial import cKDTree

from tests.oracles.raster import filled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

PIXEL = 0.02
_EDGE = 0.004  # mm between points along an edge
_RIM = 360  # points along the rim of a hole
_BRIDGE = 120  # quarters of a pixel that are followed from the middle of a bridge each way
_FARTHEST = 0.8  # mm; clearances beyond are all alike


class Tool(Struct, frozen=True):
    """A tool and how it is set: shape "cone", "flat" or "beam", lengths in mm, degrees.

    ``extra`` is what it cuts wider than its shape, whatever the depth.
    """

    shape: str
    size: float
    angle: float
    depth: float
    foil: float
    extra: float = 0.0

    def cutting(self, width: float) -> Tool:
        """The same, cutting so wide where it is set to."""
        return replace(self, extra=self.extra + width - self.trial)

    def width(self, depth: Floats | float) -> Floats:
        """What is cut so far above the tool's end; nothing by a tool in the air."""
        taper = 2 * math.tan(math.radians(self.angle / 2)) if self.shape == "cone" else 0.0
        width: Floats = np.where(depth < 0, 0.0, self.size + taper * depth + self.extra)
        return width

    @property
    def trial(self) -> float:
        """The cut on a spot that lies where the machine believes it."""
        return self.size + self.extra if self.shape == "beam" else float(self.width(self.depth))

    def through(self, higher: Floats) -> Floats:
        """The cut at the copper's foot where the surface lies higher by so much."""
        if self.shape == "beam":
            return np.full(len(higher), self.trial)
        return self.width(self.depth + higher - self.foil)


class Sheet:
    """One side of a board.

    Args:
        islands: polygons of copper; ``nets`` the net of each.
        terminals: (x, y, net) places that must stay together, none in a hole.
        holes: (x, y, diameter) of those whose rims must stay copper.
    """

    def __init__(
        self,
        islands: Sequence[Any],
        nets: Sequence[int],
        terminals: Sequence[tuple[float, float, int]],
        holes: Sequence[tuple[float, float, float]] = (),
        pixel: float = PIXEL,
    ) -> None:
        x0, y0, x1, y1 = shapely.total_bounds(np.array(islands, dtype=object))
        self.pixel = pixel
        cells = [math.floor((least - 1.0) / pixel) for least in (x0, y0)]
        self.low = np.array([(cell - 0.5) * pixel for cell in cells])  # middles at whole pixels
        rows, columns = (
            math.ceil((most + 1.0 - low) / pixel)
            for most, low in zip((y1, x1), self.low[::-1], strict=True)
        )
        copper = np.zeros((rows, columns), bool)
        for island in islands:
            copper |= filled(island, tuple(self.low), (rows, columns), pixel)
        across, up = np.meshgrid(np.arange(columns), np.arange(rows))
        self.middles = np.stack([across, up], -1) * pixel + self.low + pixel / 2
        rings, owner = shapely.get_rings(np.array(islands, dtype=object), return_index=True)
        points = [_along(ring) for ring in rings]
        edges = np.concatenate(points)
        self.net_of = np.repeat(np.array(nets)[owner], [len(along) for along in points])
        self.edges, self.tree = edges, cKDTree(edges)
        flat = self.middles.reshape(-1, 2)
        away, nearest = self.tree.query(flat, distance_upper_bound=_FARTHEST)
        away = np.minimum(away, _FARTHEST)
        self.clearance = np.where(copper.reshape(-1), -away, away).reshape(rows, columns)
        self.nearest = nearest.reshape(rows, columns)
        self.ridge, self.room = self._ridges()
        self.steps = cKDTree(self.ridge).query_pairs(1.6 * pixel, output_type="ndarray")
        self.holes = np.array(holes, dtype=float).reshape(-1, 3)
        self.terminals = [(*self._pixel(x, y), net) for x, y, net in terminals]

    def _pixel(self, x: float, y: float) -> tuple[int, int]:
        column, row = ((np.array([x, y]) - self.low) / self.pixel).astype(int).tolist()
        return row, column

    def _pairs(self) -> list[tuple[Any, Any]]:
        """Neighbours to the right and above, as index pairs."""
        here, there = slice(None, -1), slice(1, None)
        every = slice(None)
        return [((every, here), (every, there)), ((here, every), (there, every))]

    def _ridges(self) -> tuple[Floats, Floats]:
        """Points between neighbouring pixels that two far edges are equally near, and how near."""
        points = []
        for one, other in self._pairs():
            free = (self.clearance[one] > 0) & (self.clearance[other] > 0)
            free &= np.maximum(self.clearance[one], self.clearance[other]) < _FARTHEST
            p, q = self.middles[one][free], self.middles[other][free]
            a, b = self.edges[self.nearest[one][free]], self.edges[self.nearest[other][free]]
            apart = np.hypot(*(a - b).T) > 3 * self.pixel
            p, q, a, b = p[apart], q[apart], a[apart], b[apart]
            # |p + t (q - p) - a| = |p + t (q - p) - b| is linear in t; a ridge along the pair has
            # both on it.
            slope = 2 * ((b - a) * (q - p)).sum(1)
            nearer = ((p - b) ** 2 - (p - a) ** 2).sum(1)
            share = np.divide(nearer, slope, out=np.zeros_like(slope), where=slope != 0)
            points.append(p + np.clip(share, 0, 1)[:, None] * (q - p))
        ridge = np.concatenate(points)
        return ridge, self.tree.query(ridge)[0]

    def ends(self, level: float) -> Floats:
        """Where ridges fall below the level, so that the path ends or turns back."""
        room = self.room[self.steps] - level
        ends = (room[:, 0] < 0) != (room[:, 1] < 0)
        share = room[ends, :1] / (room[ends, :1] - room[ends, 1:])
        p, q = self.ridge[self.steps[ends, 0]], self.ridge[self.steps[ends, 1]]
        found: Floats = p + share * (q - p)
        return found

    def path(self, level: float) -> Floats:
        """Points, no farther apart than a pixel, where the clearance is ``level``."""
        points = [self.ridge[(self.room >= level) & (self.room <= level + 2 * self.pixel)]]
        points.append(self.ends(level))
        for one, other in self._pairs():
            before, after = self.clearance[one] - level, self.clearance[other] - level
            crosses = (before < 0) != (after < 0)
            share = before[crosses] / (before[crosses] - after[crosses])
            p, q = self.middles[one][crosses], self.middles[other][crosses]
            points.append(p + share[:, None] * (q - p))
        return np.concatenate(points)

    def surface(self, step: float) -> Floats:
        """(rows, columns, 2) places over the sheet so far apart, at which to tell its height."""
        columns, rows = np.ceil(np.array(self.clearance.shape[::-1]) * self.pixel / step) + 1
        self.step = step
        grid = np.stack(np.meshgrid(np.arange(columns), np.arange(rows)), -1)
        places: Floats = grid * step + self.low
        return places

    def _between(self, heights: Floats, places: Floats) -> Floats:
        """(n,) the height at (n, 2) places, by cubic splines."""
        at = ((places - self.low) / self.step).T[::-1]
        between: Floats = map_coordinates(heights, at, order=3, mode="nearest")
        return between

    def faults(
        self,
        tool: Tool,
        higher: Floats,
        off: Floats | None = None,
        bite: float = 0.0,
    ) -> set[str]:
        """What is wrong with the side once it is cut: "joined", "film", "severed", "ring".

        Args:
            tool: as set.
            higher: (rows, columns) how much higher the surface lies at the places of `surface`.
            off: (holes, 2) how far each hole lies off.
            bite: how much nearer to the copper the path runs than half the cut.
        """
        level = tool.trial / 2 - bite
        path = self.path(level)
        half = tool.through(self._between(higher, path)) / 2
        tree, most = cKDTree(path), float(half.max())
        near = np.abs(self.clearance - level) <= most
        left = np.ones(self.clearance.shape, bool)
        away, which = tree.query(self.middles[near], distance_upper_bound=most + self.pixel)
        left[near] = (away > np.append(half, 0.0)[which]) | np.isinf(away)
        found = set()
        for (x, y, diameter), (dx, dy) in zip(
            self.holes, np.zeros_like(self.holes[:, :2]) if off is None else off, strict=True
        ):
            at = np.array([x + dx, y + dy])
            (row, column), reach = self._pixel(*at), math.ceil(diameter / self.pixel)
            window = (
                slice(max(row - reach, 0), row + reach),
                slice(max(column - reach, 0), column + reach),
            )
            off_hole = np.hypot(*(self.middles[window] - at).transpose(2, 0, 1)) > diameter / 2
            left[window] &= off_hole
            turn = 2 * np.pi * np.arange(_RIM) / _RIM
            rim = at + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
            away, which = tree.query(rim)
            if (away <= half[which]).any() or (self._clearance_at(rim) >= level).any():
                found.add("ring")
        if self._bridged(self.ends(level), tree, half):
            found.add("joined")
        return found | self._labelled(left, level)

    def _bridged(self, ends: Floats, tree: Any, half: Floats) -> bool:
        """Whether copper passes between two ends of the path that nearly meet, net to net."""
        reach = np.arange(1, _BRIDGE) * (self.pixel / 4)
        for one, other in cKDTree(ends).query_pairs(2 * float(half.max()) + 2 * self.pixel):
            middle, along = (ends[one] + ends[other]) / 2, ends[other] - ends[one]
            across = np.array([-along[1], along[0]]) / max(np.hypot(*along), 1e-9)
            nets = []
            for way in (-1, 1):
                line = middle + way * np.concatenate([[0.0], reach])[:, None] * across
                copper = np.flatnonzero(self._clearance_at(line) < 0)
                line = line[: copper[0] + 1] if len(copper) else line
                away, which = tree.query(line)
                if len(copper) and (away > half[which]).all():
                    nets.append(int(self.net_of[self.tree.query(line[-1])[1]]))
            if len(nets) == 2 and nets[0] != nets[1]:
                return True
        return False

    def _clearance_at(self, places: Floats) -> Floats:
        column, row = ((places - self.low) / self.pixel).astype(int).T
        clearance: Floats = self.clearance[row, column]
        return clearance

    def _labelled(self, left: Bools, level: float) -> set[str]:
        parts, _ = label(left, structure=np.ones((3, 3)))
        beyond = set(np.unique(parts[left & (self.clearance > level + self.pixel)]).tolist())
        found: set[str] = set()
        mine: dict[int, set[int]] = {}
        for row, column, net in self.terminals:
            mine.setdefault(net, set()).add(int(parts[row, column]))
        for net, labels in mine.items():
            if len(labels) > 1 or 0 in labels:
                found.add("severed")
            if labels & beyond:
                found.add("film")
            if any(labels & others - {0} for other, others in mine.items() if other != net):
                found.add("joined")
        return found


def _along(ring: Any) -> Floats:
    """Points along a ring."""
    points = shapely.get_coordinates(ring)
    start, step = points[:-1], np.diff(points, axis=0)
    pieces = np.maximum(1, np.ceil(np.hypot(*step.T) / _EDGE)).astype(int)
    of = np.repeat(np.arange(len(step)), pieces)
    share = (np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[of]
    along: Floats = start[of] + share[:, None] * step[of]
    return along
