"""What a process can make before anything is drawn, asked of the rules themselves.

No length here follows from a formula of its own: each comes from checks of small boards that are
drawn for it, so what is told agrees with what `checker.engine.check` will say of a layout.
"""

from __future__ import annotations

import math
from functools import partial
from operator import attrgetter
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.findings import State
from checker.limits import specimens
from checker.limits.asked import LUCK, SURE, Answer, Question, answers
from checker.limits.published import published
from checker.limits.sheet import alone, judged, verdict, worrying
from checker.registry import load_rules

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from checker.findings import Rule, Verdict
    from checker.limits.published import Land, Lead, Pins
    from checker.limits.sheet import Findings, Specimen
    from checker.process.model import Process

_ROOMY = (60.0, 40.0)  # mm, the board on which nothing is asked
_SMALLEST = 10  # mm, the smallest board that is asked for
_HOLES = tuple(round(0.1 * step, 1) for step in range(1, 31))  # where a profile sets no drills
_HOLE = 1.0  # a bare hole where it sets none
_ROOM = 8.0  # copper round a hole beyond any ring a profile may set
_MOST_TRACES = 8  # between two pins
_GUESSES = 4  # before the bracket is halved
_WIRE = ("joints.wire",)
_VIA_KEYS = *_WIRE, "drills.sizes", "machine.dowels"
_BOARD_KEYS = "machine.travel", "outline.cutter"


class Via(Struct, frozen=True):
    """The smallest via that is joined by hand.

    Attributes:
        hole: diameter in mm.
        with_luck: that hole passes only with luck.
        pad: its least pad.
    """

    hole: float
    with_luck: bool
    pad: Answer


class Between(Struct, frozen=True):
    """How many traces fit between two pads of a row; None where even the pads themselves fail.

    Attributes:
        sure: at the least width and clearance that pass with margin; ``luck`` at those with luck.
    """

    pins: Pins
    sure: int | None
    luck: int | None


class Judged(Struct, frozen=True):
    """A land pattern with what check says of it: its verdict, and what it finds at its pads."""

    land: Land
    verdict: Verdict
    found: Findings

    @property
    def wanted(self) -> float | None:
        """The length in mm that the gravest of it wants; None where no length decides."""
        limits = [one.seen.limit for one in self._gravest if one.seen.limit is not None]
        return max(limits, default=None)

    @property
    def decided_by(self) -> list[str]:
        """The rules whose findings are the gravest."""
        return sorted({one.rule for one in self._gravest})

    @property
    def _gravest(self) -> Findings:
        dead = tuple(one for one in self.found if one.seen.state is State.NOT_MAKEABLE)
        return dead or self.found


class Limits(Struct, frozen=True):
    """What a process can make.

    Attributes:
        process: of which it was asked.
        always: what is found even on a board that asks nothing.
        both_sides: what is found besides on such a board with copper on both sides.
        lengths: widths and clearances.
        via: None where no via passes; ``both_sides`` or ``no_via`` say why.
        no_via: what is found at the widest hole that was tried.
        leads: least pads for leads.
        between: traces between pins.
        lands: published land patterns.
        largest: width and height in whole mm of the largest board; None where nothing limits it,
            zeros where even a small one is too large.
    """

    process: Process
    always: Findings
    both_sides: Findings
    lengths: tuple[Answer, ...]
    via: Via | None
    no_via: Findings
    leads: tuple[tuple[Lead, Answer], ...]
    between: tuple[Between, ...]
    lands: tuple[Judged, ...]
    largest: tuple[int, int] | None

    @property
    def unset(self) -> tuple[str, ...]:
        """The keys that the profile does not set and that would limit what was asked."""
        if not self.lengths:
            return ()
        asked = [*self.lengths, *(pad for _, pad in self.leads)]
        keys = dict.fromkeys(key for answer in asked for key in answer.question.keys)
        return unset(self.process, (*keys, *_VIA_KEYS, *_BOARD_KEYS))


def limits_of(process: Process, rules: Mapping[str, Rule] | None = None) -> Limits:
    """Ask what a process can make.

    Args:
        process: as loaded from a profile.
        rules: by name; the built-in ones where None.

    Raises:
        ProfileError: the published tables are missing, or the profile names a rule that is none.
        RulePackageError: the built-in rules cannot be loaded.
    """
    rules = load_rules() if rules is None else rules
    asking = Asking(process, rules)
    if process.cut is None:
        return Limits(process, (), (), (), None, (), (), (), asking.lands(()), asking.largest())
    return asking.limits()


