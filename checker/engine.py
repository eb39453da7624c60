"""Runs rules over a board's facts, stamps what they saw, and gives the verdict."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np

from checker import isolation
from checker.board import Unchecked
from checker.causes import group, levels_of, order_of
from checker.depth import window_of
from checker.errors import ProfileError, nearest
from checker.findings import Finding, Observation, Report, Rule, State, Verdict
from checker.labels import labels_of, natural
from checker.measure import Reach
from checker.process.model import Process
from checker.registry import load_rules
from checker.severity import Severity
from checker.summary import summary_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping
    from typing import TypeAlias

    from checker.board import Board
    from checker.measure import Facts

    Said: TypeAlias = tuple[Observation | Unchecked, ...]

_SEVERITY = list(Severity)
_HEAVIEST = {
    State.NOT_MAKEABLE: Severity.ERROR,
    State.MARGINAL: Severity.WARNING,
    State.REMARK: Severity.NOTE,
}
_BEYOND = 0.01  # so far beyond the limit (mm) places at the very limit are still measured


def check(
    board: Board,
    process: Process,
    rules: Mapping[str, Rule] | None = None,
    facts: Facts | None = None,
    before: Callable[[Rule], None] = lambda _: None,
    said: Mapping[str, Said] | None = None,
) -> Report:
    """Judge a board by a process.

    Args:
        board: as read.
        process: as loaded from a profile.
        rules: by name; the built-in ones where None.
        facts: of this board; measured where None, and anew where they do not reach far enough.
            For several processes measure once with ``reach_for(processes)``.
        before: called before each rule is asked, to tell how far the work is.
        said: what rules have said already of these facts, by name: they are not asked again.

    Raises:
        ProfileError: the profile sets a severity for a rule that does not exist.
        RulePackageError: the built-in rules cannot be loaded.
    """
    rules = load_rules() if rules is None else rules
    asked = rules_asked(process, rules)
    wanted = reach_for(process)
    if facts is None or not _covers(facts.reach, wanted):
        from checker.measure import measure

        facts = measure(board, wanted)
    findings: list[Finding] = []
    unchecked = unchecked_of(board, process)
    unseen: dict[str, list[Unchecked]] = {rule.name: [] for rule in asked}
    for rule in asked:
        if said is None or rule.name not in said:
            before(rule)
            told = rule.check(facts, process)
        else:
            told = said[rule.name]
        for seen in told:
            if isinstance(seen, Unchecked):
                unchecked.setdefault(seen)
                unseen[rule.name].append(seen)
            else:
                findings.append(_stamped(seen, rule, process))
    findings = _in_order(findings, board)
    return Report(
        summary_of(board),
        process,
        verdict_of(board, process, {finding.seen.state for finding in findings}),
        tuple(findings),
        group(findings),
        tuple(unchecked),
        _joined(facts, process),
        _counts(facts, process, len(asked)),
        window_of(facts, process, wanted.cut),
        {name: tuple(entries) for name, entries in unseen.items()},
    )


def reach_for(processes: Process | Iterable[Process]) -> Reach:
    """What has to be measured for one process or several, and no more."""
    several = (processes,) if isinstance(processes, Process) else tuple(processes)
    cuts = [process.cut.most for process in several if process.cut is not None]
    copper = max(map(_least_copper, several), default=0.0)
    return Reach(
        cut=max(cuts) + _BEYOND if cuts else 0.0,
        copper=copper + _BEYOND if copper else 0.0,
        bites=tuple(sorted({0.0, *(process.bite for process in several)})),
        widest=max(cuts, default=0.0),
    )


def _least_copper(process: Process) -> float:
    """The copper that has to be drawn for enough of it to survive, mm; 0 where nothing is asked."""
    return (process.minimum_trace or 0.0) + 2 * process.undercut


def _covers(reach: Reach, wanted: Reach) -> bool:
    return (
        reach.cut >= wanted.cut
        and reach.copper >= wanted.copper
        and set(reach.bites) >= set(wanted.bites)
    )


def rules_asked(process: Process, rules: Mapping[str, Rule]) -> list[Rule]:
    """The rules that speak of the process's method.

    Raises:
        ProfileError: the profile sets a severity for a rule that does not exist.
    """
    for name in process.severity:
        if name not in rules:
            raise ProfileError(
                process.rules_named.get(name, process.source),
                f"severity is set for {name!r}, which is no rule",
                "a rule's name",
                nearest(name, rules),
            )
    return [rule for rule in rules.values() if process.method in rule.methods]


def unchecked_of(board: Board, process: Process) -> dict[Unchecked, None]:
    """What is known to be unchecked before a rule is asked, in order."""
    unseen = _unseen(board) if process.cut is not None else ()
    return dict.fromkeys((*board.unchecked, *unseen))


def _unseen(board: Board) -> Iterable[Unchecked]:
    """What no rule can look at on this board."""
    if not any(len(layer.islands) for layer in board.copper):
        yield Unchecked("the board", "no side holds any copper")
    inner = [
        layer.side
        for layer in board.copper
        if layer.side.startswith("inner") and len(layer.islands)
    ]
    if inner:
        yield Unchecked(
            f"gaps and necks of {', '.join(inner)}", "copper between laminate is out of reach"
        )


def _stamped(seen: Observation, rule: Rule, process: Process) -> Finding:
    """With an id that a change elsewhere on the board, or in its files' order, leaves alone."""
    place = "" if seen.x is None or seen.y is None else f"{seen.x:.1f} {seen.y:.1f}"
    key = "\n".join((rule.name, seen.side or "", *sorted(seen.nets), *sorted(seen.pins), place))
    digest = hashlib.blake2b(key.encode(errors="surrogatepass"), digest_size=5).hexdigest()
    return Finding(digest, rule.name, severity_of(rule, seen.state, process), seen)


