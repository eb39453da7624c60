from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.handmade import seen
from tests.holed import drilling, hit, holed, slot, unchecked

NAME = "narrow-slot"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


@pytest.mark.parametrize(
    ("width", "states"),
    [
        (0.6, [State.MARGINAL]),
        (0.64, [State.MARGINAL]),
        (0.7, [State.NOT_MAKEABLE]),
        (0.99, [State.NOT_MAKEABLE]),
        (0.996, []),
        (1.0, []),
        (2.0, []),
    ],
    ids=lambda value: str(value),
)
def test_cutter_and_drills_decide(width: float, states: list[State]) -> None:
    # Router bits of 0.8 to 1.5 mm cut out boards: common trade practice.
    board = holed(slot((10, 10), (14, 10), width))

    found = seen(NAME, board, drilling(0.6, tolerance=0.05, cutter=1.0))

    assert [one.state for one in found] == states


def test_the_slots_of_a_connector_and_their_remedies() -> None:
    # Shell slots of USB connectors are 0.6 mm wide in makers' land patterns.
    board = holed(slot((10, 10), (10, 11.5), 0.6))

    (found,) = seen(NAME, board, drilling(0.6, cutter=1.0))
    (without,) = seen(NAME, board, drilling(0.8, cutter=1.0))

    assert found.message == "Slot 0.60 mm wide, the cutter is 1.00 mm"
    assert without.remedy == "Widen the slot to 1.00 mm or buy a cutter of 0.60 mm"
    assert found.remedy == without.remedy + ", or drill a row of 0.60 mm and file"
    assert (found.x, found.y) == (10.0, 10.75)
    assert (found.measured, found.limit) == (0.6, 1.0)


@given(st.lists(st.floats(0.3, 3), max_size=6), st.floats(0.3, 3), st.floats(0.3, 3))
@settings(deadline=None)
def test_a_wider_cutter_never_enters_more(widths: list[float], one: float, other: float) -> None:
    board = holed(*(slot((10, 9.0 * k), (14, 9.0 * k), width) for k, width in enumerate(widths)))
    narrow, wide = sorted((one, other))

    assert {found.y for found in seen(NAME, board, drilling(0.6, cutter=narrow))} <= {
        found.y for found in seen(NAME, board, drilling(0.6, cutter=wide))
    }


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    board = holed(slot((10, 10), (14, 10), 0.6))

    assert unchecked(NAME, board, drilling(0.6)) == [
        Unchecked("width of slots", "the profile sets no outline.cutter")
    ]
    assert unchecked(NAME, holed(read=False), drilling(0.6, cutter=1.0)) == [
        Unchecked("width of slots", "no drill file")
    ]
    assert unchecked(NAME, holed(hit(10, 10, 0.6)), drilling(0.6)) == []


def test_the_bad_sample_tells_both_slots() -> None:
    found = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert [(one.seen.x, one.seen.y, one.seen.measured) for one in found] == [
        (6.0, 7.0, 0.6),
        (24.0, 7.0, 0.6),
    ]
    assert [one.seen.pins for one in found] == [("J1.1",), ("J2.1",)]
