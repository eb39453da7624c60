"""A baseline: the findings of a board that are known, so that only new and worse ones fail.

It lies beside the board, schema ``cutworthy.baseline/1``, and knows the findings of each process by
the process's name. By itself it only shrinks: what is gone or better stays so. Places are those of
the day it was recorded, with the box of the board, so that it holds when the origin moves.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.errors import UsageError
from checker.findings import Finding, Observation
from checker.pairing import pair, worse
from checker.report.json import number

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.findings import Report
    from checker.pairing import Pairing
    from checker.summary import Summary

_SAME_SIZE = 0.01  # mm

Point = tuple[float, float]


class Known(Struct, frozen=True):
    """What is known with one process.

    Attributes:
        corner: lower left corner of the board when it was recorded, mm.
        size: width and height of the board then, mm.
        findings: without their words; lengths to 0.1 um.
    """

    corner: Point
    size: Point
    findings: tuple[Finding, ...]

    def pairing(self, report: Report) -> Pairing:
        """Which of them are which of a report's findings, the accepted ones after the others."""
        return pair(self.findings, all_of(report), self.shift(report.board))

    def shift(self, board: Summary) -> Point:
        """How far the board has moved in mm; one that changed its size is taken as it lies."""
        changes = (abs(now - then) for now, then in zip(board.size, self.size, strict=True))
        if max(changes) > _SAME_SIZE:
            return 0.0, 0.0
        return board.box[0] - self.corner[0], board.box[1] - self.corner[1]


class Baseline(Struct, frozen=True):
    """What is known of a board, by the name of the process; ``source`` is the file as shown."""

    source: str
    known: Mapping[str, Known]


def all_of(report: Report) -> list[Finding]:
    """The findings that count, then the accepted ones."""
    return [*report.findings, *(one.finding for one in report.accepted)]


def recorded(reports: Sequence[Report], source: str, before: Baseline | None = None) -> Baseline:
    """The baseline that knows all that a board's reports found but for what is waived.

    Args:
        reports: of one board, one for each process.
        source: the file as shown.
        before: what it knows with other processes stays.

    Raises:
        UsageError: two processes have one name.
    """
    known = dict(before.known) if before is not None else {}
    for name, times in Counter(report.process.name for report in reports).items():
        if times > 1:
            raise UsageError(
                f"--profile {name}", f"is the name of {times} processes", "a name for each"
            )
    for report in reports:
        left, bottom, *_ = report.board.box
        width, height = report.board.size
        waived = {one.finding.id for one in report.accepted if one.waived}
        found = [_bare(one) for one in all_of(report) if one.id not in waived]
        known[report.process.name] = Known(
            (number(left) or 0.0, number(bottom) or 0.0),
            (number(width) or 0.0, number(height) or 0.0),
            tuple(sorted(found, key=_order)),
        )
    return Baseline(source, dict(sorted(known.items())))


def shrunk(baseline: Baseline, reports: Sequence[Report]) -> Baseline | None:
    """The baseline without what is gone, and with what is better now; None where that is nothing.

    It never knows more than before and nothing worse. What a rule found that was not asked, or
    could not look everywhere, is not taken for gone.
    """
    known = dict(baseline.known)
    for report in reports:
        if (before := known.get(report.process.name)) is not None:
            known[report.process.name] = _shrunk(before, report)
    return None if known == baseline.known else Baseline(baseline.source, known)


def gone_from(known: Known, pairing: Pairing, report: Report) -> set[int]:
    """Numbers of the findings that are known and were not found any more, where they'd be seen."""
    rules = {rule for rule, unchecked in report.asked.items() if not unchecked}
    return {i for i in pairing.gone if known.findings[i].rule in rules}


def _shrunk(known: Known, report: Report) -> Known:
    pairing, found = known.pairing(report), all_of(report)
    gone = gone_from(known, pairing, report)
    better = {i: _eased(known.findings[i], found[j]) for i, j in pairing.same}
    findings = (better.get(i, finding) for i, finding in enumerate(known.findings) if i not in gone)
    return replace(known, findings=tuple(findings))


def _eased(known: Finding, found: Finding) -> Finding:
    """What is known, with the weight and lengths of what was found if they are better."""
    if worse(known, found) or not worse(found, known):
        return known
    now = _bare(found)
    seen = replace(
        known.seen, state=now.seen.state, measured=now.seen.measured, limit=now.seen.limit
    )
    return replace(known, severity=now.severity, seen=seen)


def _bare(finding: Finding) -> Finding:
    """A finding as a baseline holds it."""
    seen = finding.seen
    x, y, measured, limit = map(number, (seen.x, seen.y, seen.measured, seen.limit))
    bare = Observation(
        "", "", "", seen.state, measured, limit, seen.side, x, y, seen.nets, seen.pins
    )
    return replace(finding, seen=bare)


def _order(finding: Finding) -> tuple[object, ...]:
    """Sort key that changes little from day to day."""
    seen = finding.seen
    return (finding.rule, seen.side or "", seen.y or 0.0, seen.x or 0.0, finding.id)
