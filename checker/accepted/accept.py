"""Takes findings that fail no more out of reports: waived ones first, then those that are known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.accepted.baseline import all_of, gone_from
from checker.accepted.waivers import COVERED, UNPLACED, UNUSED, Waivers
from checker.causes import group
from checker.findings import Accepted, State, Verdict
from checker.pairing import worse
from checker.remarks import Note

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from checker.accepted.baseline import Baseline
    from checker.accepted.waiver import Waiver
    from checker.findings import Finding, Report

_WHY = "known since the baseline was recorded"


def accept(
    reports: Sequence[Report], waivers: Sequence[Waiver], baseline: Baseline | None, today: date
) -> tuple[Report, ...]:
    """The reports of a board without what was waived or is known; as they were where that is none.

    What of waivers and baseline has no use any more is told in the first report.

    Args:
        reports: of one board, one for each process, with nothing accepted yet.
        waivers: those that mean this board, in order.
        baseline: of this board. With a process that it does not know it knows nothing.
        today: the day by which waivers hold.
    """
    standing, gone = Waivers(waivers, today), 0
    answers = []
    for report in reports:
        known, forgotten = _known(report, baseline)
        source = baseline.source if baseline is not None else ""
        answers.append(_without(report, standing, known, source))
        gone += forgotten
    stale = list(standing.stale(reports))
    if baseline is not None and gone:
        what = "finding that it knows is" if gone == 1 else "findings that it knows are"
        stale.append(Note(baseline.source, 0, f"{gone} {what} gone"))
    if stale and answers:
        answers[0] = replace(answers[0], stale=tuple(stale))
    return tuple(answers)


def once(reports: Iterable[Report]) -> tuple[Report, ...]:
    """The reports of all boards of a run, with each waiver of no use told once.

    A waiver that means several boards is of use where it fits a finding of any of them.
    """
    every = tuple(reports)
    used = {one.where for report in every for one in report.accepted if one.waived}
    covered = {_place(n) for report in every for n in report.stale if n.text.endswith(COVERED)}
    told: set[Note] = set()

    def kept(notes: Iterable[Note]) -> Iterator[Note]:
        for note in notes:
            unused = note.text.endswith((UNUSED, UNPLACED))
            needless = (unused or note.text.endswith(COVERED)) and _place(note) in used
            needless |= (unused and _place(note) in covered) or note in told
            if note.line:  # a waiver; what is told of a baseline is of one board
                told.add(note)
            if not needless:
                yield note

    return tuple(
        replace(report, stale=tuple(kept(report.stale))) if report.stale else report
        for report in every
    )


def _place(note: Note) -> str:
    return f"{note.source}:{note.line}" if note.line else note.source


def _known(report: Report, baseline: Baseline | None) -> tuple[dict[str, bool] | None, int]:
    """What `Report.known` is to hold, and how many of those that the baseline knows are gone."""
    known = baseline.known.get(report.process.name) if baseline is not None else None
    if known is None:
        return None, 0
    pairing, found = known.pairing(report), all_of(report)
    now = {found[j].id: worse(known.findings[i], found[j]) for i, j in pairing.same}
    return now, len(gone_from(known, pairing, report))


def _without(
    report: Report, waivers: Waivers, known: Mapping[str, bool] | None, source: str
) -> Report:
    left: list[Finding] = []
    taken: list[Accepted] = []
    for finding in report.findings:
        waiver = waivers.of(finding)
        if waiver is not None:
            taken.append(Accepted(finding, True, waiver.reason, waiver.where, waiver.until))
        elif known is not None and known.get(finding.id) is False:
            taken.append(Accepted(finding, False, _WHY, source))
        else:
            left.append(finding)
    if not taken and known is None:
        return report
    return replace(
        report,
        findings=tuple(left),
        causes=group(left) if taken else report.causes,
        accepted=(*report.accepted, *taken),
        verdict=_verdict(report, left, taken),
        known=known,
    )


def _verdict(report: Report, left: Iterable[Finding], taken: Sequence[Accepted]) -> Verdict:
    """The verdict where a place that was waived is one to take care of, and no hindrance."""
    counting = [*left, *(one.finding for one in taken if not one.waived)]
    waived = [one.finding for one in taken if one.waived]
    if any(map(_hinders, counting)) or not any(map(_hinders, waived)):
        return report.verdict
    return Verdict.MARGINAL if _judged(report) else Verdict.NOT_CHECKED


def _hinders(finding: Finding) -> bool:
    return finding.seen.state is State.NOT_MAKEABLE


def _judged(report: Report) -> bool:
    """Whether there was what decides (see `checker.engine.verdict_of`)."""
    if report.process.cut is not None:
        return any(layer.islands for layer in report.board.layers)
    return report.counts.get("leads", 0) > 0
