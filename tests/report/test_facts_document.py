from __future__ import annotations

import json as standard
import math
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Outline, Unchecked
from checker.report import json
from checker.report.facts_document import _islands, facts_document
from tests.report import made


def loaded(document: dict[str, Any]) -> dict[str, Any]:
    """The document as a reader that refuses NaN and infinity sees it."""

    def refuse(word: str) -> None:
        raise ValueError(word)

    result: dict[str, Any] = standard.loads(json.dumps(document), parse_constant=refuse)
    return result


def test_facts_number_the_islands_through_all_sides() -> None:
    document = loaded(facts_document(made.facts(made.board())))

    assert [(island["id"], island["side"]) for island in document["islands"]] == [
        (0, "top"),
        (1, "top"),
        (2, "bottom"),
    ]
    assert [island["net"] for island in document["islands"]] == ["GND", None, "GND"]


def test_gap_names_both_sides_in_the_order_of_its_islands() -> None:
    gap = loaded(facts_document(made.facts(made.board())))["gaps"][0]

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
    document = loaded(facts_document(made.facts(made.board())))

    assert document["gaps"][1]["widest_cut_mm"] is None
    assert document["reach_mm"] == 0.5


def test_lengths_are_rounded_to_a_tenth_of_a_micrometre() -> None:
    neck = loaded(facts_document(made.facts(made.board())))["necks"][0]

    assert (neck["width_mm"], neck["length_mm"]) == (0.1235, 0.2)


def test_slot_lies_at_the_middle_of_its_path() -> None:
    hole, slot = loaded(facts_document(made.facts(made.board())))["holes"]

    assert (hole["x_mm"], hole["y_mm"], hole["plated"], hole["path_mm"]) == (0.5, 0.5, True, None)
    assert (slot["x_mm"], slot["y_mm"], slot["plated"]) == (3.0, 1.0, None)
    assert slot["path_mm"] == [[3.0, 0.0], [3.0, 2.0]]


def test_without_an_outline_the_edge_is_null_and_named() -> None:
    board = replace(made.board(), outline=None)

    document = loaded(facts_document(made.facts(board)))

    assert set(document["not_measured"]) == {"holes[].edge_mm", "edges"}
    assert {hole["edge_mm"] for hole in document["holes"]} == {None}
    assert document["edges"] == []


def test_without_a_drill_file_holes_are_none_and_named() -> None:
    unread = replace(made.board(), holes=(), unchecked=(Unchecked("holes", "no drill file"),))

    document = loaded(facts_document(made.facts(unread)))

    assert document["holes"] == []
    assert "holes" in document["not_measured"]
    assert "holes" not in loaded(facts_document(made.facts(made.board())))["not_measured"]


def test_holes_are_told_with_ring_web_and_edge() -> None:
    edge = Outline(shapely.MultiPolygon([shapely.box(-0.5, -0.5, 5, 3)]), "edge.gbr", "drawn")
    board = replace(made.board(), outline=edge)

    document = loaded(facts_document(made.facts(board)))

    # A hole at 0.5, 0.5 in a square of 1 mm; the slot from 3, 0 to 3, 2.
    hole, slot = document["holes"]
    radius = hole["diameter_mm"] / 2
    assert hole["rings"]["top"] == pytest.approx(0.5 - radius)
    assert hole["edge_mm"] == pytest.approx(1 - radius)
    assert hole["web_mm"] == slot["web_mm"] == pytest.approx(2.5 - radius - slot["diameter_mm"] / 2)
    assert min(row["distance_mm"] for row in document["edges"]) == pytest.approx(0.5)


def test_side_that_was_not_measured_is_named() -> None:
    document = loaded(facts_document(made.facts_without_the_bottom(made.board())))

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

    island = next(iter(_islands(layer, 0)))

    assert shapely.contains_xy(strip, *island["point_mm"])


def test_document_is_ascii_and_the_same_every_time() -> None:
    board = made.board(name="Türöffner\u202e", nets=("Ω", None))

    texts = {json.dumps(facts_document(made.facts(board))) for _ in range(3)}

    assert len(texts) == 1
    assert texts.pop().isascii()
