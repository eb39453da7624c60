"""How long a board takes at the machine and by hand, what wears, and what is left to do by hand.

Estimates, for weighing one way of making a board against another: lengths at the feeds of the
profile, and a time of its own for each thing done. Left out are what a machine loses in corners and
where it starts and stops, way in the air beyond what lifts take, tabs, the wider clearance that a
profile asks for round single nets, and soldering the parts, which is the same for all.

What a board takes whatever the process is counted once for it.
"""

from __future__ import annotations

import math
from collections import Counter
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct, field

from checker.board import Unchecked
from checker.measure.holes.joints import joints_of
from checker.measure.holes.uses import Use
from checker.measure.whole.way import way_of, whole_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.board import Board
    from checker.process.bit import Bit
    from checker.process.model import Process

_MM_PER_M = 1000
_MIN_PER_H = 60
_EXACT = 1e-9
_DOWELS = 2
_SNUG = 0.005  # mm; slots and cutters are told to a hundredth


class ToolWork(Struct, frozen=True):
    """What one tool does; None where it does no such thing, or where that is not known.

    Attributes:
        tool: such as "cone 30 deg, tip 0.10 mm", "drill 0.80 mm", "cutter 1.00 mm", "probe".
        metres: how far it cuts.
        hits: how many holes it drills, or points it probes.
        minutes: how long that takes.
        tips: what it wears, in parts of the way that a tip lasts.
    """

    tool: str
    metres: float | None = None
    hits: int | None = None
    minutes: float | None = None
    tips: float | None = None


class Chore(Struct, frozen=True):
    """Something left to do by hand: what, how many of it, and how long all of them take."""

    what: str
    count: int
    minutes: float | None


class Work(Struct, frozen=True):
    """All that a board takes with one process.

    Attributes:
        tools: the isolating bit first, then drills by size, the outline cutter, the probe.
        chores: what is left to do by hand, in the order in which it is done.
        unknown: what could not be estimated and why. What the profile leaves open makes the sum
            None; what the files do not tell is left out of it.
    """

    tools: tuple[ToolWork, ...]
    chores: tuple[Chore, ...]
    unknown: tuple[Unchecked, ...]

    @property
    def machine_minutes(self) -> float | None:
        """How long the machine runs."""
        return _total(tool.minutes for tool in self.tools)

    @property
    def hand_minutes(self) -> float | None:
        """How long hands are busy."""
        return _total(chore.minutes for chore in self.chores)


def work_of(board: Board, process: Process) -> Work:
    """What a board takes with a process."""
    job, profile = _job_of(board), _Profile(process)
    tools = [] if process.method == "perfboard" else list(_tools(board, job, profile))
    chores = [chore for chore in _chores(board, job, profile, tools) if chore.count]
    unknown = dict.fromkeys(profile.unknown)
    return Work(tuple(tools), tuple(chores), tuple(unknown))


def offsets_of(process: Process) -> tuple[float, ...]:
    """Distances (mm) from the copper at which passes isolate, the nearest first.

    As many as clear the width that the process clears round every net, evenly apart, each
    overlapping the one before by no less than the overlap of the process. None without a tool.
    """
    if process.cut is None or process.clears is None:
        return ()
    width, more = process.cut.nominal, process.clears.nominal - process.cut.nominal
    count = 1 + math.ceil(more / (width * (1 - process.feeds.overlap)) - _EXACT)
    step = more / (count - 1) if count > 1 else 0.0
    return tuple(width / 2 + number * step for number in range(count))


def isolation(
    board: Board, process: Process, *, beyond: float = 0.0, below: float = math.inf
) -> ToolWork | None:
    """What the isolating bit does; None for a process without one.

    Args:
        board: as read.
        process: the bit, its feeds and the width it clears.
        beyond: only passes where a disc of this radius (mm) goes in as well.
        below: only passes where a disc of this radius does not go in.
    """
    return _isolation(board, _Profile(process), beyond, below)


def isolation_at_most(board: Board, process: Process) -> float:
    """Metres that the isolating bit cuts if there is room for all its passes, and no more."""
    length, turn = whole_of(board)
    return sum(length + offset * turn for offset in offsets_of(process)) / _MM_PER_M


def _total(minutes: Iterable[float | None]) -> float | None:
    known = list(minutes)
    return None if None in known else sum((one for one in known if one is not None), 0.0)


class _Profile(Struct, frozen=True):
    """A process, and what it was asked in vain."""

    process: Process
    unknown: list[Unchecked] = field(default_factory=list)

    def asked(self, what: str, key: str) -> float | None:
        """The value of a key such as "feeds.cut", for something that hangs on it."""
        group, _, word = key.partition(".")
        value: float | None = getattr(getattr(self.process, group), word)
        if value is None:
            self.unknown.append(Unchecked(what, f"the profile sets no {key}"))
        return value

    def minutes(self, what: str, key: str, count: float = 1.0) -> float | None:
        """Minutes for so many of what takes the time at a key."""
        hours = self.asked(what, key) if count else 0.0
        return None if hours is None else count * hours * _MIN_PER_H

    def chore(self, what: str, key: str, count: int = 1) -> Chore:
        """So many of what takes the time at a key, done by hand."""
        return Chore(what, count, self.minutes(what, key, count))


