"""Necks: every place where an island's copper is narrower than a reach.

A *chord* is a double normal inside the copper with an empty disc: a local minimum of the width.
Chords that follow each other at one width form a *strip*. From each open end of a strip a walk
along the medial axis tells whether the copper widens, ends or runs on there. Ends that meet join
the strips to a network.

A strip *carries* if each of its ends leads, without coming back through it, to copper wider than
the strip by the slack: a part (any place wider than where the strips that meet there cross), a
wider strip, or a given pad. A bend, a junction or a fillet there is no part, so that letters and
tails carry nothing. What leaves through a gap in a wall too short to widen the strip by the slack
is no end of it.

A rounded end, a disc or a pad has no strip: away from its widest place its copper only narrows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.measure.boundary.minima import components, double_normals, screen
from checker.measure.boundary.segments import Segments
from checker.measure.necks.ends import Ends
from checker.measure.necks.medial import Outcome, walk
from checker.measure.necks.network import Network
from checker.measure.necks.strips import first_of_each, numbered, slack, strips_of, sums

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.minima import Normals

ERROR = 0.002
"""Bound in mm on the error of a width: both walls may be off by the chord tolerance."""

ELONGATED = 1.5
"""Copper that does not carry is narrow only from this many widths of length: else it is a pad."""

_CROWDED = 1e-3  # mm by which boundary may reach into a chord's disc: half a chord error
_EQUAL = 1e-6  # mm: lengths this near to each other are equal


class NeckRows(Struct, frozen=True, eq=False):
    """One row for each run of copper narrower than the reach; columns of length n.

    Attributes:
        island: (n,) index of the island.
        at: (n, 2) middle of the narrowest chord.
        contact: (n, 2) one of its ends, on the boundary.
        width: (n,) its length in mm.
        length: (n,) how far the copper stays about that narrow, mm.
        carries: (n,) True where wider copper lies beyond both ends, see above.
    """

    island: Ints
    at: Floats
    contact: Floats
    width: Floats
    length: Floats
    carries: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.width)


def census_necks(segments: Segments, reach: float, pads: Floats | None = None) -> NeckRows:
    """Find every run of copper narrower than ``reach``.

    Args:
        segments: the boundary of the islands.
        reach: mm; 0 finds none.
        pads: (k, 2) middles of pads and holes. Copper that ends in one of its own width carries
            as far as there; without them it is taken for a loose end.
    """
    if reach <= 0:
        segments = Segments.of(segments.polygons[:0])
    chords = _chords(segments, reach)
    island = segments.island[chords.i]
    strips = strips_of(chords, island)
    narrowest = chords.distance[strips.narrowest]
    width = chords.distance[strips.chord]
    walks = walk(
        segments,
        island[strips.chord],
        strips.start,
        strips.heading,
        width,
        less=np.maximum(width - slack(width), width / 2),
        more=np.minimum(width + slack(width), 2 * width),
    )
    ends = Ends.of(strips, chords, island, walks)

    number = len(strips)
    length = strips.length + sums(ends.strip, ends.run, number)
    goes_on = np.zeros(number, bool)
    goes_on[ends.strip[ends.outcome != Outcome.ENDS]] = True
    # A strip that only narrows to both sides and is not long is a pad or the like.
    pad = ~goes_on & (length < ELONGATED * narrowest - _EQUAL)
    if pads is not None:
        ends = ends.with_pads(strips, chords, island, pads)
    network = Network.of(segments, ends, pad, reach, pads)

    # Strips that only a bend parts are one run; as wide copper lies beyond the one as the other.
    e, f = network.bends()
    met = network.ends
    length += sums(met.strip[e], met.way_round(e, f) / 2 - met.run[e], number)
    run, runs = numbered(components(number, met.strip[e], met.strip[f]))
    length = sums(run, length, runs)
    carries = np.zeros(runs, bool)
    carries[run[network.carries() & ~pad]] = True
    least = np.full(runs, np.inf)
    np.minimum.at(least, run, narrowest)
    is_pad = np.zeros(runs, bool)
    is_pad[run] = pad  # such a strip is a run of its own
    kept = ~is_pad & (carries | (length >= ELONGATED * least - _EQUAL))

    of = run[strips.of]
    wider = chords.distance > least[of] + _EQUAL
    chord = first_of_each(of, np.where(wider, np.inf, -chords.overlap), runs)[kept]
    return NeckRows(
        island=island[chord],
        at=chords.middle[chord],
        contact=chords.a[chord],
        width=chords.distance[chord],
        length=length[kept],
        carries=carries[kept],
    )


def _chords(segments: Segments, reach: float) -> Normals:
    """The double normals through copper with nothing between their contacts."""
    chords = double_normals(segments, reach, inside=True)
    return chords.take(screen(segments, chords, _CROWDED))
