from __future__ import annotations

import json as standard
import math
from typing import Any

import numpy as np
import pytest

from checker.board import Unchecked
from checker.report import json
from checker.severity import Severity
from tests.report import made

REPORT_KEYS = ["schema", "board", "profile", "verdict", "findings", "causes", "unchecked"]
FINDING_KEYS = [
    "id",
    "rule",
    "severity",
    "state",
    "side",
    "x_mm",
    "y_mm",
    "measured_mm",
    "limit_mm",
    "nets",
    "pins",
    "message",
    "remedy",
    "cause",
]


def loaded(document: dict[str, Any]) -> dict[str, Any]:
    """The document as a reader that refuses NaN and infinity sees it."""

    def refuse(word: str) -> None:
        raise ValueError(word)

    result: dict[str, Any] = standard.loads(json.dumps(document), parse_constant=refuse)
    return result


def test_report_holds_what_its_schema_promises() -> None:
    report = made.report(made.board(), (made.finding(1), made.finding(2)))

    document = loaded(json.report_document(report))

    assert document["schema"] == "cutworthy.report/1"
    assert [key for key in document if key in REPORT_KEYS] == REPORT_KEYS
    assert document["verdict"] == "not-makeable"
    assert document["board"]["size_mm"] == [2.25, 1.0]
    assert document["board"]["layers"] == [
        {"side": "top", "islands": 2, "copper_mm2": 2.0, "nets": 2},
        {"side": "bottom", "islands": 1, "copper_mm2": 1.0, "nets": 1},
    ]
    assert (document["board"]["holes"], document["board"]["slots"]) == (1, 1)
    assert list(document["findings"][0]) == FINDING_KEYS
    assert document["causes"][0]["count"] == 2


def test_profile_opens_with_name_method_and_width_and_holds_every_resolved_value() -> None:
    document = loaded(json.profile_document(made.process()))

    assert list(document)[:3] == ["name", "method", "cut_width_mm"]
    assert document["cut_width_mm"] == {"least": 0.25, "nominal": 0.3, "most": 0.35}
    assert document["bit"] == {"shape": "cone", "angle": 30.0}
    assert document["limits_from"] == {"minimum_trace": "a table"}


def test_process_that_cuts_nothing_has_no_width() -> None:
    document = loaded(json.profile_document(made.process(cut=None)))

    assert document["cut_width_mm"] is None


def test_finding_without_a_place_or_a_length_has_nulls() -> None:
    finding = made.finding(1, side=None, x=None, y=None, measured=None, limit=math.inf)

    found = loaded(json.report_document(made.report(made.board(), (finding,))))["findings"][0]

    assert [found[key] for key in ("side", "x_mm", "y_mm", "measured_mm", "limit_mm")] == [None] * 5


def test_what_was_not_checked_is_listed_with_its_reason() -> None:
    report = made.report(made.board(), unchecked=(Unchecked("edges", "no outline"),))

    document = loaded(json.report_document(report))

    assert document["unchecked"] == [{"what": "edges", "why": "no outline"}]


def test_one_report_is_an_object_and_several_are_a_list_of_the_same_objects() -> None:
    report = made.report(made.board())

    one = json.reports_document([report])
    two = json.reports_document([report, report])

    assert one == json.report_document(report)
    assert two == {"schema": "cutworthy.reports/1", "reports": [one, one]}


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_that_json_lacks_gets_through(value: float) -> None:
    assert json.number(value) is None


def test_no_negative_zero() -> None:
    assert math.copysign(1, json.number(-1e-9) or 0.0) == 1


def test_values_of_a_profile_become_plain_json() -> None:
    resolved = {"drills": (0.8, 1.0), "source": np.float64(0.1), "odd": Severity.NOTE}

    document = loaded(json.profile_document(made.process(resolved=resolved)))

    assert document["drills"] == [0.8, 1.0]
    assert document["source"] == 0.1
    assert isinstance(document["odd"], str)