class _Job(Struct, frozen=True, eq=False):
    """What a board takes whatever the process; lengths in mm.

    Attributes:
        sides: how many outer sides hold copper; ``inner`` how many layers between them.
        rounds: how many round holes there are of each diameter, ascending.
        slots: width and length of the path of each slot.
        boards: how many boards the outline holds; 0 without one.
        edge: length of their edges; ``loops`` outer edges less cut-outs.
        wires: vias and other holes to be joined through the board; ``leads`` leads so.
        holes_unread: why no holes are known, None where they are.
    """

    sides: int
    inner: int
    rounds: dict[float, int]
    slots: tuple[tuple[float, float], ...]
    boards: int
    edge: float
    loops: int
    wires: int
    leads: int
    holes_unread: str | None


@lru_cache(maxsize=1)
def _job_of(board: Board) -> _Job:
    sides = sum(la.side in ("top", "bottom") and len(la.islands) > 0 for la in board.copper)
    joints = joints_of(board)
    leads = int((joints.both & (joints.use == Use.COMPONENT)).sum())
    slots = (hole for hole in board.holes if hole.is_slot)
    boards = shapely.get_parts(board.outline.area) if board.outline is not None else np.array([])
    unread = (one.why for one in board.unchecked if one.what == "holes" and not board.holes)
    sizes = Counter(round(hole.diameter, 3) for hole in board.holes if not hole.is_slot)
    return _Job(
        sides=sides,
        inner=sum(layer.side.startswith("inner") for layer in board.copper),
        rounds=dict(sorted(sizes.items())),
        slots=tuple((one.diameter, float(shapely.LineString(one.path).length)) for one in slots),
        boards=len(boards),
        edge=float(shapely.length(boards).sum()),
        loops=len(boards) - int(shapely.get_num_interior_rings(boards).sum()),
        wires=int(joints.both.sum()) - leads,
        leads=leads,
        holes_unread=next(unread, None),
    )


# --- tools ------------------------------------------------------------------------------------


def _tools(board: Board, job: _Job, profile: _Profile) -> Iterable[ToolWork]:
    process, unknown = profile.process, profile.unknown
    if (bit := _isolation(board, profile, 0.0, math.inf)) is not None:
        yield bit
    if job.inner:
        unknown.append(
            Unchecked("inner layers", f"{job.inner} of them, only the outer sides count")
        )
    if job.holes_unread is not None:
        unknown.append(Unchecked("drilling", job.holes_unread))
    if not job.boards:
        unknown.append(Unchecked("cutting out", f"the board's edge {board.edge_wants}"))
    if process.method != "milling":
        return
    drills, milled = _drills(job, process)
    for size, hits in sorted(drills.items()):
        minutes = profile.minutes("drilling", "feeds.hole", hits)
        yield ToolWork(f"drill {size:.2f} mm", hits=hits, minutes=minutes)
    if (cutter := _outline(job, profile, milled)) is not None:
        yield cutter
    if (spacing := process.machine.probe_spacing) is not None and job.sides:
        grid = [math.ceil(size / spacing - _EXACT) + 1 for size in board.size]
        points = job.sides * math.prod(grid)
        yield ToolWork(
            "probe", hits=points, minutes=profile.minutes("probing", "feeds.probe", points)
        )


def _isolation(board: Board, profile: _Profile, beyond: float, below: float) -> ToolWork | None:
    process, offsets = profile.process, offsets_of(profile.process)
    if process.bit is None or not offsets:
        return None
    way = way_of(board, max(*offsets, beyond, below if below < math.inf else 0.0))
    metres = sum(way.length(one, beyond=beyond, below=below) for one in offsets) / _MM_PER_M
    minutes = _cutting(profile, "time of the isolation", metres, "feeds.cut")
    tips = None
    if process.method == "milling":
        rings = sum(way.rings(one, beyond=beyond, below=below) for one in offsets)
        lifts = profile.minutes("lifts of the bit", "feeds.lift", rings)
        minutes = None if minutes is None or lifts is None else minutes + lifts
        life = profile.asked("wear of the bit", "feeds.life")
        tips = None if life is None else metres / life
    return ToolWork(_called(process.bit), metres=metres, minutes=minutes, tips=tips)


def _called(bit: Bit) -> str:
    size = f"{bit.tip_width.nominal:.2f} mm"
    return f"cone {bit.angle:g} deg, tip {size}" if bit.shape == "cone" else f"{bit.shape} {size}"


def _cutting(profile: _Profile, what: str, metres: float, key: str) -> float | None:
    feed = profile.asked(what, key)
    return None if feed is None else metres * _MM_PER_M / feed


