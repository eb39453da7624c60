"""What every format says of findings that fail no more, and of what let them pass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from checker.report import words

if TYPE_CHECKING:
    from checker.board import Note
    from checker.findings import Accepted, Finding, Report

_LONGEST = 300


class Source(Struct, frozen=True):
    """A waiver or a baseline with the findings that it lets pass.

    Attributes:
        says: how many, by what, until when and why, in a line.
        findings: in the order of the report.
    """

    says: str
    findings: tuple[Finding, ...]


def sources(report: Report) -> tuple[Source, ...]:
    """Each waiver once, then the baseline."""
    found: dict[tuple[str, str, bool], list[Accepted]] = {}
    for one in sorted(report.accepted, key=lambda one: not one.waived):
        found.setdefault((one.where, one.why, one.waived), []).append(one)
    return tuple(
        Source(f"{len(ones)} {by(ones[0])}", tuple(one.finding for one in ones))
        for ones in found.values()
    )


def by(one: Accepted) -> str:
    """What lets a finding pass: "waived by FILE:LINE until DAY: REASON", "known by FILE"."""
    where = words.plain(one.where, _LONGEST)
    if not one.waived:
        return f"known by {where}"
    until = "" if one.until is None else f" until {one.until}"
    return f"waived by {where}{until}: {words.plain(one.why, _LONGEST)}"


def counts(report: Report) -> list[str]:
    """How many are waived, are known, and are worse than they are known; nothing where none are."""
    waived = sum(one.waived for one in report.accepted)
    known = len(report.accepted) - waived
    numbers = {"waived": waived, "known": known, "worse than known": len(worse(report))}
    return [f"{number} {what}" for what, number in numbers.items() if number]


def told(report: Report) -> str:
    """The counts as a line goes on with them: ", 3 findings waived, 12 known", or nothing."""
    head, *rest = counts(report) or [""]
    number, _, what = head.partition(" ")
    first = f"{words.count(int(number), 'finding')} {what}" if head else ""
    return "".join(f", {part}" for part in (first, *rest) if part)


def worse(report: Report) -> tuple[str, ...]:
    """Ids of those that count which the baseline knows as better than they are."""
    known = report.known or {}
    return tuple(found.id for found in report.findings if known.get(found.id, False))


def stale(note: Note) -> str:
    """What has no use any more, with its place."""
    where = words.plain(note.source, _LONGEST)
    return f"{where}:{note.line}: {_text(note)}" if note.line else f"{where}: {_text(note)}"


def _text(note: Note) -> str:
    return words.plain(note.text, _LONGEST)
