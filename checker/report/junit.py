"""Reports as JUnit XML, which has no owner: in the common subset that build servers read.

A suite per board and process, in it a case per rule and one per thing that could not be checked.
A case fails where the exit status would: findings that weigh less, were waived or are known are
told in its output; waivers of no use and remarks on the files in that of the suite. A rule that
could not look is skipped with its reason, never passed. Some servers keep only the first failure of
a case, so all places of a rule stand in one. No times: two runs give the same bytes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from checker.report import accepted, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.findings import Accepted, Finding, Report

_LONGEST = 400


def junit(reports: Iterable[Report], severities: Sequence[str]) -> str:
    """A suite for each report; findings of ``severities`` fail their case."""
    root = ET.Element("testsuites", name="cutworthy")
    for report in reports:
        root.append(_suite(report, severities))
    for count in ("tests", "failures", "errors", "skipped"):
        root.set(count, str(sum(int(suite.get(count, "0")) for suite in root)))
    ET.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root).decode()}\n'


def _suite(report: Report, severities: Sequence[str]) -> ET.Element:
    name = words.plain(f"{report.board.name} with {report.process.name}", _LONGEST)
    suite = ET.Element("testsuite", name=name)
    found: dict[str, list[Finding]] = {rule: [] for rule in report.asked}
    for finding in report.findings:
        found.setdefault(finding.rule, []).append(finding)
    passed: dict[str, list[Accepted]] = {}
    for one in report.accepted:
        found.setdefault(one.finding.rule, [])
        passed.setdefault(one.finding.rule, []).append(one)
    for rule, findings in found.items():
        case = ET.SubElement(suite, "testcase", classname=name, name=rule)
        reasons = [one.why for one in report.asked.get(rule, ())]
        _fill(case, findings, severities, reasons, passed.get(rule, ()))
    asked = {one for entries in report.asked.values() for one in entries}
    for entry in report.unchecked:
        if entry not in asked:
            what = words.plain(entry.what, _LONGEST)
            case = ET.SubElement(suite, "testcase", classname=name, name=what)
            ET.SubElement(case, "skipped", message=words.plain(entry.why, _LONGEST))
    suite.set("tests", str(len(suite)))
    suite.set("failures", str(len(suite.findall("testcase/failure"))))
    suite.set("errors", "0")
    suite.set("skipped", str(len(suite.findall("testcase/skipped"))))
    told = [*map(accepted.stale, report.stale), *map(words.remark, report.board.notes)]
    if told:
        ET.SubElement(suite, "system-out").text = "".join(f"\n{line}" for line in told) + "\n"
    return suite


def _fill(
    case: ET.Element,
    findings: Sequence[Finding],
    severities: Sequence[str],
    reasons: Sequence[str],
    passed: Sequence[Accepted],
) -> None:
    """What a rule found: a failure of all that weighs enough, and the rest as output."""
    heavy = [finding for finding in findings if finding.severity.value in severities]
    light = [finding for finding in findings if finding.severity.value not in severities]
    reason = words.plain("; ".join(dict.fromkeys(reasons)), _LONGEST)
    if heavy:
        state = words.state(heavy[0].seen.state.value)
        message = f"{words.count(len(heavy), 'place')}: {words.message(heavy[0])}"
        failure = ET.SubElement(case, "failure", message=message, type=state)
        failure.text = _lines(heavy) + (f"not checked: {reason}\n" if reason else "")
    elif reason:
        ET.SubElement(case, "skipped", message=reason)
    if light or passed:
        told = _lines(light) + "".join(
            f"{accepted.by(one)}: {_line(one.finding)}\n" for one in passed
        )
        ET.SubElement(case, "system-out").text = told


def _lines(findings: Iterable[Finding]) -> str:
    return "\n" + "".join(f"{_line(finding)}\n" for finding in findings)


def _line(finding: Finding) -> str:
    return (
        f"{finding.severity.value} {' '.join(words.place(finding).split())}: "
        f"{words.message(finding)}. {words.plain(finding.seen.remedy, _LONGEST)} [{finding.id}]"
    )
