"""Reports as SARIF 2.1.0, the static analysis results interchange format of OASIS.

A run per board and process; a result per finding, at the line of the Gerber or drill file that
draws what it speaks of. Coordinates, lengths and the remedy stand in a result's properties. What
could not be checked is a notification of the run: a reader of results alone must not take the
silence of a rule for a pass. So is a remark on a file. No times and no absolute paths: two runs
give the same bytes.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from checker.report import accepted, json, words
from checker.report.judged import uri

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from checker.findings import Accepted, Finding, Report, Rule
    from checker.remarks import Origin
    from checker.report.json import Document
    from checker.report.judged import Judged

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
FINGERPRINT = "findingId/v1"
_STATUS = ("no finding weighs enough to fail", "findings weigh enough to fail", "could not run")
_LONGEST = 2000


def sarif(judged: Sequence[Judged], rules: Mapping[str, Rule], status: int) -> str:
    """The log of all reports.

    Args:
        judged: one run each.
        rules: every rule that was in play, by name.
        status: with which the program ends.
    """
    from checker import __version__

    driver: Document = {
        "name": "cutworthy",
        "semanticVersion": __version__,
        "rules": [_descriptor(rule) for rule in rules.values()],
    }
    runs = (json.dumps(_run(one, driver, list(rules), status)).rstrip() for one in judged)
    head = f' "$schema": "{SCHEMA}",\n "version": "2.1.0"'
    return f'{{\n{head},\n "runs": [\n' + ",\n".join(runs) + "\n]\n}\n"


def _descriptor(rule: Rule) -> Document:
    """A rule with its page, which is Markdown as it stands."""
    measures = re.search(r"^Measures\n-+\n(.*?)(?:\n\n|\Z)", rule.page, re.MULTILINE | re.DOTALL)
    full = " ".join(measures[1].split()) if measures else rule.summary
    return {
        "id": rule.name,
        "shortDescription": {"text": _text(rule.summary)},
        "fullDescription": {"text": _text(full)},
        "help": {"text": rule.page, "markdown": rule.page},
        "defaultConfiguration": {"level": rule.severity.value},
    }


def _run(judged: Judged, driver: Document, rules: Sequence[str], status: int) -> Document:
    report = judged.report
    artifacts = _Artifacts(
        judged, [file for file, role in report.board.sources if role != "not used"]
    )
    return {
        "tool": {"driver": driver},
        "automationDetails": {
            "id": uri(f"{report.board.name}/{report.process.name}/"),
            "description": {
                "text": _text(f"{report.board.name} with {report.process.name}"),
            },
        },
        "invocations": [
            {
                "executionSuccessful": status < len(_STATUS) - 1,
                "exitCode": status,
                "exitCodeDescription": _STATUS[status],
                "toolExecutionNotifications": [
                    {
                        "level": "note",
                        "message": {"text": _text(f"Not checked: {entry.what}: {entry.why}")},
                    }
                    for entry in report.unchecked
                ]
                + [
                    {
                        "level": "note",
                        "message": {"text": _text(f"Out of date: {accepted.stale(note)}")},
                    }
                    for note in report.stale
                ]
                + [
                    {
                        "level": "note",
                        "message": {"text": _text(f"Remark: {words.remark(note)}")},
                    }
                    for note in report.board.notes
                ],
            }
        ],
        "artifacts": artifacts.documents,
        "results": [
            *(_result(judged, found, rules, artifacts) for found in report.findings),
            *(
                _result(judged, one.finding, rules, artifacts) | _suppressed(one)
                for one in report.accepted
            ),
        ],
        "columnKind": "unicodeCodePoints",
        "properties": {
            "board": report.board.name,
            "profile": json.profile_document(report.process),
            "verdict": report.verdict.value,
            "counts": dict(report.counts),
        },
    }


class _Artifacts:
    """The files of a board, those in an archive below it, and their numbers."""

    def __init__(self, judged: Judged, sources: Iterable[str]) -> None:
        self.judged = judged
        self.documents: list[Document] = []
        self._number: dict[str, int] = {}
        self._archives: dict[str, int] = {}
        for source in sources:
            self._add(source)

    def _add(self, source: str) -> None:
        archive = self.judged.archive(source)
        entry: Document = {"location": {"uri": uri(self.judged.path(source))}}
        if archive is not None:
            if archive not in self._archives:
                self._archives[archive] = len(self.documents)
                self.documents.append({"location": {"uri": uri(archive)}})
            entry = {"location": {"uri": uri(source)}, "parentIndex": self._archives[archive]}
        self._number[source] = len(self.documents)
        self.documents.append(entry | {"roles": ["analysisTarget"]})

    def location(self, source: str) -> Document:
        """Where an artifact is, with its number."""
        if source not in self._number:
            self._add(source)
        number = self._number[source]
        return {"uri": self.documents[number]["location"]["uri"], "index": number}


def _result(
    judged: Judged, finding: Finding, rules: Sequence[str], artifacts: _Artifacts
) -> Document:
    seen = finding.seen
    first, *others = judged.origins(finding)
    # A net that stands on both sides of a gap is named twice; the schema wants each once.
    pairs = [*(("net", name) for name in seen.nets), *(("pin", name) for name in seen.pins)]
    names = list(dict.fromkeys(pairs))
    logical = {"logicalLocations": [{"name": name, "kind": kind} for kind, name in names]}
    return {
        "ruleId": finding.rule,
        "ruleIndex": rules.index(finding.rule) if finding.rule in rules else -1,
        "level": finding.severity.value,
        "message": {"text": _text(f"{words.message(finding)}. {seen.remedy}")},
        "locations": [_location(first, artifacts) | (logical if names else {})],
        "relatedLocations": [
            {"id": number, **_location(other, artifacts)} for number, other in enumerate(others, 1)
        ],
        "partialFingerprints": {FINGERPRINT: finding.id},
        "suppressions": [],
        **_compared(judged.report, finding),
        "properties": {
            "side": seen.side,
            "x_mm": json.number(seen.x),
            "y_mm": json.number(seen.y),
            "measured_mm": json.number(seen.measured),
            "limit_mm": json.number(seen.limit),
            "state": seen.state.value,
            "nets": list(seen.nets),
            "pins": list(seen.pins),
            "cause": seen.cause,
            "remedy": seen.remedy,
        },
    }


def _suppressed(one: Accepted) -> Document:
    """A waiver (3.35 of the format); what a baseline knows is told by its state, not suppressed."""
    if not one.waived:
        return {}
    text = _text(accepted.by(one))
    return {"suppressions": [{"kind": "external", "status": "accepted", "justification": text}]}


def _compared(report: Report, finding: Finding) -> Document:
    """The state against the baseline (3.27 of the format), where one is in force."""
    if report.known is None:
        return {}
    worse = report.known.get(finding.id)
    return {"baselineState": "new" if worse is None else "updated" if worse else "unchanged"}


def _location(origin: Origin, artifacts: _Artifacts) -> Document:
    region = {"region": {"startLine": origin.line}} if origin.line else {}
    place: Document = {"artifactLocation": artifacts.location(origin.source), **region}
    return {"physicalLocation": place, "message": {"text": _text(origin.what)}}


def _text(text: str) -> str:
    """A plain text message (3.11): braces doubled, and nothing that a viewer takes for a link."""
    safe = words.plain(text, _LONGEST).replace("{", "{{").replace("}", "}}")
    return re.sub(r"([\\\[\]])", r"\\\1", safe) if "](" in safe else safe
