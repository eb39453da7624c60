from __future__ import annotations

import dataclasses
import json as standard
import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.board import Outline, Unchecked
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


def test_facts_number_the_islands_through_all_sides() -> None:
    document = loaded(json.facts_document(made.facts(made.board())))

    assert [(island["id"], island["side"]) for island in document["islands"]] == [
        (0, "top"),
        (1, "top"),
        (2, "bottom"),
    ]
    assert [island["net"] for island in document["islands"]] == ["GND", None, "GND"]


def test_gap_names_both_sides_in_the_order_of_its_islands() -> None:
    gap = loaded(json.facts_document(made.facts(made.board())))["gaps"][0]

    assert gap == {
        "side": "top",
        "islands": [0, 1],
        "nets": ["GND", None],
        "pins": ["U1.1", "U1.2"],
        "x_mm": 1.125,
        "y_mm": 0.5,
        "distance_mm": 0.25,
        "widest_cut_mm": 0.25,
    }


def test_gap_wider_than_the_reach_is_null_and_the_reach_is_told() -> None:
    document = loaded(json.facts_document(made.facts(made.board())))

    assert document["gaps"][1]["widest_cut_mm"] is None
    assert document["reach_mm"] == 0.5


def test_lengths_are_rounded_to_a_tenth_of_a_micrometre() -> None:
    neck = loaded(json.facts_document(made.facts(made.board())))["necks"][0]

    assert (neck["width_mm"], neck["length_mm"]) == (0.1235, 0.2)


def test_slot_lies_at_the_middle_of_its_path() -> None:
    hole, slot = loaded(json.facts_document(made.facts(made.board())))["holes"]

    assert (hole["x_mm"], hole["y_mm"], hole["plated"], hole["path_mm"]) == (0.5, 0.5, True, None)
    assert (slot["x_mm"], slot["y_mm"], slot["plated"]) == (3.0, 1.0, None)
    assert slot["path_mm"] == [[3.0, 0.0], [3.0, 2.0]]


def test_without_an_outline_the_edge_is_null_and_named() -> None:
    board = dataclasses.replace(made.board(), outline=None)

    document = loaded(json.facts_document(made.facts(board)))

    assert set(document["not_measured"]) == {"holes[].edge_mm", "edges"}
    assert {hole["edge_mm"] for hole in document["holes"]} == {None}
    assert document["edges"] == []


def test_holes_are_told_with_ring_web_and_edge() -> None:
    edge = Outline(shapely.MultiPolygon([shapely.box(-0.5, -0.5, 5, 3)]), "edge.gbr", "drawn")
    board = dataclasses.replace(made.board(), outline=edge)

    document = loaded(json.facts_document(made.facts(board)))

    # A hole at 0.5, 0.5 in a square of 1 mm; the slot from 3, 0 to 3, 2.
    hole, slot = document["holes"]
    radius = hole["diameter_mm"] / 2
    assert hole["rings"]["top"] == pytest.approx(0.5 - radius)
    assert hole["edge_mm"] == pytest.approx(1 - radius)
    assert hole["web_mm"] == slot["web_mm"] == pytest.approx(2.5 - radius - slot["diameter_mm"] / 2)
    assert min(row["distance_mm"] for row in document["edges"]) == pytest.approx(0.5)


def test_side_that_was_not_measured_is_named() -> None:
    document = loaded(json.facts_document(made.facts_without_the_bottom(made.board())))

    assert "gaps and necks on bottom" in document["not_measured"]


@given(
    turn=st.floats(0, math.tau),
    width=st.floats(1e-3, 1e-2),
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
)
def test_point_of_an_island_lies_inside_it_as_printed(
    turn: float, width: float, x: float, y: float
) -> None:
    strip = shapely.affinity.rotate(shapely.box(x, y, x + 1, y + width), turn, use_radians=True)
    layer = made.layer("top", ("GND",))
    layer.islands[0] = strip

    island = next(iter(json._islands(layer, 0)))

    assert shapely.contains_xy(strip, *island["point_mm"])


def test_document_is_ascii_and_the_same_every_time() -> None:
    board = made.board(name="Türöffner\u202e", nets=("Ω", None))

    texts = {json.dumps(json.facts_document(made.facts(board))) for _ in range(3)}

    assert len(texts) == 1
    assert texts.pop().isascii()


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
