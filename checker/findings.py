"""What rules say and what the engine makes of it. No geometry, no files, no rule names."""

from __future__ import annotations

import enum
import sys
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from msgspec import Struct, field

from checker.methods import CUTTING
from checker.severity import Severity

if TYPE_CHECKING:
    from datetime import date

    from checker.board import Note, Unchecked
    from checker.depth import Window
    from checker.measure import Facts
    from checker.process import Process
    from checker.summary import Summary


class State(enum.Enum):
    """What a finding says of the board: it can't be made so, or only with luck or loss."""

    NOT_MAKEABLE = "not-makeable"
    MARGINAL = "marginal"
    REMARK = "remark"  # leaves the verdict alone


class Verdict(enum.Enum):
    """The answer for a board and a process."""

    MAKEABLE = "makeable"
    MARGINAL = "marginal"
    NOT_MAKEABLE = "not-makeable"
    NOT_CHECKED = "not-checked"  # nothing decides: no copper to cut, or no leads to wire


class Observation(Struct, frozen=True):
    """What a rule saw at one place. The rule says neither its own name nor how bad it is.

    Attributes:
        message: measured first, then limit, then place; sentence case, no full stop.
        remedy: the cheapest change that mends it, with a number.
        cause: key that places with one cause share (shown as one); sentence fragment for people,
            such as "clearance 0.20 mm between traces and the pour".
        state: what it says of the board.
        measured, limit: mm, None where no length decides.
        side: "top", "bottom", "inner N", None for the whole board.
        x, y: place in mm in the coordinates of the files, None for the whole board.
        nets, pins: names of what stands there; pins as "U1.3".
        together: the remedy for all places with the cause, where ``remedy`` names things of this
            place alone.
        redraw: of ``together``, the change of the layout alone, where a setting or a tool is named
            beside it.
        last: told after all else of its state: the maker makes up for it beside the board, without
            a change of what is drawn.
    """

    message: str
    remedy: str
    cause: str
    state: State
    measured: float | None = None
    limit: float | None = None
    side: str | None = None
    x: float | None = None
    y: float | None = None
    nets: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    together: str | None = None
    redraw: str | None = None
    last: bool = False


class Finding(Struct, frozen=True):
    """An observation stamped by the engine with rule, severity and a stable id."""

    id: str
    rule: str
    severity: Severity
    seen: Observation


class Cause(Struct, frozen=True):
    """Findings of one rule with one cause; ``findings`` worst first, never empty."""

    cause: str
    rule: str
    severity: Severity
    state: State
    remedy: str
    findings: tuple[Finding, ...]


class Accepted(Struct, frozen=True):
    """A finding that fails no more: a maker waived it, or a baseline knows it.

    Attributes:
        finding: as it was found.
        waived: True for a waiver, a maker's word that the place will do; False for a baseline, by
            which it is only no news.
        why: the waiver's reason; of a baseline, how it was recorded.
        where: "file:line" of the waiver, the file of the baseline.
        until: the last day of the waiver; None for ever.
    """

    finding: Finding
    waived: bool
    why: str
    where: str
    until: date | None = None


class Report(Struct, frozen=True, eq=False):
    """The answer for one board and one process.

    Attributes:
        findings: those that count, in order; ``causes`` are made of them alone.
        joined: per side, groups of net labels that stay joined at the nominal width, through
            third islands too: (side, labels).
        window: the depths that would do; None where the process sets none.
        asked: every rule that was asked, by name, with what it could not check.
        accepted: findings that fail no more, in the same order.
        stale: what in waivers or baseline has no use any more.
        relief: of the gaps that the nominal cut does not open, how many taking off spare copper
            may open, and how many there are; None where nobody asked.
        drawer: the maker's bits that open the tightest gap at their worst, where this one does not.
        known: ids of the findings that the baseline knows, with whether they are worse than it
            knows them; None where no baseline is in force.
    """

    board: Summary
    process: Process
    verdict: Verdict
    findings: tuple[Finding, ...]
    causes: tuple[Cause, ...]
    unchecked: tuple[Unchecked, ...]
    joined: tuple[tuple[str, tuple[str, ...]], ...] = ()
    counts: Mapping[str, int] = field(default_factory=dict)
    window: Window | None = None
    asked: Mapping[str, tuple[Unchecked, ...]] = field(default_factory=dict)
    accepted: tuple[Accepted, ...] = ()
    stale: tuple[Note, ...] = ()
    known: Mapping[str, bool] | None = None
    drawer: tuple[str, ...] = ()
    relief: tuple[int, int] | None = None


CheckFunction = Callable[["Facts", "Process"], Iterable["Observation | Unchecked"]]
TallyFunction = Callable[["Facts", "Process"], Iterable["tuple[Observation, int] | Unchecked"]]


class Rule(Struct, frozen=True):
    """A named check together with its page.

    Attributes:
        methods: the ways of making a board that it speaks of; with others it is not asked.
        tally: says for each cause what ``check`` says of its worst place (see
            `checker.causes.group`), and of how many places. Only for rules with thousands of
            places, that know their causes before they describe a place; else None.
        of_gaps: it judges the fates of gaps (see `checker.isolation`) alone, and what it finds in
            some of a board's gaps holds however many more there are.
        asks: what it looks at that is dear to measure, and others look at too: the censuses, "gaps"
            or "necks", the "leftover" copper, what holes meet, "drilling". It tells which rules had
            best be asked by one process (see `checker.hands`), nothing else.
        remarks: all that it finds are remarks: it decides no verdict.
    """

    name: str
    summary: str
    severity: Severity
    page: str
    check: CheckFunction
    methods: tuple[str, ...] = CUTTING
    tally: TallyFunction | None = None
    of_gaps: bool = False
    asks: tuple[str, ...] = ()
    remarks: bool = False


def rule(
    *,
    severity: Severity = Severity.ERROR,
    methods: tuple[str, ...] = CUTTING,
    tally: TallyFunction | None = None,
    of_gaps: bool = False,
    asks: tuple[str, ...] = (),
    remarks: bool = False,
) -> Callable[[CheckFunction], Rule]:
    """Turn a check function into a `Rule`; name and page come from its module."""

    def wrap(function: CheckFunction) -> Rule:
        page = (sys.modules[function.__module__].__doc__ or "").strip()
        name = function.__module__.rpartition(".")[2].replace("_", "-")
        summary = page.partition("\n")[0]
        return Rule(name, summary, severity, page, function, methods, tally, of_gaps, asks, remarks)

    return wrap
