"""The settings that a page's slider goes through, each judged as ``check`` would judge it."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from checker.comparison.left import left_of, off_an_edge
from checker.engine import reach_for
from checker.exact import tie
from checker.findings import Report
from checker.once import Once
from checker.process.vary import at_depth, at_width
from checker.registry import load_rules
from checker.remedy import STEP, down
from checker.report.json import number
from checker.tallying import Count, tallied, tally_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.measure import Facts
    from checker.process.model import Process
    from checker.tallying import Tallied

_DEEPER = 0.15  # mm beyond the depth of the profile
_WIDER, _NARROWER = 1.5, 0.5  # of the profile's width, where the width is set
_TWICE = 2.0  # no depth at which the cut is wider than this times the profile's
_MOST = 24  # settings, the profile's own aside
_MOST_GAPS = 5000
_STEPS = (STEP, 0.02, 0.05, 0.1, 0.2, 0.5)
_EXACT = 1e-9


class Scale(Struct, frozen=True):
    """Settings of one process, ascending.

    Attributes:
        what: "depth" or "width", in mm.
        values: each setting in mm.
        processes: the process so set.
        own: index of the profile's own setting.
    """

    what: str
    values: tuple[float, ...]
    processes: tuple[Process, ...]
    own: int


def scale_of(process: Process) -> Scale | None:
    """The settings to look at; None for a process that isolates nothing."""
    if process.cut is None:
        return None
    bit = process.bit
    if bit is not None and bit.shape in ("cone", "ball"):
        own = bit.depth.nominal
        deepest = min(
            own + _DEEPER, process.depth_for_width(_TWICE * process.cut.nominal) or math.inf
        )
        values = _steps(max(STEP, down(process.foil.nominal)), deepest)
        return _scale("depth", process, own, {value: at_depth(process, value) for value in values})
    own = process.cut.nominal
    values = _steps(_NARROWER * own, _WIDER * own)
    others = {value: at_width(process, value) for value in values}
    return _scale("width", process, own, {v: p for v, p in others.items() if _real(p)})


def _steps(least: float, most: float) -> list[float]:
    """Whole steps between two lengths, no more than a few dozen."""
    step = next((s for s in _STEPS if (most - least) / s <= _MOST), (most - least) / _MOST)
    first, last = math.ceil(least / step - _EXACT), math.floor(most / step + _EXACT)
    return [round(step * k, 4) for k in range(first, last + 1)]


def _real(process: Process) -> bool:
    """Whether such a tool can be: no part of its spread is below nothing."""
    cut, bit = process.cut, process.bit
    return cut is not None and cut.least > 0 and (bit is None or bit.tip_width.least > 0)


def _scale(what: str, process: Process, own: float, others: dict[float, Process]) -> Scale:
    near = {value: other for value, other in others.items() if abs(value - own) > STEP / 4}
    settings = sorted((near | {own: process}).items())
    values = tuple(value for value, _ in settings)
    return Scale(what, values, tuple(other for _, other in settings), values.index(own))


class Wider:
    """Facts that reach as far as every slider of a page, measured once a board and when asked."""

    def __init__(self, pairs: Iterable[tuple[Report, Facts]]) -> None:
        self._cut: dict[int, float] = {}
        self._bites: dict[int, set[float]] = {}
        self._known: dict[int, Facts] = {}
        for report, facts in pairs:
            scale, board = scale_of(report.process), id(facts.board)
            if scale is None or _crowded(facts):
                continue
            wanted = reach_for(scale.processes)
            self._cut[board] = max(self._cut.get(board, 0.0), wanted.cut)
            self._bites.setdefault(board, set()).update(wanted.bites)

    def facts(self, near: Facts) -> Facts:
        """Of the board of ``near``, with its necks."""
        from checker.measure import Facts, Reach, measure

        key = id(near.board)
        if key not in self._known:
            reach = Reach(self._cut[key], 0.0, tuple(sorted(self._bites[key])))
            self._known[key] = measure(near.board, reach)
        wide = self._known[key]
        reach = replace(wide.reach, copper=near.reach.copper)
        return Facts(wide.board, reach, wide.gaps, near.necks)


def settled(facts: Facts, process: Process, wider: Wider) -> tuple[Scale, Facts] | None:
    """The settings to look at and facts that reach as far; None where nothing is isolated.

    Where thousands of places are too narrow already, no setting is looked at that needs more than
    was measured.
    """
    scale = scale_of(process)
    if scale is None:
        return None
    if facts.reach.cut >= reach_for(scale.processes).cut:
        return scale, facts
    if not _crowded(facts):
        return scale, wider.facts(facts)
    near = [
        (value, other)
        for value, other in zip(scale.values, scale.processes, strict=True)
        if other is process or _reaches(facts, other)
    ]
    values, processes = tuple(value for value, _ in near), tuple(other for _, other in near)
    return Scale(scale.what, values, processes, processes.index(process)), facts


def _crowded(facts: Facts) -> bool:
    return sum(map(len, facts.gaps)) > _MOST_GAPS


def _reaches(facts: Facts, process: Process) -> bool:
    return reach_for(process).cut <= facts.reach.cut


def stops(
    report: Report, facts: Facts, wide: Facts, scale: Scale, quick: bool
) -> list[dict[str, Any]]:
    """For each setting what the engine says of it, and the bounds that a gap is compared with.

    ``shut``, ``limit`` and ``tight`` are those of `checker.isolation.fates`, to the last bit: a gap
    is told the same way by the page and by the command. ``census`` is 1 where a setting is judged
    by the facts of the report, 2 where they don't reach as far.

    Args:
        report: what was found at the profile's own setting.
        facts: those of the report.
        wide: as far as the settings ask, may be the same.
        scale: the settings.
        quick: whether only the rules on gaps are asked where they decide the verdict.
    """
    rules, ask = load_rules(), Once(tally_of)
    told = []
    for index, (value, process) in enumerate(zip(scale.values, scale.processes, strict=True)):
        own = index == scale.own
        near = own or _reaches(facts, process)
        known = facts if near else wide
        found = (
            report
            if own
            else tallied(known.board, process, rules, known, decided_by_gaps=quick, ask=ask)
        )
        told.append({"census": 1 if near else 2, **_stop(known, value, process, found)})
    return told


def _stop(facts: Facts, value: float, process: Process, found: Report | Tallied) -> dict[str, Any]:
    cut, band = process.cut, tie(facts.board)
    assert cut is not None
    counted: Counter[str] = Counter()
    for cause in found.causes:
        counted[cause.rule] += cause.count if isinstance(cause, Count) else len(cause.findings)
    left = left_of(facts, process)
    return {
        "value": value,
        "least": cut.least,
        "nominal": cut.nominal,
        "most": cut.most,
        "shut": cut.nominal - band,
        "limit": cut.nominal + band,
        "tight": cut.most - band,
        "clears": None if process.clears is None else process.clears.nominal,
        "verdict": found.verdict.value,
        "counts": dict(sorted(counted.items())),
        "partly": not isinstance(found, Report) and found.partly,
        "off": off_an_edge(process),
        "eaten": left and number(left.eaten),
        "thinnest": left and number(left.thinnest),
        "beyond": left is not None and left.beyond,
    }
