"""Places where two stretches of boundary face each other at a local minimum of their distance.

Such a place is a *double normal*: the line between its two contact points is normal to the
boundary at both ends. Outside the copper it is a gap, inside it is a neck.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import astuple

from checker.measure.boundary.boxes import Boxes
from checker.measure.plane import dot

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes
    from checker.measure.boundary.runs import Runs
    from checker.measure.boundary.segments import Segments

CHUNK = 8_000
"""Segments per query, whole runs: bounds the memory of the pair list."""

PLATEAU = 0.003
"""Distances within this (mm) along one stretch are one place: three times the chord error."""

NEAR = 1.5
"""Minima of a pair nearer to each other than this many of their distances are one run."""

_MARGIN = 1e-5  # mm: rounding of what lies ahead of a segment
_END = 1e-7  # fraction of a segment that counts as its end
_PARALLEL = 1e-3  # sine of the angle below which two segments are taken as parallel
_STRAIGHT = 5e-4  # mm by which the middle of an overlap may be farther than its nearest end


class Normals(Struct, frozen=True, eq=False):
    """Double normals; columns of length n.

    Attributes:
        i, j: rows of the two segments.
        distance: between the contact points, mm.
        overlap: length over which the two segments run parallel, 0 where they do not.
        a, b: (n, 2) contact points on i and on j.
    """

    i: Ints
    j: Ints
    distance: Floats
    overlap: Floats
    a: Floats
    b: Floats

    def __len__(self) -> int:
        return len(self.distance)

    def take(self, rows: Ints | NDArray[np.bool_]) -> Normals:
        """The given rows."""
        return Normals(*(getattr(self, name)[rows] for name in self.__struct_fields__))

    @property
    def middle(self) -> Floats:
        """(n, 2) the point halfway between the contacts."""
        middle: Floats = (self.a + self.b) / 2
        return middle


def double_normals(segments: Segments, reach: float, *, inside: bool = False) -> Normals:
    """All double normals no longer than ``reach`` (mm), none where that is 0.

    Between different islands through free space, or with ``inside`` within one island through
    its copper.
    """
    found = [
        Normals(*(np.zeros((0, 2) if k > 3 else 0, int if k < 2 else float) for k in range(6)))
    ]
    island = segments.island

    def within(i: Ints, j: Ints) -> NDArray[np.bool_]:
        # Neighbours on a ring touch, which is no width, and are most of the pairs.
        apart = (segments.next[i] != j) & (segments.prev[i] != j)
        one: NDArray[np.bool_] = apart & (i < j) & (island[i] == island[j])
        return one

    def between(i: Ints, j: Ints) -> NDArray[np.bool_]:
        return island[i] < island[j]

    def may(runs: Runs, i: Ints, j: Ints) -> NDArray[np.bool_]:
        one, other = runs.island[i], runs.island[j]
        asked = np.flatnonzero((i <= j) & (one == other) if inside else one < other)
        some: NDArray[np.bool_] = np.zeros(len(i), dtype=bool)
        some[asked] = runs.opposed(i[asked], j[asked])
        return some

    wanted = within if inside else between
    for near in facing(segments, reach, wanted, may, inside=inside) if reach > 0 else ():
        found.append(near.take(_is_minimum(segments, near, -1.0 if inside else 1.0)))
    columns = zip(*(astuple(part) for part in found), strict=True)
    normals = Normals(*(np.concatenate(column) for column in columns))
    if not len(normals):
        return normals
    # Which of equal ones speaks for a place hangs on their order: what is near stands together.
    return normals.take(np.lexsort((segments.rank[normals.j], normals.i)))


def facing(
    segments: Segments,
    reach: float,
    wanted: Callable[[Ints, Ints], NDArray[np.bool_]],
    may: Callable[[Runs, Ints, Ints], NDArray[np.bool_]],
    *,
    inside: bool = False,
) -> Iterator[Normals]:
    """Closest contacts of the wanted pairs (i, j) of segments that face each other, in chunks.

    Through free space, or with ``inside`` through copper; no longer than ``reach`` (mm). ``may``
    tells of pairs of runs whether they may hold a pair that is wanted.
    """
    sign = -1.0 if inside else 1.0
    for i, j in _pairs(segments, reach, sign, may):
        asked = wanted(i, j)
        i, j = i[asked], j[asked]
        fronts = _facing(segments, i, j, sign)
        yield closest(segments, i[fronts], j[fronts], reach)


def screen(segments: Segments, normals: Normals, slack: float = 1e-6) -> NDArray[np.bool_]:
    """(n,) True where no boundary comes nearer to the middle than half the distance.

    Elsewhere something else lies between the two contacts: they do not face each other.
    """
    clear = np.ones(len(normals), dtype=bool)
    wide = np.flatnonzero(normals.distance > 2 * slack)  # nothing lies between what touches
    if len(wide):
        middle, radius = normals.middle[wide], normals.distance[wide] / 2 - slack
        crowded = segments.tree.query(shapely.points(middle), "dwithin", distance=radius)[0]
        clear[wide[crowded]] = False
    return clear


def stretches(segments: Segments, normals: Normals) -> Floats:
    """(n, 2, 2) both ends of the stretch along which each normal's sides run parallel.

    They lie halfway between the sides, and are one where the normal is at a point alone.
    """
    half = segments.direction[normals.i] * (normals.overlap / 2)[:, None]
    ends: Floats = np.stack([normals.middle - half, normals.middle + half], 1)
    return ends


def clusters(stretch: Floats, distance: Floats, group_a: Ints, group_b: Ints) -> Ints:
    """(n,) number of the run each normal belongs to.

    Normals between the same two groups (islands, rings) whose stretches lie beside each other at
    nearly the same distance are one run: a curved gap has hundreds.

    Args:
        stretch: (n, 2, 2) see `stretches`.
        distance: (n,) of the normals.
        group_a: (n,) of the one side.
        group_b: (n,) of the other.
    """
    lines = as_lines(stretch)
    i, j = shapely.STRtree(lines).query(lines, "dwithin", distance=NEAR * distance)
    one = (
        (group_a[i] == group_a[j])
        & (group_b[i] == group_b[j])
        & (np.abs(distance[i] - distance[j]) <= PLATEAU)
    )
    return components(len(distance), i[one], j[one])


def as_lines(stretch: Floats) -> Shapes:
    """(n,) lines between the ends (n, 2, 2), points where they are one."""
    found: Shapes = shapely.points(stretch[:, 0])
    long = np.flatnonzero((stretch[:, 0] != stretch[:, 1]).any(1))
    found[long] = shapely.linestrings(stretch[long])
    return found


def components(count: int, a: Ints, b: Ints) -> Ints:
    """(count,) the least member of the connected component of each node, from edges a-b."""
    label = np.arange(count)
    while True:
        least = np.minimum(label[a], label[b])
        new = label.copy()
        for node in (label[a], label[b], a, b):
            np.minimum.at(new, node, least)
        new = new[new]
        if np.array_equal(new, label):
            return label
        label = new


def _pairs(
    segments: Segments,
    reach: float,
    sign: float,
    may: Callable[[Runs, Ints, Ints], NDArray[np.bool_]],
) -> Iterator[tuple[Ints, Ints]]:
    """Pairs of segments one of which may hold a normal of the other, chunk by chunk.

    A normal leaves a segment straight ahead, or at a corner between the normals of its two edges:
    only that much is searched, a seventh of what lies within reach all round.
    """
    if not len(segments):
        return
    runs = segments.runs
    for first in range(0, len(segments), CHUNK):
        rows = slice(first, first + CHUNK)
        yield runs.pairs(rows, _ahead(segments, rows, reach, sign), partial(may, runs))


def _ahead(segments: Segments, rows: slice, reach: float, sign: float) -> Boxes:
    """Boxes round all that may lie straight ahead of each of the rows."""
    corner = np.flatnonzero(sign * segments.turn[rows] > 0)
    after = rows.start + corner
    before = segments.prev[after]
    cosine = dot(segments.normal[after], segments.normal[before])
    blunt = cosine > 0  # the fan fits between its edges and their tangents' meeting point
    to_tip = np.where(blunt, sign * reach / (1 + np.maximum(cosine, 0)), 0)
    round_all = np.where(blunt, 0, reach)
    sides = []
    for axis in (0, 1):
        normal, start, end = (part[:, axis] for part in (segments.normal, segments.a, segments.b))
        low, high = np.minimum(start[rows], end[rows]), np.maximum(start[rows], end[rows])
        ahead = sign * reach * normal[rows]
        low, high = np.minimum(low, low + ahead), np.maximum(high, high + ahead)
        edge = start[after] + sign * reach * normal[before]
        tip = start[after] + to_tip * (normal[after] + normal[before])
        low[corner] = np.minimum(np.minimum(low[corner], edge), tip - round_all)
        high[corner] = np.maximum(np.maximum(high[corner], edge), tip + round_all)
        sides.append((low - _MARGIN, high + _MARGIN))
    (x0, x1), (y0, y1) = sides
    return Boxes(x0, y0, x1, y1)


def _facing(segments: Segments, i: Ints, j: Ints, sign: float) -> NDArray[np.bool_]:
    """Cheap necessary test: each segment has some point of the other in front of it.

    The contact may be the corner between a segment and the one before it, and at a corner sharper
    than 90 degrees only one of the two sees the other side: ask both.
    """

    def in_front(i: Ints, j: Ints) -> NDArray[np.bool_]:
        origin = segments.a[i]
        to_a, to_b = (segments.a[j] - origin) * sign, (segments.b[j] - origin) * sign

        def ahead(normal: Floats, rows: Ints | slice) -> NDArray[np.bool_]:
            return (
                np.maximum(
                    to_a[rows, 0] * normal[:, 0] + to_a[rows, 1] * normal[:, 1],
                    to_b[rows, 0] * normal[:, 0] + to_b[rows, 1] * normal[:, 1],
                )
                > -1e-6
            )

        front = ahead(segments.normal[i], slice(None))
        unsure = np.flatnonzero(~front)
        front[unsure] = ahead(segments.normal[segments.prev[i[unsure]]], unsure)
        return front

    facing = in_front(i, j)
    facing[facing] = in_front(j[facing], i[facing])
    return facing


def closest(segments: Segments, i: Ints, j: Ints, reach: float) -> Normals:
    """Closest points of segment pairs that do not cross, those within reach only.

    Where two segments run parallel the contact is the middle of their overlap.
    """
    p, u, q, v = segments.a[i], segments.b[i], segments.a[j], segments.b[j]
    u, v = u - p, v - q
    uu, vv = dot(u, u), dot(v, v)

    def onto(point: Floats, origin: Floats, along: Floats, square: Floats) -> tuple[Floats, Floats]:
        t = np.clip(dot(point - origin, along) / square, 0, 1)
        rest = point - origin - t[:, None] * along
        return t, dot(rest, rest)

    t_p, d_p = onto(p, q, v, vv)
    t_u, d_u = onto(p + u, q, v, vv)
    t_q, d_q = onto(q, p, u, uu)
    t_v, d_v = onto(q + v, p, u, uu)
    squares = np.stack([d_p, d_u, d_q, d_v])
    best = squares.argmin(0)
    square = squares[best, np.arange(len(i))]
    near = square <= reach * reach
    zero, one = np.zeros(len(i)), np.ones(len(i))
    t_i = np.choose(best, [zero, one, t_q, t_v])[near]
    t_j = np.choose(best, [t_p, t_u, zero, one])[near]
    i, j, square = i[near], j[near], square[near]
    p, u, q, v, uu, vv = p[near], u[near], q[near], v[near], uu[near], vv[near]

    overlap = np.zeros(len(i))
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    rows = np.flatnonzero(np.abs(cross) <= _PARALLEL * np.sqrt(uu * vv))
    s_0 = dot(q[rows] - p[rows], u[rows]) / uu[rows]
    s_1 = dot(q[rows] + v[rows] - p[rows], u[rows]) / uu[rows]
    begin = np.maximum(0, np.minimum(s_0, s_1))
    end = np.minimum(1, np.maximum(s_0, s_1))
    beside = end > begin
    rows, begin, end = rows[beside], begin[beside], end[beside]
    middle = (begin + end) / 2
    t, d = onto(p[rows] + middle[:, None] * u[rows], q[rows], v[rows], vv[rows])
    even = np.sqrt(d) <= np.sqrt(square[rows]) + _STRAIGHT
    rows = rows[even]
    t_i[rows], t_j[rows] = middle[even], t[even]
    overlap[rows] = (end - begin)[even] * np.sqrt(uu[rows])
    square[rows] = np.minimum(square[rows], d[even])
    return Normals(i, j, np.sqrt(square), overlap, p + t_i[:, None] * u, q + t_j[:, None] * v)


def _is_minimum(segments: Segments, near: Normals, sign: float) -> NDArray[np.bool_]:
    """(n,) True where the contact line is normal to the boundary at both ends.

    Inside an edge the closest point is normal by itself; at a corner the line must lie in the
    corner's normal cone. A contact at a segment's end is left to the next segment, whose start
    it is; one at the end of a stretch that runs parallel to the other side, to its middle.
    """
    across = near.b - near.a
    tolerance = 1e-7 + 1e-6 * near.distance
    # Two islands may touch; within one, neighbours on a ring always do.
    minimum = near.distance > 0 if sign < 0 else np.ones(len(near), dtype=bool)
    starts = []
    for row, point, v in ((near.i, near.a, across), (near.j, near.b, -across)):
        before = segments.prev[row]
        along = segments.direction[row]
        offset = dot(point - segments.a[row], along)
        at_start = offset < _END * segments.length[row]
        at_end = offset > (1 - _END) * segments.length[row]
        outward = sign * dot(v, segments.normal[row]) > -tolerance
        outward_before = sign * dot(v, segments.normal[before]) > -tolerance
        corner = (
            (dot(v, along) <= tolerance)
            & (dot(v, segments.direction[before]) >= -tolerance)
            & (sign * segments.turn[row] > -1e-9)
            & (outward | outward_before)
        )
        minimum &= np.where(at_end, False, np.where(at_start, corner, outward))
        starts.append(at_start)
    ended = np.flatnonzero(minimum & (starts[0] | starts[1]))
    minimum[ended] = ~_ends_stretch(segments, near.take(ended), *(s[ended] for s in starts))
    return minimum


def _ends_stretch(
    segments: Segments, near: Normals, at_i: NDArray[np.bool_], at_j: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """(n,) True where the segment before such a contact, on i or j or both, runs parallel."""
    i, j = near.i, near.j
    before_i, before_j = np.where(at_i, segments.prev[i], i), np.where(at_j, segments.prev[j], j)
    ends = np.zeros(len(near), dtype=bool)
    for one, other in ((before_i, j), (i, before_j), (before_i, before_j)):
        rows = np.flatnonzero((one != i) | (other != j))
        ends[rows] |= closest(segments, one[rows], other[rows], np.inf).overlap > 0
    return ends
