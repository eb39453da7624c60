"""Strips: chords of copper that follow each other at one width, and the ends where they stop.

A chord is a double normal inside the copper. A straight trace has one, an arc has many; together
they are one strip.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import components
from checker.measure.plane import dot

if TYPE_CHECKING:
    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals

SLACK = 0.005, 0.05
"""Change of width that counts: this many mm, or this share of the width if that is more."""

_DIGITS = 6  # of a length in mm that rounding does not tell
_COMPACT = 0.25  # widths: a strip whose chords' middles lie closer together is one place


def slack(width: Floats) -> Floats:
    """(n,) the least change of a width that counts, mm."""
    least, share = SLACK
    change: Floats = np.maximum(least, share * width)
    return change


class Strips(Struct, frozen=True, eq=False):
    """Chords in strips, and the open ends of the strips.

    Attributes:
        of: (chords,) the strip of each chord.
        length: (strips,) mm covered by chords and the steps between them.
        narrowest: (strips,) the chord of least width.
        chord: (ends,) the last chord before the end.
        start, heading: (ends, 2) where the chords stop, and the unit vector onward.
    """

    of: Ints
    length: Floats
    narrowest: Ints
    chord: Ints
    start: Floats
    heading: Floats

    def __len__(self) -> int:
        return len(self.length)

    @property
    def strip(self) -> Ints:
        """(ends,) the strip of each end."""
        strip: Ints = self.of[self.chord]
        return strip


def strips_of(chords: Normals, island: Ints) -> Strips:
    """Link the chords of each island that follow each other; find where nothing follows.

    Each chord has two ports, at the ends of the stretch over which its walls run parallel.
    """
    count = len(chords)
    port, heading = ports(chords)
    chord = np.tile(np.arange(count), 2)
    width = chords.distance[chord]

    # Walls that part for no longer than this, at a bend or a side branch, leave the inscribed disc
    # within the slack: disc radius r = d/2 + s²/(8 d) for a gap s in one wall.
    bridge = 2 * np.sqrt(slack(width) * (width + slack(width)))
    p, q = near_pairs(port, bridge, island[chord])
    linked = (chord[p] != chord[q]) & (np.abs(width[p] - width[q]) <= slack(width[p]))
    p, q = p[linked], q[linked]
    # What the wider of two chords bridges the narrower one bridges too: else it would stay open.
    lone = ~np.isin(q * 2 * count + p, p * 2 * count + q)
    p, q = np.concatenate([p, q[lone]]), np.concatenate([q, p[lone]])
    of, number = numbered(components(count, chord[p], chord[q]))

    # A port is closed where another chord reaches farther on, or starts from the same place.
    mate = (q + count) % (2 * count)
    (x, y), (towards_x, towards_y) = port.T, heading.T
    step = np.maximum(
        (x[q] - x[p]) * towards_x[p] + (y[q] - y[p]) * towards_y[p],
        (x[mate] - x[p]) * towards_x[p] + (y[mate] - y[p]) * towards_y[p],
    )
    level = 1e-6 + 1e-3 * width[p]
    ahead = step > level
    level_with = np.flatnonzero((np.abs(step) <= level) & (p > q))
    one, other = p[level_with], q[level_with]
    twin = level_with[dot(heading[one], heading[other]) > 0.5]
    gap = np.full(2 * count, np.inf)
    p_ahead, q_ahead = p[ahead], q[ahead]
    np.minimum.at(gap, p_ahead, np.hypot(x[q_ahead] - x[p_ahead], y[q_ahead] - y[p_ahead]))
    gap[p[twin]] = np.minimum(gap[p[twin]], 0)

    # Of chords through one place, as of a disc, only the one with the longest walls counts, of
    # equal ones the narrowest.
    low, high = np.full((number, 2), np.inf), np.full((number, 2), -np.inf)
    np.minimum.at(low, of, chords.middle)
    np.maximum.at(high, of, chords.middle)
    narrowest = first_of_each(of, chords.distance, number)
    compact = (high - low).max(1, initial=0) < _COMPACT * chords.distance[narrowest]
    rank = np.empty(count)
    rank[np.lexsort((chords.distance, -np.round(chords.overlap, _DIGITS)))] = np.arange(count)
    longest = first_of_each(of, rank, number)
    counts = ~compact[of] | (longest[of] == np.arange(count))
    opened = np.where(compact[of], counts, True)[chord] & (compact[of[chord]] | np.isinf(gap))

    between = np.where(opened | compact[of[chord]], 0, gap)
    length = sums(of, np.where(counts, chords.overlap, 0), number)
    length += sums(of[chord], between, number) / 2
    return Strips(of, length, narrowest, chord[opened], port[opened], heading[opened])


def ports(chords: Normals) -> tuple[Floats, Floats]:
    """(2 n, 2) the two ports of all chords, first those on the left of a-b; and their headings."""
    across = (chords.b - chords.a) / chords.distance[:, None]
    along = np.column_stack([-across[:, 1], across[:, 0]])
    half = chords.overlap[:, None] / 2 * along
    middle = chords.middle
    return np.concatenate([middle + half, middle - half]), np.concatenate([along, -along])


def near_pairs(points: Floats, radius: Floats, group: Ints) -> tuple[Ints, Ints]:
    """Ordered pairs of different points of one group, the second within the first's radius."""
    shapes = shapely.points(points)
    i, j = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=radius)
    pair = (i != j) & (group[i] == group[j])
    return i[pair], j[pair]


def numbered(label: Ints) -> tuple[Ints, int]:
    """Labels replaced by 0, 1, 2 ... and how many there are."""
    values, number = np.unique(label, return_inverse=True)
    return number, len(values)


def first_of_each(group: Ints, key: Floats, number: int) -> Ints:
    """(number,) the row with the least key in each group; every group has a row."""
    order = np.lexsort((key, group))
    first: Ints = order[np.searchsorted(group[order], np.arange(number))]
    return first


def sums(group: Ints, values: Floats, number: int) -> Floats:
    """(number,) sum of the values of each group."""
    return np.bincount(group, values, number).astype(float)