def _drills(job: _Job, process: Process) -> tuple[Counter[float], list[float]]:
    """How many holes each drill makes, and the diameters of those that the cutter goes round in."""
    drills: Counter[float] = Counter()
    milled: list[float] = []
    for size, count in job.rounds.items():
        drill = process.drills.serving(size)
        if drill is None and process.outline.goes_round(size):
            milled += [size] * count
        else:
            drills[drill or size] += count
    return drills, milled


def _outline(job: _Job, profile: _Profile, milled: list[float]) -> ToolWork | None:
    """The outline cutter: round the boards, in their cut-outs, in slots and in wide holes."""
    if not (job.boards or milled or job.slots):
        return None
    what = "time of the outline"
    cutter = profile.asked("cutting out", "outline.cutter")
    if cutter is None:
        return ToolWork("cutter")
    if narrow := sum(width < cutter - _SNUG for width, _ in job.slots):
        why = f"{narrow} narrower than the cutter of {cutter:.2f} mm"
        profile.unknown.append(Unchecked("slots", why))
    # The cutter's middle runs half a diameter off the edge: Steiner's formula, for each loop.
    way = job.edge + math.pi * cutter * job.loops
    way += sum(math.pi * (size - cutter) for size in milled)
    way += sum(_in_slot(length, width - cutter) for width, length in job.slots)
    thickness = profile.asked(what, "stock.thickness")
    deep = profile.asked(what, "outline.pass_depth")
    if thickness is None or deep is None:
        return ToolWork(f"cutter {cutter:.2f} mm")
    metres = way * math.ceil(thickness / deep - _EXACT) / _MM_PER_M
    minutes = _cutting(profile, what, metres, "feeds.outline")
    return ToolWork(f"cutter {cutter:.2f} mm", metres=metres, minutes=minutes)


def _in_slot(length: float, room: float) -> float:
    """Way in a slot: along it in one as wide as the cutter, round in a wider one, else none."""
    if room < -_SNUG:
        return 0.0
    return length if room <= _SNUG else 2 * length + math.pi * room


# --- hands ------------------------------------------------------------------------------------


def _chores(board: Board, job: _Job, profile: _Profile, tools: list[ToolWork]) -> Iterable[Chore]:
    method, turned = profile.process.method, job.sides > 1
    if method == "perfboard":
        yield from _wiring(board, job, profile)
        return
    if method == "etching":
        yield profile.chore("transfer and etching", "hand.etch")
    else:
        yield profile.chore("set-up of the machine", "hand.setup")
    if turned:
        yield profile.chore("lining up of the second side", "hand.flip")
        _look_for_dowels(job, profile)
    if method == "milling":
        yield _changes(profile, tools, turned)
    else:
        holes = sum(job.rounds.values()) + len(job.slots)
        yield profile.chore(f"hole{'s'[: holes > 1]} drilled by hand", "hand.hole", holes)
        yield profile.chore(
            f"outline{'s'[: job.boards > 1]} sawn and filed", "hand.outline", job.boards
        )
    if not turned:
        return
    if job.holes_unread is not None:
        profile.unknown.append(Unchecked("joints between the sides", job.holes_unread))
    joint = f"{profile.process.joints.method}{'s'[: job.wires > 1]} through the board"
    yield profile.chore(joint, "hand.joint", job.wires)
    yield profile.chore(
        f"lead{'s'[: job.leads > 1]} soldered on both sides", "hand.lead", job.leads
    )


def _changes(profile: _Profile, tools: list[ToolWork], turned: bool) -> Chore:
    """A change for every tool after the first; a board that was drilled is isolated once more."""
    cutting = [tool for tool in tools if tool.tool != "probe"]
    drills = any(tool.hits for tool in cutting)
    count = max(0, len(cutting) - 1 + (turned and drills))
    return profile.chore(f"change{'s'[: count > 1]} of tool", "hand.change", count)


def _look_for_dowels(job: _Job, profile: _Profile) -> None:
    """Say where holes to line the second side up by are missing: drilling them is not counted."""
    least = profile.process.machine.dowels
    if least is None or job.holes_unread is not None:
        return
    wide = sum(count for size, count in job.rounds.items() if size >= least - _SNUG)
    if wide < _DOWELS:
        why = f"{wide} holes of {least:.2f} mm or more for dowels, {_DOWELS} are needed"
        profile.unknown.append(Unchecked("holes for dowels", why))


def _wiring(board: Board, job: _Job, profile: _Profile) -> Iterable[Chore]:
    """What makes a perfboard."""
    grid = profile.process.grid
    yield profile.chore("cutting to size", "hand.outline")
    if job.holes_unread is not None:
        profile.unknown.append(Unchecked("wires between leads", job.holes_unread))
        return
    if profile.asked("wires", "grid.pitch") is None or profile.asked("wires", "grid.bend") is None:
        return
    from checker.measure.whole.grid import wires_of

    joins = wires_of(board, grid.pitch, grid.bend)
    bridges, wires = int(joins.bridges.sum()), int(joins.wires.sum())
    yield profile.chore(f"bridge{'s'[: bridges > 1]} between neighbours", "hand.bridge", bridges)
    yield profile.chore(f"wire{'s'[: wires > 1]}", "hand.wire", wires)
