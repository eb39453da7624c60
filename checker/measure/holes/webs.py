"""Laminate between holes: how near the edges of two holes or slots come, and where.

A hole is the disk of its diameter swept along its path, so the distance of two edges is that of
two paths less both radii: exact for hits and for straight slots, and for slots with arcs as exact
as the reader flattens them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.exact import tie
from checker.measure.boundary.minima import components
from checker.measure.plane import dot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints

REACH = 3.0  # mm; profiles may ask for no wider webs
ERROR = 1e-6  # mm, of the arithmetic
SAME = 0.02  # mm within which two hits are meant to be one: coarse formats round to 0.01
_REACHES = (REACH, 0.5, 0.0)
_MOST_STROKES = 100_000  # the largest board met has 5 000
_MOST_PAIRS = 300_000  # ten times those of the largest board met
_AT_ONCE = 5_000_000  # pairs that a part of the search may bring


class Webs(Struct, frozen=True, eq=False):
    """Every two holes nearer to each other than ``reach``; columns of length n.

    Attributes:
        holes: (n, 2) indices into the board's holes, the first below the second.
        between: (n,) distance edge to edge in mm, negative where the two overlap.
        at: (n, 2) middle of the laminate, or of the overlap, there.
        same: (n,) bool, one hole named twice. Of many hits at one place only those with the first
            of them are listed.
        inside: (n,) bool, one of the two has nothing outside the other; true of the same.
        reach: mm, below `REACH` where so many holes lie together that they cannot all be compared;
            negative where not even overlaps could be told.
    """

    holes: Ints
    between: Floats
    at: Floats
    same: NDArray[np.bool_]
    inside: NDArray[np.bool_]
    reach: float

    def __len__(self) -> int:
        return len(self.between)


class Cluster(Struct, frozen=True):
    """Round hits that touch or overlap, directly or through others.

    Attributes:
        holes: indices into the board's holes, from one end to the other.
        at: middle of the cluster.
        deepest: the least distance edge to edge of two of them, negative.
        length: mm from end to end.
        repeats: whether each hit but the largest lies within another one.
        straight: whether the middles lie in one line and the diameters are one.
    """

    holes: tuple[int, ...]
    at: tuple[float, float]
    deepest: float
    length: float
    repeats: bool
    straight: bool


@lru_cache(maxsize=1)
def webs_of(board: Board) -> Webs:
    """The webs of a board."""
    holes = board.holes
    unique: dict[object, int] = {}
    first = np.array(
        [unique.setdefault((_way(h.path), h.diameter), i) for i, h in enumerate(holes)], np.int64
    )
    again = np.flatnonzero(first != np.arange(len(holes)))
    kept = np.flatnonzero(first == np.arange(len(holes)))
    owner = np.repeat(kept, [max(1, len(holes[i].path) - 1) for i in kept])
    if len(owner) > _MOST_STROKES:
        return _webs(board, np.empty((0, 2), np.int64), np.empty(0), np.empty((0, 2)), -1.0)
    start = np.array([p for i in kept for p in holes[i].path[: len(holes[i].path) - 1 or 1]])
    end = np.array([p for i in kept for p in holes[i].path[1:] or holes[i].path])
    start, end = start.reshape(-1, 2), end.reshape(-1, 2)
    radius = np.array([h.diameter / 2 for h in holes])
    for reach in _REACHES:
        pairs = _near(start, end, radius[owner], owner, reach)
        if pairs is not None:
            break
    else:
        return _webs(board, np.empty((0, 2), np.int64), np.empty(0), np.empty((0, 2)), -1.0)
    a, b = pairs.T
    between, at = _strokes_apart(
        start[a], end[a], radius[owner[a]], start[b], end[b], radius[owner[b]]
    )
    found = _least(owner[pairs], between, at, reach)
    twice = np.column_stack([first[again], again])
    middle = np.array([_middle(holes[i].path) for i in again.tolist()]).reshape(-1, 2)
    return _webs(
        board,
        np.concatenate([found[0], twice]),
        np.concatenate([found[1], -2 * radius[again]]),
        np.concatenate([found[2], middle]),
        reach,
    )


@lru_cache(maxsize=1)
def clusters_of(board: Board) -> tuple[Cluster, ...]:
    """Every cluster of round hits of a board, and slots named twice; in no particular order."""
    webs = webs_of(board)
    slot = np.array([hole.is_slot for hole in board.holes], dtype=bool)
    touch = (webs.between < tie(board)) & (webs.same | ~slot[webs.holes].any(1))
    pairs, rows = webs.holes[touch], np.flatnonzero(touch)
    cluster = components(len(board.holes), *pairs.T)[pairs[:, 0]]
    order = np.argsort(cluster, kind="stable")
    starts = np.flatnonzero(np.diff(cluster[order], prepend=-1))
    return tuple(_cluster(board, webs, rows[part]) for part in np.split(order, starts)[1:])


def repeated_of(board: Board) -> frozenset[int]:
    """Hits within a larger one, or drilled again: they make no hole of their own."""
    again: set[int] = set()
    for cluster in clusters_of(board):
        if cluster.repeats:
            largest = max(cluster.holes, key=lambda one: (board.holes[one].diameter, -one))
            again.update(one for one in cluster.holes if one != largest)
    return frozenset(again)


def widest_apart(points: Floats) -> float:
    """(n, 2) -> the distance in mm of the two points farthest from each other, 0 for fewer."""
    hull = shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(points)))
    if len(hull) < 2:
        return 0.0
    apart = [np.hypot(*(hull - corner).T).max() for corner in hull]
    return float(max(apart))


def extent_of(board: Board) -> tuple[Floats, Floats]:
    """Lower left and upper right corner of the outline, or of the copper where there is none."""
    if board.outline is not None:
        box = board.outline.area.bounds
    else:
        islands = np.concatenate([layer.islands for layer in board.copper])
        box = shapely.total_bounds(islands) if len(islands) else (0.0, 0.0, 0.0, 0.0)
    return np.array(box[:2]), np.array(box[2:])


def _way(path: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return min(path, path[::-1])


def _middle(path: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    return (path[0][0] + path[-1][0]) / 2, (path[0][1] + path[-1][1]) / 2


def _near(start: Floats, end: Floats, radius: Floats, owner: Ints, reach: float) -> Ints | None:
    """(m, 2) strokes of different holes whose boxes are within the reach; None if too many."""
    half = radius[:, None] + reach / 2 + ERROR
    low, high = np.minimum(start, end) - half, np.maximum(start, end) + half
    boxes = shapely.box(*low.T, *high.T)
    tree = shapely.STRtree(boxes)
    step, count, found = max(1, _AT_ONCE // max(1, len(boxes))), 0, [np.empty((0, 2), np.int64)]
    for begin in range(0, len(boxes), step):
        a, b = tree.query(boxes[begin : begin + step])
        a = a + begin
        new = owner[a] < owner[b]
        found.append(np.column_stack([a[new], b[new]]))
        count += int(new.sum())
        if count > _MOST_PAIRS:
            return None
    return np.concatenate(found)


def _strokes_apart(
    a0: Floats, a1: Floats, a_radius: Floats, b0: Floats, b1: Floats, b_radius: Floats
) -> tuple[Floats, Floats]:
    """(m,) distance edge to edge of strokes and (m, 2) the middle between them.

    The nearest points of two straight strokes that do not cross include an end of one. Strokes
    side by side are nearest at many places: the middle of the ends that are.
    """
    ways = [
        _foot(a0, b0, b1), _foot(a1, b0, b1), _foot(b0, a0, a1), _foot(b1, a0, a1),
    ]  # fmt: skip
    points = [(a0, ways[0]), (a1, ways[1]), (ways[2], b0), (ways[3], b1)]
    far = np.stack([np.hypot(*(q - p).T) for p, q in points])
    near = far.min(0)
    share = (far <= near + ERROR).astype(float)
    p = (
        sum(s[:, None] * one for s, (one, _) in zip(share, points, strict=True))
        / share.sum(0)[:, None]
    )
    q = (
        sum(s[:, None] * two for s, (_, two) in zip(share, points, strict=True))
        / share.sum(0)[:, None]
    )
    cross, crossing = _crossing(a0, a1, b0, b1)
    near = np.where(cross, 0.0, near)
    between = near - a_radius - b_radius
    with np.errstate(invalid="ignore", divide="ignore"):
        along = np.where(near > ERROR, (a_radius + between / 2) / near, 0.5)
    at = p + along[:, None] * (q - p)
    return between, np.where(cross[:, None], crossing, at)


def _foot(point: Floats, start: Floats, end: Floats) -> Floats:
    """(m, 2) the nearest point of each stroke to each point."""
    way = end - start
    square = np.maximum(dot(way, way), np.finfo(float).tiny)
    part = np.clip(dot(point - start, way) / square, 0.0, 1.0)
    foot: Floats = start + part[:, None] * way
    return foot


def _crossing(a0: Floats, a1: Floats, b0: Floats, b1: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """(m,) whether strokes cross inside both, (m, 2) where."""
    a, b, gap = a1 - a0, b1 - b0, b0 - a0
    turn = _cross(a, b)
    with np.errstate(invalid="ignore", divide="ignore"):
        on_a, on_b = _cross(gap, b) / turn, _cross(gap, a) / turn
        inside = (turn != 0) & (on_a > 0) & (on_a < 1) & (on_b > 0) & (on_b < 1)
        return inside, np.where(inside[:, None], a0 + on_a[:, None] * a, 0.0)


def _cross(a: Floats, b: Floats) -> Floats:
    product: Floats = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return product


def _least(holes: Ints, between: Floats, at: Floats, reach: float) -> tuple[Ints, Floats, Floats]:
    """From strokes to holes: the nearest strokes of each two, the middle of those equally near."""
    within = between <= reach
    holes, between, at = holes[within], between[within], at[within]
    pairs, which = np.unique(holes, axis=0, return_inverse=True)
    which = which.reshape(-1)
    least = np.full(len(pairs), np.inf)
    np.minimum.at(least, which, between)
    nearest = between <= least[which] + ERROR
    count = np.bincount(which[nearest], minlength=len(pairs))[:, None]
    middle = np.zeros((len(pairs), 2))
    np.add.at(middle, which[nearest], at[nearest])
    return pairs.reshape(-1, 2), least, middle / np.maximum(count, 1)


def _webs(board: Board, holes: Ints, between: Floats, at: Floats, reach: float) -> Webs:
    """Sorted by holes, and told which are one hole named twice or within another."""
    order = np.lexsort(holes.T[::-1])
    holes, between, at = holes[order], between[order], at[order]
    same = np.zeros(len(holes), dtype=bool)
    inside = np.zeros(len(holes), dtype=bool)
    for row in np.flatnonzero(between < 0).tolist():
        one, other = (board.holes[i] for i in holes[row].tolist())
        if len(one.path) != len(other.path):
            continue
        wider = abs(one.diameter - other.diameter)
        apart = min(_apart(one.path, other.path), _apart(one.path, other.path[::-1]))
        same[row] = apart <= SAME and wider <= SAME
        inside[row] = same[row] or (not one.is_slot and apart <= wider / 2)
    return Webs(holes, between, at, same, inside, reach)


def _apart(a: tuple[tuple[float, float], ...], b: tuple[tuple[float, float], ...]) -> float:
    return float(np.hypot(*(np.array(a) - np.array(b)).T).max())


def _cluster(board: Board, webs: Webs, rows: Ints) -> Cluster:
    """The cluster that pairs of holes make."""
    members = np.unique(webs.holes[rows])
    holes = [board.holes[i] for i in members.tolist()]
    middles = np.array([_middle(hole.path) for hole in holes])
    size = np.array([hole.diameter for hole in holes])
    centre = middles.mean(0)
    start = middles[np.argmax(np.hypot(*(middles - centre).T))]
    way = middles[np.argmax(np.hypot(*(middles - start).T))] - start
    unit = way / max(float(np.hypot(*way)), ERROR)
    along, aside = (middles - start) @ unit, _cross(middles - start, unit[None, :])
    # Of two hits within each other the smaller is the idle one, or the later of equals.
    first, second = size[np.searchsorted(members, webs.holes[rows[webs.inside[rows]]])].T
    idle = webs.holes[rows[webs.inside[rows]]][np.arange(len(first)), (second <= first).astype(int)]
    return Cluster(
        holes=tuple(members[np.argsort(along, kind="stable")].tolist()),
        at=(float(centre[0]), float(centre[1])),
        deepest=float(webs.between[rows].min()),
        length=float((along + size / 2).max() + (size / 2 - along).max()),
        repeats=len(np.setdiff1d(members, idle)) == 1,
        straight=bool(np.ptp(size) <= SAME and np.ptp(aside) <= SAME),
    )