def severity_of(rule: Rule, state: State, process: Process) -> Severity:
    """How bad it is what a rule says of the board.

    What leaves a board makeable with luck is no error by itself, and a remark is a note; a profile
    may make them more.
    """
    severity = process.severity.get(rule.name)
    if severity is None:
        severity = max(rule.severity, _HEAVIEST[state], key=_SEVERITY.index)
    return severity


def _in_order(findings: Iterable[Finding], board: Board) -> list[Finding]:
    """By severity, rule, side and place; ids that are equal get a number, in that order."""
    levels = levels_of(board.sides)
    ordered = sorted(
        findings, key=lambda f: (_SEVERITY.index(f.severity), f.rule, order_of(f.seen, levels))
    )
    taken: dict[str, int] = {}
    for i, finding in enumerate(ordered):
        taken[finding.id] = taken.get(finding.id, 0) + 1
        if taken[finding.id] > 1:
            twin = f"{finding.id}-{taken[finding.id]}"
            ordered[i] = Finding(twin, finding.rule, finding.severity, finding.seen)
    return ordered


def verdict_of(board: Board, process: Process, states: Collection[State]) -> Verdict:
    """The verdict by the states of all that was seen, or of the worst place of each cause."""
    if State.NOT_MAKEABLE in states:
        return Verdict.NOT_MAKEABLE
    if not _judged(board, process):
        return Verdict.NOT_CHECKED
    return Verdict.MARGINAL if State.MARGINAL in states else Verdict.MAKEABLE


def _judged(board: Board, process: Process) -> bool:
    """Whether there is what decides: copper to cut, or leads to put into a grid of holes."""
    if process.cut is not None:
        return any(len(layer.islands) for layer in board.copper)
    from checker.measure.whole.grid import leads_of

    known = process.grid.pitch is not None and process.grid.bend is not None
    return known and len(leads_of(board)) > 0


def _joined(facts: Facts, process: Process) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Groups per side, then those that hang together only over several sides; largest first."""
    found, labels = isolation.joined_nets(facts, process), labels_of(facts.board)
    per_side = [
        (layer.side, found.by_side.get(i, [])) for i, layer in enumerate(facts.board.copper)
    ]
    told = [group for _, groups in per_side for group in groups]
    across = [group for group in found.groups if group not in told]
    return tuple(
        (side, names)
        for side, groups in [*per_side, ("all sides", across)]
        for names in sorted(
            (tuple(sorted(map(labels.net_at, group), key=natural)) for group in groups),
            key=lambda names: (-len(names), names),
        )
    )


def _counts(facts: Facts, process: Process, rules: int) -> dict[str, int]:
    """What was examined for this process, for the reader of a clean report."""
    copper, holes = facts.board.copper, facts.board.holes
    return {
        "rules": rules,
        "layers": len(copper),
        "islands": sum(len(layer.islands) for layer in copper),
        "nets": len(set().union(*(layer.net.tolist() for layer in copper))),
        **(_wired(facts.board, process) if process.cut is None else _narrow(facts, process)),
        "holes": len(holes),
        **(_by_hand(facts.board) if holes and process.cut and len(copper) > 1 else {}),
    }


def _narrow(facts: Facts, process: Process) -> dict[str, int]:
    copper, reach, least = facts.board.copper, reach_for(process), _least_copper(process)
    return {
        "gaps": sum(
            int(np.count_nonzero(np.diff(layer.net[near], axis=1)))
            for layer, gaps in zip(copper, facts.gaps, strict=True)
            for near in [gaps.islands[gaps.distance < reach.cut]]
        ),
        "necks": sum(int(np.sum(necks.width < least)) for necks in facts.necks),
    }


def _by_hand(board: Board) -> dict[str, int]:
    from checker.measure.holes.joints import joints_of

    return {"two-sided joints": int(joints_of(board).both.sum())}


def _wired(board: Board, process: Process) -> dict[str, int]:
    grid = process.grid
    if grid.pitch is None or grid.bend is None:
        return {}
    from checker.measure.whole.grid import leads_of, wires_of

    joins = wires_of(board, grid.pitch, grid.bend)
    bridges, wires = int(joins.bridges.sum()), int(joins.wires.sum())
    return {"leads": len(leads_of(board)), "bridges": bridges, "wires": wires}
