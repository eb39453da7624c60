"""What the rules on holes against copper share: how far a hole may lie off, and what is left then.

Errors are added at their worst. On the side that is cut first the holes lie off by registration,
drill wander and half the backlash; on the other one the flip and what a skew frame adds come on
top. The side cut first is the one whose rings would suffer more if it were the second.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.exact import tie
from checker.measure.holes.centring import centring
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.joints import joints_of
from checker.measure.holes.pads import SIDES
from checker.measure.holes.uses import Use
from checker.measure.holes.webs import extent_of
from checker.plural import listed
from checker.remedy import STEP, up
from rules._holes import EXACT, drill_for, rounds, two_sided

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints
    from checker.process.model import Process

    Bools = NDArray[np.bool_]

_MEANT = 0.05  # mm; a hole this near to its pad's middle is meant to be there
_SPARE = 0.1  # mm; a lead still enters a hole so much narrower (IPC-2222, from memory: 0.15)
_SCREWS = 2.0, 6.5  # mm, holes for M2 to M6 (ISO 273, from memory)
OFF = ", off the middle of their pads"
ROUND: dict[int, str] = {Use.VIA: "vias", Use.COMPONENT: "leads", Use.UNKNOWN: "joints"}


class Rings(Struct, frozen=True, eq=False):
    """Rings of holes that are soldered, where copper leaves their pad; columns of length n.

    Attributes:
        hole: (n,) index into the board's holes; ``column`` (n,) into `SIDES`.
        use: (n,) values of `Use`.
        drill: (n,) what is drilled, mm: the drill at hand, or the hole as drawn.
        ring: (n,) nominal ring round that; ``left`` (n,) with every error at its worst.
        far: (n,) whether this is the side cut second.
        bounded: (n,) whether the ring is that of a pad, not of copper that holds the hole without.
        tight: (n,) whether it is a via's that its wire does not enter: hole and pad both grow.
    """

    hole: Ints
    column: Ints
    use: Ints
    drill: Floats
    ring: Floats
    left: Floats
    far: Bools
    bounded: Bools
    tight: Bools

    def side(self, row: int) -> str:
        """The side of a ring."""
        return SIDES[int(self.column[row])]


def rings(board: Board, process: Process) -> Rings:
    """The rings of a board as a process leaves them."""
    drilling, joints = drilling_of(board), joints_of(board)
    row, column = np.nonzero(joints.joined & (drilling.island[joints.hole] >= 0))
    hole = joints.hole[row]
    drawn, drill = (sizes[hole] for sizes in _sizes(board, process))
    ring = drilling.ring[hole, column] - (drill - drawn) / 2
    off = errors(board, process)[hole]
    far = far_side(board, process)
    there = column == (-1 if far is None else far)
    left = ring - off[np.arange(len(hole)), there.astype(int)]
    pad = drilling.half[hole, column] - drill / 2
    bounded = pad >= ring - tie(board)  # nan without a pad
    use = joints.use[row].astype(np.int64)
    wants = (process.joints.wire or 0.0) + process.joints.play
    tight = (use == Use.VIA) & (drill < wants - tie(board)) & two_sided(board)
    return Rings(hole, column, use, drill, ring, left, there, bounded, tight)


def far_side(board: Board, process: Process) -> int | None:
    """The side cut second, as a column of `SIDES`; None where only one is cut."""
    if not two_sided(board):
        return None
    drilling, joints = drilling_of(board), joints_of(board)
    ring = np.where(joints.joined, drilling.ring[joints.hole], np.inf)
    lacking = (process.ring or 0.0) - (ring - errors(board, process)[joints.hole, 1:])
    lacking = np.maximum(np.where(np.isfinite(lacking), lacking, 0.0), 0.0)
    suffers = [
        (int((one > tie(board)).sum()), round(float(one.sum()), 3), int(joined.sum()))
        for one, joined in zip(lacking.T, joints.joined.T, strict=True)
    ]
    return int(suffers[1] < suffers[0])


def errors(board: Board, process: Process) -> Floats:
    """(holes, 2) how far each hole may lie off the copper of the first and of the second side."""
    machine = process.machine
    near = machine.registration + process.drills.wander + machine.backlash / 2
    low, high = extent_of(board)
    lean = 2 * math.tan(math.radians(machine.skew))  # a skew frame counts twice when turned over
    away = np.abs(drilling_of(board).at - (low + high) / 2).max(axis=1, initial=0.0)
    return np.column_stack([np.full(len(away), near), near + machine.flip + lean * away])


@lru_cache(maxsize=1)
def take_screws(board: Board) -> Bools:
    """(holes,) which may take a screw: round, of such a size, bare, and not under a part."""
    drilling, able = drilling_of(board), np.zeros(len(board.holes), bool)
    for index, hole in rounds(board):
        fits = _SCREWS[0] - EXACT <= hole.diameter <= _SCREWS[1] + EXACT
        able[index] = fits and hole.plated is not True and drilling.net[index] < 0
    return able & ~drilling.covered


def counted(process: Process, far: bool) -> str:
    """The errors in words: "registration, drill wander and flip are counted"."""
    machine = process.machine
    named = {
        "registration": machine.registration,
        "drill wander": process.drills.wander,
        "backlash": machine.backlash,
        "flip": machine.flip * far,
        "skew": machine.skew * far,
    }
    words = [name for name, value in named.items() if value] or ["no error"]
    return f"{listed(words)} {'is' if len(words) == 1 else 'are'} counted"


class Centring(Struct, frozen=True, eq=False):
    """What moving pads towards the middle of their holes would win; columns of length n.

    Attributes:
        away: (n,) mm from the middle of the hole to that of the pad.
        shift: (n,) mm of it after which the ring that is wanted is left, or all of it.
        more: (n,) mm by which the pad has to be wider as well, 0 where it need not.
        off: (n,) whether that is a smaller change than a wider pad where it is.
        drill: (n,) what is drilled, mm.
        wider: (n,) mm by which the pad has to be wider where it is; nan where that is no remedy.
    """

    away: Floats
    shift: Floats
    more: Floats
    off: Bools
    drill: Floats
    wider: Floats

    def one(self, row: int) -> str:
        """The remedy of one place; empty where its pad is not off."""
        if not self.off[row]:
            return ""
        away, shift, wide = (
            up(float(column[row])) for column in (self.away, self.shift, self.more)
        )
        if shift < away:
            return f"Move the pad {shift:.2f} mm towards the middle of its hole, {away:.2f} mm away"
        wider = f", and make it {wide:.2f} mm wider" * (wide > 0)
        return f"Centre the pad on its hole, {away:.2f} mm away{wider}"

    def all(self, rows: Ints) -> str | None:
        """The remedy that mends several places, None where that of the worst does.

        Holes of several sizes have no smaller one in common.
        """
        if not self.off[rows].all():
            several = np.ptp(self.drill[rows]) > EXACT and bool(np.isfinite(self.wider[rows]).all())
            most = up(float(self.wider[rows].max())) if several else 0.0
            return f"Make the pads up to {most:.2f} mm wider" if several else None
        shift, wide = (up(float(column[rows].max())) for column in (self.shift, self.more))
        wider = f", and make them {wide:.2f} mm wider" * (wide > 0)
        return f"Move the pads up to {shift:.2f} mm towards the middles of their holes{wider}"


def centred(board: Board, found: Rings, rows: Ints, wanted: float) -> Centring:
    """What moving the pads of some rings would win, of which ``wanted`` mm are to be left."""
    away, gain = centring(board, found.hole[rows], found.column[rows])
    lacks = np.maximum(wanted - found.left[rows], 0.0)
    # On the way to the middle a ring grows evenly, or faster at first.
    share = np.divide(lacks, gain, out=np.ones(len(rows)), where=gain > lacks)
    more = np.maximum(2 * (lacks - gain), 0.0)
    off = found.bounded[rows] & (away > _MEANT) & (away < 2 * gain) & (lacks > 0)
    off &= ~found.tight[rows]
    plain = np.where(found.bounded[rows] & ~found.tight[rows], 2 * lacks, np.nan)
    return Centring(away, away * share, more, off, found.drill[rows], plain)


def wider(board: Board, process: Process, found: Rings, row: int, wanted: float) -> str:
    """What leaves a ring of ``wanted`` mm: a wider pad, or a smaller hole while a wire goes in.

    What is not known to be a via may take a lead, which a layout's hole is a little wider than.
    """
    if found.tight[row]:
        return wired(board, process)
    drill = float(found.drill[row])
    if not found.bounded[row]:
        width = drill + 2 * (wanted + float(found.ring[row] - found.left[row]))
        return f"Draw a pad {up(width):.2f} mm wide round it"
    more = max(STEP, up(2 * (wanted - float(found.left[row]))))
    thinnest = (process.joints.wire or drill / 2) + process.joints.play
    if found.use[row] != Use.VIA:
        thinnest = max(thinnest, drill - _SPARE)
    smaller, hole = f"the hole {more:.2f} mm smaller", drill - more
    if process.drills.sizes:  # between two drills at hand the wider one would be taken
        hole = max((one for one in process.drills.sizes if one <= hole + EXACT), default=0.0)
        smaller = f"the hole {hole:.2f} mm"
    return f"Make the pad {more:.2f} mm wider" + f", or {smaller}" * (hole >= thinnest - EXACT)


def wired(board: Board, process: Process) -> str:
    """A via's hole for its wire, a drill at hand where there is one, and a pad that holds it."""
    limit = (process.joints.wire or 0.0) + process.joints.play
    hole = min((one for one in process.drills.sizes or () if one >= limit - EXACT), default=limit)
    machine = process.machine
    off = machine.registration + process.drills.wander + machine.backlash / 2 + machine.flip
    off += math.tan(math.radians(machine.skew)) * max(board.size)  # twice, over half the board
    pad = hole + 2 * ((process.ring or 0.0) + off)
    return f"Make the hole {up(hole):.2f} mm and its pad {up(pad):.2f} mm wide"


def _sizes(board: Board, process: Process) -> tuple[Floats, Floats]:
    """(holes,) how wide each is drawn, and how wide it will be."""
    drawn = np.array([hole.diameter for hole in board.holes], dtype=float)
    sizes, size = np.unique(drawn, return_inverse=True)
    served = np.array([drill_for(process, one) or one for one in sizes.tolist()], dtype=float)
    round_ = np.array([index for index, _ in rounds(board)], dtype=np.int64)
    drilled = drawn.copy()
    drilled[round_] = served[size[round_]]
    return drawn, drilled
