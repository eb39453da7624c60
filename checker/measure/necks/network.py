"""How strips of copper join at their ends: bends, junctions, steps in width, pads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.measure.boundary.minima import components
from checker.measure.necks.beyond import most_beyond
from checker.measure.necks.medial import Outcome
from checker.measure.necks.meeting import CROSSING, WIDE, Meeting, alike
from checker.measure.necks.strips import slack
from checker.measure.plane import dot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure.boundary.segments import Segments
    from checker.measure.necks.ends import Ends

_TOUCHES = 0.01  # widths: boundary this near to a disc touches it


class Network(Struct, frozen=True, eq=False):
    """Which ends meet.

    Attributes:
        ends: the ends.
        pad: (strips,) True where a strip is a pad or the like: no neck, but it joins others.
        part: (ends,) True where the copper beyond is a part of its own, as a pad is, and not just
            where strips meet.
        beyond: (ends,) width of the largest disc there, mm; inf where it is out of reach.
        node: (ends,) the least of the ends that meet there.
        e, f: (pairs,) ends of different strips that meet, each pair in both orders.
    """

    ends: Ends
    pad: NDArray[np.bool_]
    part: NDArray[np.bool_]
    beyond: Floats
    node: Ints
    e: Ints
    f: Ints

    @classmethod
    def of(
        cls,
        segments: Segments,
        ends: Ends,
        pad: NDArray[np.bool_],
        reach: float,
        pads: Floats | None,
    ) -> Network:
        """Find the ends that meet.

        Args:
            segments: the boundary.
            ends: the ends of all strips.
            pad: (strips,) which of them are pads or the like.
            reach: of the census, mm.
            pads: (k, 2) middles of pads and holes, if known.
        """
        meeting = Meeting.of(segments, ends, pad)
        node = components(len(ends.strip), *meeting.pairs)
        e, f = _all_pairs(node, ends.strip)
        widens = ends.outcome == Outcome.WIDENS
        part = widens.copy()
        strips = ~pad[ends.strip[f]]
        met = np.unique(e[strips & widens[e] & np.isfinite(meeting.beyond[e])])
        part[met] = ~_explained(segments, ends, meeting, met, e[strips], f[strips], reach)
        if pads is not None:
            row = shapely.STRtree(shapely.points(pads)).query(
                shapely.points(meeting.summit[met]), "dwithin", distance=meeting.beyond[met] / 2
            )[0]
            part[met[row]] = True
        # An end that widens into a strip which only narrows from there widens no further.
        into = (ends.outcome[f] == Outcome.ENDS) & (ends.width[f] >= ends.width[e])
        part[e[into]] = False
        part[meeting.passing] = False
        return cls(ends, pad, part, meeting.beyond, node, e, f)

    def carries(self) -> NDArray[np.bool_]:
        """(strips,) whether wider copper can be reached from both ends of each strip.

        That is a part or a wider strip, found beyond an end without passing the strip itself.
        """
        ends, number = self.ends, len(self.pad)
        met = np.zeros(len(ends.strip), bool)
        met[self.e] = True
        part = np.where(self.part, self.beyond, 0)
        most = np.zeros(number + len(met))
        most[ends.strip] = ends.width
        np.maximum.at(most, np.where(met, number + self.node, ends.strip), part)
        wider = self.part.copy()
        found = most_beyond(ends.strip[met], number + self.node[met], most)
        wider[met] |= found > (ends.width + slack(ends.width))[met]
        runs_on = (ends.outcome == Outcome.RUNS_ON) & ~wider
        runs_on[self.e] = False
        reaching = np.bincount(ends.strip[wider], minlength=number)
        open_ended = np.bincount(ends.strip[runs_on], minlength=number)
        carries: NDArray[np.bool_] = (reaching > 0) & (reaching + open_ended > 1)
        return carries

    def bends(self) -> tuple[Ints, Ints]:
        """Pairs of ends of one width that meet each other, nothing else, and no pad."""
        ends, e, f = self.ends, self.e, self.f
        partners = np.bincount(e, minlength=len(ends.strip))
        bend = (
            (partners[e] == 1)
            & (partners[f] == 1)
            & (ends.outcome[e] != Outcome.ENDS)
            & (ends.outcome[f] != Outcome.ENDS)
            & ~(self.part[e] | self.part[f] | self.pad[ends.strip[e]] | self.pad[ends.strip[f]])
            & alike(ends, e, f)
        )
        return e[bend], f[bend]


def _all_pairs(node: Ints, strip: Ints) -> tuple[Ints, Ints]:
    """Ordered pairs of ends at one node that belong to different strips."""
    order = np.argsort(node, kind="stable")
    first = np.searchsorted(node[order], node)
    count = np.searchsorted(node[order], node, "right") - first
    e = np.repeat(np.arange(len(node)), count)
    f = order[np.arange(len(e)) + np.repeat(first - np.cumsum(count) + count, count)]
    other = strip[e] != strip[f]
    return e[other], f[other]


def _explained(
    segments: Segments,
    ends: Ends,
    meeting: Meeting,
    met: Ints,
    e: Ints,
    f: Ints,
    reach: float,
) -> NDArray[np.bool_]:
    """(met,) whether the copper beyond an end is just where the strips that meet there cross.

    The largest disc there then touches only their walls, which run at half a strip's width beside
    its centre line, on to abreast of the disc's middle; what leaves between two such contacts is
    a strip, or a corner too narrow to lead anywhere; and the disc is less than `WIDE`.
    """
    summit, beyond = meeting.summit, meeting.beyond
    radius = (1 / 2 + _TOUCHES) * beyond[met]
    contact, row = segments.tree.query(shapely.points(summit[met]), "dwithin", distance=radius)
    own = segments.island[row] == ends.island[met[contact]]
    contact, row = contact[own], row[own]
    direction = segments.direction[row]
    along = dot(summit[met[contact]] - segments.a[row], direction)
    touch = segments.a[row] + np.clip(along, 0, segments.length[row])[:, None] * direction
    angle = _angle(touch - summit[met[contact]])
    order = np.lexsort((angle, contact))
    contact, touch, angle = contact[order], touch[order], angle[order]
    new = np.r_[True, contact[1:] != contact[:-1]][: len(contact)]
    following = np.roll(angle, -1)
    following[np.roll(new, -1)] = angle[new] + 2 * np.pi
    gap = following - angle
    between = beyond[met[contact]] * np.sin(np.minimum(gap, np.pi) / 2)

    # each contact with each strip that meets there, its own among them
    order = np.argsort(np.r_[met, e], kind="stable")
    of, strip = np.r_[met, e][order], np.r_[met, f][order]
    low = np.searchsorted(of, met[contact])
    count = np.searchsorted(of, met[contact], "right") - low
    which = np.repeat(np.arange(len(contact)), count)
    end = strip[np.arange(len(which)) + np.repeat(low - np.cumsum(count) + count, count)]
    start, heading, width = ends.start[end], ends.heading[end], ends.width[end]
    abreast = np.maximum(dot(summit[met[contact[which]]] - start, heading), 0)
    ahead = np.clip(dot(touch[which] - start, heading), 0, abreast)
    off = np.hypot(*(touch[which] - start - ahead[:, None] * heading).T)
    on_wall = off <= width / 2 + slack(width)
    in_arc = (_angle(-heading) - angle[which]) % (2 * np.pi) < gap[which]
    small = beyond[met[contact[which]]] < WIDE * width

    fine = np.bincount(which[on_wall], minlength=len(contact)) > 0
    fine |= (beyond[met] < CROSSING * ends.width[met])[contact]
    fine &= (between < reach) | (np.bincount(which[in_arc], minlength=len(contact)) > 0)
    fine[which[~small]] = False
    explained = np.ones(len(met), bool)
    explained[contact[~fine]] = False
    return explained


def _angle(vector: Floats) -> Floats:
    angle: Floats = np.arctan2(vector[:, 1], vector[:, 0])
    return angle
