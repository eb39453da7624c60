"""How far a tool travels round the copper of a side, at any distance from it, without a toolpath.

The pass at a distance r from copper is the boundary of all that lies within r of it. Above a point
of an edge it runs if and only if the disc of radius r that touches the edge there from outside
holds no other copper. So it is enough to know of a point its *reach*: the radius of the largest
such disc. Points are spread evenly along the edges, and as evenly over the directions that fan out
of convex corners, and each stands for a stretch of edge or for an angle: one table of them answers
for every distance.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from msgspec import Struct

from checker.exact import tie
from checker.measure.boundary.segments import boundary_of
from checker.measure.plane import dot

if TYPE_CHECKING:
    from checker.board import Board, CopperLayer, Floats, Ints
    from checker.measure.boundary.segments import Segments

ERROR = 0.02
"""Bound on the relative error of a length of which a fifth or more is left. A fifth of that is
usual; on dots finer than the tool it may be twice as much."""

FARTHEST = 2.0
"""mm; discs wider than of this radius are not looked for, a reach of so much is as much or more."""

USUAL = 0.42
"""mm; passes of most processes are no farther from the copper, so wider discs are seldom tried.
Smaller ones are not worth a question: most points have more room, and the tree takes its time."""

_POINTS, _FANS = 6_000, 1_500  # points of a side along its edges and in its corners
_NEAREST, _NARROWEST = 0.005, 0.01  # mm between points on an edge, rad between those in a corner
_WIDER = 2.2  # how many times as wide a disc is tried next
_LITTLE = 1.2  # times the usual disc: one that is wider by no more is tried at once
_TOUCH = 1e-9  # mm; copper that a disc only touches is not in it
_CHANCE = 618.0339887  # per mm; what is left of a length times this is as good as chance


class Way(Struct, frozen=True, eq=False, dict=True):
    """Points of the boundaries of the outer sides; columns with a row each, least reach first.

    A point on an edge stands for the length ``weight`` of it and has no ``turn``; one in a corner
    for the angle ``turn`` of it, that is for the length ``turn`` r at a distance r.

    Attributes:
        side: (n,) index of the side, into ``sides``.
        at: (n, 2) the point, mm.
        weight: (n,) mm.
        turn: (n,) radians.
        ring: (n,) number of the closed edge that the point is on, into ``stands_for``.
        reach: (n,) radius of the largest disc that touches the copper there from outside and holds
            no copper, mm; ``farthest`` where it is that or more.
        farthest: mm; wider discs were not looked for.
        slack: mm; a pass that has room but for so much is run.
        sides: names of the outer sides that hold copper.
        stands_for: (m,) how many edges a closed edge stands for: 1, or more where it is so short
            that others like it have no point.
    """

    side: Ints
    at: Floats
    weight: Floats
    turn: Floats
    ring: Ints
    reach: Floats
    farthest: float
    slack: float
    sides: tuple[str, ...]
    stands_for: Floats

    def length(self, offset: float, *, beyond: float = 0.0, below: float = np.inf) -> float:
        """Length in mm of the passes at a distance (mm) from the copper of all outer sides.

        What two nets have between them counts for each, as each has its pass; where there is no
        room for a pass there is none.

        Args:
            offset: distance of the passes; what is said of one beyond ``farthest`` is an upper
                bound.
            beyond: only where a disc of this radius (mm) goes in as well.
            below: only where a disc of this radius does not go in.
        """
        first, end = self._rows(max(offset, beyond), below)
        weight, turn = self._sums[:, end] - self._sums[:, first]
        return float(weight + offset * turn)

    def rings(self, offset: float, *, beyond: float = 0.0, below: float = np.inf) -> float:
        """About how many curves these passes are: as many as the closed edges that they run along.

        Where gaps have no room for a pass, curves join and fall apart: then it is a rough number.
        """
        first, end = self._rows(max(offset, beyond), below)
        run = np.bincount(
            self.ring[first:end], self.weight[first:end], minlength=len(self.stands_for)
        )
        return float(self.stands_for[run > 0].sum())

    def _rows(self, least: float, below: float) -> tuple[int, int]:
        """The points whose reach is from ``least`` to ``below``."""
        ends = np.array([min(least, self.farthest), below]) - self.slack
        first, end = np.searchsorted(self.reach, ends).tolist()
        return first, max(first, end)

    @cached_property
    def _sums(self) -> Floats:
        """(2, n + 1) weight and turn of the points before each."""
        columns = np.stack([self.weight, self.turn])
        return np.concatenate([np.zeros((2, 1)), np.cumsum(columns, axis=1)], axis=1)


class _Points(NamedTuple):
    """Points of one side with the directions away from the copper; columns as in `Way`."""

    at: Floats
    normal: Floats
    weight: Floats
    turn: Floats
    ring: Ints


def way_of(board: Board, farthest: float = FARTHEST) -> Way:
    """Measure a board's outer sides, for discs up to a radius (mm) that are asked for.

    Who asks for several had best ask for the widest first: it answers for all.
    """
    wanted, known = min(max(farthest, USUAL), FARTHEST), _known(board)
    if not known or known[0].farthest < wanted:
        known[:] = [_way(board, wanted)]
    return known[0]


@lru_cache(maxsize=2)
def _known(_board: Board) -> list[Way]:
    """The way of a board for the widest discs asked for so far; empty where nobody asked."""
    return []


@lru_cache(maxsize=1)
def whole_of(board: Board) -> tuple[float, float]:
    """Length (mm) and angle (radians) of all that passes run along where there is room for each.

    At a distance r passes are no longer than that length and r times the angle.
    """
    sides = [boundary_of(layer) for layer in _outer(board)]
    length = sum(float(segments.length.sum()) for segments in sides)
    return length, sum(float(_turns(segments).sum()) for segments in sides)


def _outer(board: Board) -> list[CopperLayer]:
    return [la for la in board.copper if la.side in ("top", "bottom") and len(la.islands)]


def _way(board: Board, farthest: float) -> Way:
    outer = _outer(board)
    whole = np.zeros(0, np.int64)
    points = [_Points(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros(0), whole)]
    reach, side, stands_for = [np.zeros(0)], [whole], [np.zeros(0)]
    for number, layer in enumerate(outer):
        segments = boundary_of(layer)
        step = max(float(segments.length.sum()) / _POINTS, _NEAREST)
        rings = sum(map(len, stands_for))
        for found in (_along(segments, step), _round(segments)):
            points.append(found._replace(ring=found.ring + rings))
            reach.append(_reaches(segments, found, farthest))
            side.append(np.full(len(found.at), number))
        girth = segments.girth[np.flatnonzero(np.diff(segments.ring, prepend=-1))]
        stands_for.append(np.maximum(step / girth, 1.0))
    at, _, weight, turn, ring = (np.concatenate(column) for column in zip(*points, strict=True))
    reaches = np.concatenate(reach)
    order = np.argsort(reaches, kind="stable")
    return Way(
        side=np.concatenate(side)[order],
        at=at[order],
        weight=weight[order],
        turn=turn[order],
        ring=ring[order],
        reach=reaches[order],
        farthest=farthest,
        slack=tie(board) / 2,
        sides=tuple(layer.side for layer in outer),
        stands_for=np.concatenate(stands_for),
    )


def _along(segments: Segments, step: float) -> _Points:
    """Points along the edges, a step apart."""
    row, place = _spread(segments, segments.length, step)
    weight = np.full(len(row), segments.length.sum() / len(row))
    at = segments.at(row, place / segments.length[row])
    return _Points(at, segments.normal[row], weight, np.zeros(len(row)), segments.ring[row])


def _round(segments: Segments) -> _Points:
    """Points in the convex corners, one for each of the directions that they stand for."""
    turn = _turns(segments)
    total = float(turn.sum())
    row, angle = _spread(segments, turn, max(total / _FANS, _NARROWEST))
    x, y = segments.normal[segments.prev[row]].T
    cos, sin = np.cos(angle), np.sin(angle)
    normal = np.column_stack([x * cos - y * sin, x * sin + y * cos])
    share = np.full(len(row), total / len(row))
    return _Points(segments.a[row], normal, np.zeros(len(row)), share, segments.ring[row])


def _turns(segments: Segments) -> Floats:
    """(n,) the angle by which a convex corner turns, 0 in others."""
    before = segments.direction[segments.prev]
    turned: Floats = np.arctan2(segments.turn, dot(before, segments.direction)).clip(min=0.0)
    return turned


def _spread(segments: Segments, extent: Floats, step: float) -> tuple[Ints, Floats]:
    """Rows of segments and places in 0 to their ``extent``, a step apart along each ring.

    Where they begin must not depend on how the files are ordered or how the board lies: that is at
    the point of the ring farthest from the middle of all, and as if by chance within a step of it.
    """
    total = np.cumsum(extent)
    before = total - extent
    middles = (segments.a + segments.b) / 2
    centre = (middles * segments.length[:, None]).sum(0) / segments.length.sum()
    far = np.hypot(*(segments.a - centre).T)
    first = np.flatnonzero(np.diff(segments.ring, prepend=-1))
    last = np.append(first[1:], len(far)) - 1
    begin = np.lexsort((far, segments.ring))[last]
    chance = far[begin] * _CHANCE % 1.0
    whole = total[last] - before[first]
    count = np.ceil(whole / step - chance).clip(min=0).astype(np.int64)
    ring = np.repeat(np.arange(len(first)), count)
    number = np.arange(len(ring)) - np.repeat(np.cumsum(count) - count, count)
    place = before[begin] - before[first]
    place = (place[ring] + (chance[ring] + number) * step) % whole[ring] + before[first][ring]
    row = np.minimum(np.searchsorted(total, place, side="right"), last[ring])
    return row, (place - before[row]).clip(0.0, extent[row])


def _reaches(segments: Segments, points: _Points, farthest: float) -> Floats:
    """(n,) the reach of points, up to the farthest that is asked for.

    Discs are tried from small to large. The first that holds copper tells all: the largest empty
    one lies within it and touches some of what it holds.
    """
    at, normal = points.at, points.normal
    reach = np.full(len(at), farthest)
    open_ = np.arange(len(at))
    radius = USUAL if farthest > _LITTLE * USUAL else farthest
    while len(open_):
        # What is in the box and not in the disc touches no smaller one: it is sooner asked along.
        centres, half = at[open_] + radius * normal[open_], radius - _TOUCH
        boxes = shapely.linestrings(np.stack([centres - half, centres + half], 1))
        hit, copper = segments.tree.query(boxes)
        found = np.full(len(open_), np.inf)
        rows = open_[hit]
        np.minimum.at(found, hit, _touching(segments, copper, at[rows], normal[rows]))
        closed = found < radius
        reach[open_[closed]] = found[closed]
        if radius >= farthest:
            break
        open_, radius = open_[~closed], min(radius * _WIDER, farthest)
    return reach


def _touching(segments: Segments, row: Ints, at: Floats, normal: Floats) -> Floats:
    """(n,) radius of the disc that touches a line at a point and a segment elsewhere.

    In the frame of the point, with the normal as its x axis, such a disc has its middle at (r, 0).
    It touches a point (x, y) where x² + y² = 2 r x, and a line of direction (u, v) that passes the
    point at the distance w on its left where w + r v = r. Infinite where there is none.
    """
    x, y = _turned(segments.a[row] - at, normal)
    u, v = _turned(segments.direction[row], normal)
    length = segments.length[row]
    w = y * u - x * v
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = np.abs(w) / np.maximum(1 - np.sign(w) * v, 0.0)  # a direction may be a bit long
        foot = radius * u - (x * u + y * v)
        touches = (np.abs(w) > _TOUCH) & (foot >= 0) & (foot <= length)
        aside: Floats = np.where(touches, radius, np.inf)
        ends = np.minimum(_meeting(x, y), _meeting(x + length * u, y + length * v))
    return np.minimum(aside, ends)


def _meeting(x: Floats, y: Floats) -> Floats:
    """(n,) radius of the disc about (r, 0) through the origin and a point."""
    met: Floats = np.where(x > _TOUCH, (x * x + y * y) / (2 * x), np.inf)
    return met


def _turned(vectors: Floats, normal: Floats) -> tuple[Floats, Floats]:
    """Vectors (n, 2) in frames whose x axes are the normals."""
    (x, y), (u, v) = vectors.T, normal.T
    return x * u + y * v, u * y - v * x
