"""What was not looked at, and what is odd about the files, is told whatever the format."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.commands.shared import tell_verdicts
from checker.findings import Report, State, Verdict
from checker.options import FORMATS, SEVERITIES
from checker.process.bit import Spread
from checker.report.documents import Run, document
from checker.report.judged import Judged
from tests.report import made

NO_FILE = "no drill file"
WHAT = tuple(f"check-{number}" for number in range(20))
UNCHECKED = (*(Unchecked(what, NO_FILE) for what in WHAT), Unchecked("the last", "odd units"))
DRAWN = ("svg", "gerber")  # pictures: of the files' oddities they say nothing
told_in = partial(pytest.mark.parametrize, "form")


def report(state: State | None = None, **changes: object) -> Report:
    found = () if state is None else (made.finding(1, state=state),)
    return replace(made.report(made.board(), found, UNCHECKED), **changes)


def told(form: str, *reports: Report) -> str:
    judged = tuple(Judged(one, made.facts(made.board()), (Path("tiny"),)) for one in reports)
    answer = document(Run(judged, SEVERITIES[:1], 0, 0.5), form, None)
    assert isinstance(answer, str)
    return " ".join(answer.split())


@told_in([form for form in FORMATS if form != "png"])
def test_all_that_was_not_checked_is_told_with_its_reason(form: str) -> None:
    text = told(form, report())

    assert [what for what in (*WHAT, "the last") if what not in text] == []
    assert NO_FILE in text
    assert "odd units" in text


@told_in(["text", "concise", "html", "github", "gerber"])
def test_what_was_not_checked_for_one_reason_is_told_once(form: str) -> None:
    assert told(form, report()).count(NO_FILE) == 1


@told_in([form for form in FORMATS if form not in ("png", *DRAWN)])
def test_a_remark_on_a_file_is_told(form: str) -> None:
    assert "unknown code ignored" in told(form, report())


def test_an_annotation_of_a_remark_stands_at_its_line() -> None:
    assert "::notice file=top.gbr,line=3,title=remark::unknown code" in told("github", report())
    assert " top.gbr:3: unknown code ignored " in told("concise", report())


@told_in(["text", "html", "svg"])
@pytest.mark.parametrize(
    ("verdict", "limited"),
    [(Verdict.MAKEABLE, True), (Verdict.MARGINAL, True), (Verdict.NOT_MAKEABLE, False)],
)
def test_a_verdict_that_may_be_too_good_says_so(form: str, verdict: Verdict, limited: bool) -> None:
    text = told(form, report(verdict=verdict))

    assert ("as far as it was checked" in text) is limited
    assert "as far as it was checked" not in told(form, report(verdict=verdict, unchecked=()))


def test_the_title_of_a_page_says_so_too() -> None:
    title = "<title>Makeable: tiny with cone, as far as it was checked</title>"

    assert title in told("html", report())


def test_the_index_of_a_page_says_so_too() -> None:
    text = told("html", report(), report())

    assert text.count("Makeable, as far as it was checked</td>") == 2


def test_the_last_word_of_a_command_says_so_too(capsys: pytest.CaptureFixture[str]) -> None:
    tell_verdicts([report()], Path("out.html"))

    said = capsys.readouterr().err
    assert said == "cutworthy: makeable with cone, as far as it was checked; see out.html\n"


@told_in(["text", "html", "concise", "github"])
def test_a_verdict_without_margin_says_so(form: str) -> None:
    alike = made.process(cut=Spread(0.3, 0.3, 0.3))

    assert "without margin" in told(form, report(process=alike))
    assert "without margin" not in told(form, report())


@told_in(["text", "html"])
def test_where_there_are_too_many_gaps_to_plan_relief_it_is_said(form: str) -> None:
    shut = report(State.NOT_MAKEABLE)
    said = "Too many gaps are too narrow to plan here what relief would do"

    assert said in told(form, shut)
    assert said not in told(form, replace(shut, relief=(1, 2)))
    assert said not in told(form, replace(shut, joined=()))


def test_a_layer_of_findings_names_what_was_not_checked_in_an_attribute_of_the_file() -> None:
    text = told("gerber", report())

    assert text.count("%TFCutworthyUnchecked,") == 1
    assert "%TFCutworthyUnchecked" not in told("gerber", report(unchecked=()))


def test_a_log_has_a_notification_for_each_remark() -> None:
    (run,) = json.loads(told("sarif", report()))["runs"]

    (invocation,) = run["invocations"]
    texts = [one["message"]["text"] for one in invocation["toolExecutionNotifications"]]
    assert texts[-1] == "Remark: top.gbr:3: unknown code ignored"