def lands_of(process: Process, rules: Mapping[str, Rule] | None = None) -> tuple[Judged, ...]:
    """Only the published land patterns; arguments and errors as of `limits_of`."""
    asking = Asking(process, load_rules() if rules is None else rules)
    return asking.lands(asking.always())


def unset(process: Process, keys: Iterable[str]) -> tuple[str, ...]:
    """Which of a profile's keys it does not set."""
    return tuple(key for key in keys if attrgetter(key)(process) is None)


class Asking:
    """One process being asked, part by part; arguments and errors as of `limits_of`."""

    def __init__(self, process: Process, rules: Mapping[str, Rule]) -> None:
        self.whole, self.rules = process, rules
        # Sheets of specimens must not fail by their size, nor be measured for how long they take.
        self.process = replace(
            process,
            machine=replace(process.machine, travel=None),
            stock=replace(process.stock, size=None),
            feeds=replace(process.feeds, life=None, evening=None),
        )

    def limits(self) -> Limits:
        """All of it."""
        process, rules, tables = self.process, self.rules, published()
        always = self.always()
        lengths = self.questions()
        leads = [_pad(lead.name, specimens.lead_of, lead.hole) for lead in tables.leads]
        asked = answers([*lengths, *leads], process, rules)
        found = asked[: len(lengths)]
        both_sides, via, no_via = self.via(always)
        return Limits(
            self.whole,
            always,
            both_sides,
            tuple(found),
            via,
            no_via,
            tuple(zip(tables.leads, asked[len(lengths) :], strict=True)),
            self.between(*found[:2]),
            self.lands(always),
            self.largest(),
        )

    def questions(self) -> list[Question]:
        """Trace width and clearance of traces come first; `between` counts on it."""
        fits = [size for size in self.process.drills.sizes or () if size <= _HOLE]
        drill = max(fits, default=min(self.process.drills.sizes or (_HOLE,)))
        solder = ("pad_clearance",)
        return [
            Question("Trace width", specimens.trace_of, keys=("minimum_trace",)),
            Question("Clearance between traces", specimens.traces_apart, only=False),
            Question("Clearance of pads to solder", specimens.pads_apart, 0.0, solder, False),
            Question("Clearance of a pour round pads", specimens.pour_apart, 0.0, solder, False),
            Question(
                "Pitch of pads half a pitch wide", specimens.pads_at_pitch, 0.0, solder, False
            ),
            Question(
                "Copper to the edge", specimens.copper_to_edge, keys=("outline.edge_clearance",)
            ),
            Question(
                "Hole to the edge",
                partial(specimens.hole_to_edge, drill),
                keys=("outline.hole_clearance",),
            ),
            Question("Hole to hole", partial(specimens.holes_apart, drill), keys=("web",)),
        ]

    def via(self, always: Findings) -> tuple[Findings, Via | None, Findings]:
        """What two sides ask for besides, the smallest via, and what is found where none passes."""
        process, rules, sides = self.process, self.rules, ("top", "bottom")
        least = process.machine.dowels or 0.0
        dowel = min((s for s in process.drills.sizes or () if s >= least), default=least or _HOLE)
        known = {(one.rule, one.seen.cause) for one in always}
        both = tuple(
            one
            for one in worrying(
                alone(specimens.both_sides(dowel), self.process, rules, sides=sides)
            )
            if (one.rule, one.seen.cause) not in known
        )
        if any(one.seen.state is State.NOT_MAKEABLE for one in both):
            return both, None, ()
        if unset(process, _WIRE):
            return both, None, ()
        holes = process.drills.sizes or _HOLES
        drawn = [specimens.via_of(hole, hole + 2 * _ROOM) for hole in holes]
        found = judged(drawn, process, rules, sides)
        for states in (SURE, LUCK):
            for hole, one in zip(holes, found, strict=True):
                if not any(finding.seen.state in states for finding in one):
                    question = _pad("Via", specimens.via_of, hole)
                    (pad,) = answers([question], process, rules, sides)
                    return both, Via(hole, states is LUCK, pad), ()
        return both, None, found[-1]

    def between(self, width: Answer, clearance: Answer) -> tuple[Between, ...]:
        """Traces between pins: none, one, two ... until they don't fit or don't pass."""
        every = published().pins
        pairs = [
            (None if wide is None else wide.mm, None if apart is None else apart.mm)
            for wide, apart in ((width.sure, clearance.sure), (width.luck, clearance.luck))
        ]
        drawn = {
            (row, luck, count): specimen
            for row, pins in enumerate(every)
            for luck, (wide, apart) in enumerate(pairs)
            if wide is not None and apart is not None
            for count in range(_MOST_TRACES + 1)
            if (specimen := specimens.between_pins(pins, count, wide, apart)) is not None
        }
        found = dict(
            zip(drawn, judged(list(drawn.values()), self.process, self.rules), strict=True)
        )

        def passing(row: int, luck: int) -> int | None:
            states = (SURE, LUCK)[luck]
            count = 0
            while (seen := found.get((row, luck, count))) is not None and not any(
                one.seen.state in states for one in seen
            ):
                count += 1
            return count - 1 if count else None

        return tuple(
            Between(pins, passing(row, 0), passing(row, 1)) for row, pins in enumerate(every)
        )

    def always(self) -> Findings:
        """What is found on a board that asks nothing."""
        return worrying(alone(specimens.roomy, self.process, self.rules, _ROOMY))

    def lands(self, always: Findings) -> tuple[Judged, ...]:
        """The published land patterns."""
        process, rules, lands = self.process, self.rules, published().lands
        drawn = [specimens.land_of(land) for land in lands]
        if process.cut is None:  # a grid has one origin on a board, and a sheet many specimens
            lone = map(specimens.with_lead, drawn)
            reports = [alone(draw, self.process, rules) for draw in lone]
            judgements = [(report.verdict, worrying(report)) for report in reports]
        else:
            found = judged(drawn, process, rules)
            judgements = [(verdict((*always, *one)), one) for one in found]
        return tuple(Judged(land, *one) for land, one in zip(lands, judgements, strict=True))

    def largest(self) -> tuple[int, int] | None:
        """The largest square, then how long a board of that width may be."""
        process = replace(self.process, machine=self.whole.machine, stock=self.whole.stock)
        rooms = [process.machine.travel, process.stock.size]
        known = [int(max(room)) for room in rooms if room is not None]
        if not known:
            return None
        most = max(*known, _SMALLEST) + 1
        smallest = self._blank(self.process, (_SMALLEST, _SMALLEST))
        anyhow = {(one.rule, one.seen.cause) for one in smallest}

        def lacks(width: int, height: int) -> int | None:
            """Whole mm that the machine or the blank lacks, None where it lacks nothing."""
            found = [
                one
                for one in self._blank(process, (width, height))
                if (one.rule, one.seen.cause) not in anyhow
            ]
            over = [(one.seen.measured or 0.0) - (one.seen.limit or 0.0) for one in found]
            return max(1, math.ceil(max(over))) if found else None

        if lacks(most, most) is None:
            return None
        if lacks(_SMALLEST, _SMALLEST) is not None:
            return 0, 0
        side = _last(lambda size: lacks(size, size), _SMALLEST, most)
        return _last(lambda size: lacks(size, side), side, most), side

    def _blank(self, process: Process, size: tuple[int, int]) -> Findings:
        board = float(size[0]), float(size[1])
        return worrying(alone(specimens.blank, process, self.rules, board))


def _pad(name: str, draw: Callable[[float, float], Specimen], hole: float) -> Question:
    """The least pad round a hole; with luck a hole holds in hardly any."""
    return Question(name, partial(draw, hole), hole, ("ring",), with_luck=False)


def _last(lacks: Callable[[int], int | None], low: int, high: int) -> int:
    """The last whole number that lacks nothing, where ``low`` does not.

    What a number lacks says where to look next; it need not be right.
    """
    missing, tries = lacks(high), 0
    if missing is None:
        return high
    guess = high - missing
    while high - low > 1:
        guess = min(max(guess, low + 1), high - 1) if tries < _GUESSES else (low + high) // 2
        missing, tries = lacks(guess), tries + 1
        if missing is None:
            low, guess = guess, guess + 1
        else:
            high, guess = guess, guess - missing
    return low
