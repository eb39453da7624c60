"""Reports as a line per finding: for people and editors, and for the log of a GitHub workflow.

Whatever a file or a name holds, a finding is one line: control characters are written as codes.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from checker.report import accepted, words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from checker.findings import Finding, Report
    from checker.report.judged import Judged

_LONGEST = 400
_ENDS_DATA = {ord(letter): f"%{ord(letter):02X}" for letter in "%\r\n"}
_ENDS_PROPERTY = _ENDS_DATA | {ord(letter): f"%{ord(letter):02X}" for letter in ":,"}
_COMMAND = {"error": "error", "warning": "warning", "note": "notice"}


def concise(judged: Sequence[Judged]) -> str:
    """``file:side:x,y: severity rule message [nets] (id)``, and a line with the verdict."""
    several = len({one.report.process.name for one in judged}) > 1
    return "".join(line + "\n" for one in judged for line in _concise(one, several))


def _concise(judged: Judged, several: bool) -> Iterator[str]:
    report = judged.report
    profile = f" {words.plain(report.process.name)}" if several else ""
    for found in report.findings:
        origin = judged.origins(found)[0]
        yield (
            f"{words.plain(judged.path(origin.source), _LONGEST)}:{_place(found)}: "
            f"{found.severity.value} {found.rule} {words.message(found)} ({found.id}{profile})"
        )
    name = words.plain(report.board.name)
    for why, what in words.by_reason(report.unchecked).items():
        yield f"{name}: not checked: {', '.join(what)}: {why}"
    yield from map(accepted.stale, report.stale)
    for note in report.board.notes:
        path = words.plain(judged.path(note.source), _LONGEST)
        yield f"{path}{f':{note.line}' * bool(note.line)}: {words.plain(note.text, _LONGEST)}"
    yield f"cutworthy: {verdict(report)}"


def _place(finding: Finding) -> str:
    seen = finding.seen
    side = seen.side or "board"
    return side if seen.x is None or seen.y is None else f"{side}:{seen.x:.3f},{seen.y:.3f}"


def verdict(report: Report) -> str:
    """The answer with its counts, in a line."""
    tally = Counter(finding.severity.value for finding in report.findings)
    counts = [words.count(tally[what], what) for what in _COMMAND]
    if report.unchecked:
        counts.append(f"{len(report.unchecked)} not checked")
    counts += accepted.counts(report)
    if words.no_margin(report.process) is not None:
        counts.append("without margin")
    names = f"{words.plain(report.board.name)} with {words.plain(report.process.name)}"
    return f"{names}: {words.state(report.verdict.value)}, {', '.join(counts)}"


def github(judged: Sequence[Judged]) -> str:
    """Workflow commands that annotate the lines of files, and a notice with each verdict."""
    return "".join(line + "\n" for one in judged for line in _github(one))


def _github(judged: Judged) -> Iterator[str]:
    report = judged.report
    for found in report.findings:
        origin = judged.origins(found)[0]
        where = _where(judged, origin.source, origin.line)
        title = f"{found.rule} ({found.id})"
        place = " ".join(words.place(found).split())
        text = f"{place}: {words.message(found)}. {words.plain(found.seen.remedy, _LONGEST)}"
        yield _command(_COMMAND[found.severity.value], text, **where, title=title)
    for why, what in words.by_reason(report.unchecked).items():
        yield _command("notice", f"{', '.join(what)}: {why}", title="not checked")
    for note in report.stale:
        where = {"file": note.source} | ({"line": str(note.line)} if note.line else {})
        yield _command("notice", words.plain(note.text, _LONGEST), **where, title="out of date")
    for note in report.board.notes:
        where = _where(judged, note.source, note.line)
        yield _command("notice", words.plain(note.text, _LONGEST), **where, title="remark")
    yield _command("notice", verdict(report), title="cutworthy")


def _where(judged: Judged, source: str, line: int) -> dict[str, str]:
    """The properties that name a file, and its line where there is one; of an archive the whole."""
    archive = judged.archive(source)
    where = {"file": archive or judged.path(source)}
    return where | ({"line": str(line)} if line and archive is None else {})


def _command(name: str, text: str, **properties: str) -> str:
    """A workflow command; what would end a property or the line is written as a percent code."""
    told = ",".join(f"{key}={_escaped(value, _ENDS_PROPERTY)}" for key, value in properties.items())
    return f"::{name} {told}::{_escaped(text, _ENDS_DATA)}"


def _escaped(text: str, special: Mapping[int, str]) -> str:
    coded = text.translate(special)
    return words.plain(coded, 10 * len(coded))  # a letter that can't be shown takes up to ten
