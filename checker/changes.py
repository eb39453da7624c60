"""What became of the findings of a board from one check to the next. Plain values alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from checker.pairing import WITHIN, pair, worse

if TYPE_CHECKING:
    from collections.abc import Iterable

    from checker.board import Unchecked
    from checker.findings import Finding, Report, Verdict
    from checker.pairing import Pairing

Key: TypeAlias = tuple[str, str]


class Change(Struct, frozen=True):
    """What became of a board with a process. Findings in the order of their reports.

    Attributes:
        board, process: their names.
        before: the verdict; None where there was none, and then nothing counts as changed.
        after: the verdict now.
        gone: findings that are no more, as they were.
        new: findings that were not there, or were accepted.
        worse, better: (as it was, as it is).
        accepted: findings that fail no more since somebody accepted them, as they were.
        unchecked: what cannot be checked any more.
        checked: what could not be checked before, and now can.
    """

    board: str
    process: str
    before: Verdict | None
    after: Verdict
    gone: tuple[Finding, ...] = ()
    new: tuple[Finding, ...] = ()
    worse: tuple[tuple[Finding, Finding], ...] = ()
    better: tuple[tuple[Finding, Finding], ...] = ()
    accepted: tuple[Finding, ...] = ()
    unchecked: tuple[Unchecked, ...] = ()
    checked: tuple[Unchecked, ...] = ()

    @property
    def is_any(self) -> bool:
        """Whether there is anything to tell."""
        parts = (self.gone, self.new, self.worse, self.better, self.accepted)
        return self.before is not self.after or any((*parts, self.unchecked, self.checked))


def key_of(report: Report) -> Key:
    """What two reports have in common that can be compared: board and process by name."""
    return report.board.name, report.process.name


def changes_of(before: Iterable[Report], after: Iterable[Report]) -> tuple[Change, ...]:
    """What has changed, for each of the later reports in their order.

    Args:
        before: of the earlier check, of other boards and processes too.
        after: of the later one.
    """
    known = {key_of(report): report for report in before}
    return tuple(_change(known.get(key_of(report)), report) for report in after)


def _change(before: Report | None, after: Report) -> Change:
    board, process = key_of(after)
    if before is None:
        return Change(board, process, None, after.verdict)
    pairing, shift = _paired(before, after)
    same = [(before.findings[i], after.findings[j]) for i, j in pairing.same]
    gone = [before.findings[i] for i in pairing.gone]
    waived = pair(gone, [one.finding for one in after.accepted], shift, WITHIN)
    return Change(
        board,
        process,
        before.verdict,
        after.verdict,
        gone=tuple(gone[i] for i in waived.gone),
        new=tuple(after.findings[j] for j in pairing.new),
        worse=tuple(two for two in same if worse(*two)),
        better=tuple((a, b) for a, b in same if worse(b, a) and not worse(a, b)),
        accepted=tuple(gone[i] for i, _ in waived.same),
        unchecked=_more(before.unchecked, after.unchecked),
        checked=_more(after.unchecked, before.unchecked),
    )


def _paired(before: Report, after: Report) -> tuple[Pairing, tuple[float, float]]:
    """The findings paired as if the board had not moved in its files, and by how much it has.

    A corner that moves may also mean that the board has grown on that side, while all else stays:
    of the two that one holds by which more findings are the same.
    """
    (left, bottom, *_), (new_left, new_bottom, *_) = before.board.box, after.board.box
    shifts = dict.fromkeys([(new_left - left, new_bottom - bottom), (0.0, 0.0)])
    found = [(pair(before.findings, after.findings, shift, WITHIN), shift) for shift in shifts]
    return max(found, key=lambda one: len(one[0].same))


def _more(before: Iterable[Unchecked], after: Iterable[Unchecked]) -> tuple[Unchecked, ...]:
    """What is not checked after and was before."""
    known = {entry.what for entry in before}
    return tuple(entry for entry in after if entry.what not in known)
