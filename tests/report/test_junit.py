from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.findings import Report
from checker.options import SEVERITIES
from checker.report.junit import junit
from checker.severity import Severity
from tests.report import made
from tests.report.judging import evil_board, judge, sample

GAP, CLEAN = "rules/uncuttable-gap/bad", "rules/uncuttable-gap/good"
ERRORS = SEVERITIES[:1]


def suites(*reports: Report, severities: tuple[str, ...] = ERRORS) -> ET.Element:
    return ET.fromstring(junit(reports, severities))


def case(root: ET.Element, name: str) -> ET.Element:
    (found,) = root.iterfind(f".//testcase[@name='{name}']")
    return found


def children(root: ET.Element, name: str) -> list[str]:
    return [child.tag for child in case(root, name)]


def report(severity: Severity, **changes: object) -> Report:
    """One finding of the rule uncuttable-gap, as heavy as said; what else was asked."""
    found = replace(made.finding(1), severity=severity)
    asked = {"uncuttable-gap": (), "thin-copper": ()}
    whole = made.report(made.board(), (found,))
    return replace(whole, **{"asked": asked, **changes})


def test_every_rule_asked_is_a_case_and_one_without_a_finding_passes() -> None:
    root = suites(sample(CLEAN).report)

    names = [one.get("name") for one in root.iterfind(".//testcase")]
    assert names == list(sample(CLEAN).report.asked)
    assert children(root, "uncuttable-gap") == []
    assert root.get("failures") == "0"


def test_all_places_of_a_rule_are_one_failure() -> None:
    found = sample(GAP).report.findings

    (failure,) = case(suites(sample(GAP).report), "uncuttable-gap")

    assert failure.tag == "failure"
    assert (failure.get("message") or "").startswith("2 places: Gap 0.150 mm")
    assert failure.get("type") == "not makeable"
    assert re.findall(r"\[(\w+)\]$", failure.text or "", re.MULTILINE) == [one.id for one in found]


@pytest.mark.parametrize(
    ("severity", "least", "tag"),
    [
        (Severity.ERROR, "error", "failure"),
        (Severity.WARNING, "error", "system-out"),
        (Severity.WARNING, "warning", "failure"),
        (Severity.NOTE, "warning", "system-out"),
        (Severity.NOTE, "note", "failure"),
    ],
)
def test_a_case_fails_where_the_exit_status_would(severity: Severity, least: str, tag: str) -> None:
    severities = SEVERITIES[: SEVERITIES.index(least) + 1]

    root = suites(report(severity), severities=severities)

    assert children(root, "uncuttable-gap") == [tag]
    assert "uncuttable-gap-1" in (case(root, "uncuttable-gap")[0].text or "")


def test_a_rule_that_could_not_look_is_skipped_with_its_reason() -> None:
    blind = Unchecked("width of copper", "the profile sets no minimum_trace")
    asked = {"uncuttable-gap": (), "thin-copper": (blind,)}

    root = suites(report(Severity.ERROR, asked=asked, unchecked=(blind,)))

    (skipped,) = case(root, "thin-copper")
    assert (skipped.tag, skipped.get("message")) == ("skipped", blind.why)
    assert (root.get("tests"), root.get("failures"), root.get("skipped")) == ("2", "1", "1")


def test_what_no_rule_tells_of_is_a_skipped_case_of_its_own() -> None:
    blind = Unchecked("holes", "no drill file")

    root = suites(report(Severity.ERROR, unchecked=(blind,)))

    (skipped,) = case(root, "holes")
    assert (skipped.tag, skipped.get("message")) == ("skipped", blind.why)


def test_counts_are_those_of_the_cases() -> None:
    root = suites(sample(GAP).report, sample(CLEAN).report)

    assert [suite.get("name") for suite in root] == [
        "bad with cone-30-0.1",
        "good with cone-30-0.1",
    ]
    for whole in (root, *root):
        assert whole.get("tests") == str(len(whole.findall(".//testcase")))
        assert whole.get("failures") == str(len(whole.findall(".//failure")))
        assert whole.get("skipped") == str(len(whole.findall(".//skipped")))


def test_names_that_try_to_do_harm_are_text(tmp_path: Path) -> None:
    judged = judge(evil_board(tmp_path))

    text = junit([judged.report], ERRORS)

    assert "<script>" not in text
    assert text.isascii()
    assert "<script>alert(1)</script>" in (
        case(ET.fromstring(text), "uncuttable-gap")[0].text or ""
    )


def test_letters_that_xml_forbids_are_codes() -> None:
    board = made.board("tiny\x00\x1b", (made.EVIL, None))
    evil = made.finding(1, message=f"Gap 0.1 mm at {made.EVIL}\ufffe\ud800", nets=(made.EVIL,))

    root = suites(made.report(board, (evil,)))

    assert r"\x1b[31m\nB\u202e" in (case(root, "uncuttable-gap")[0].text or "")
