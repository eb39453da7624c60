from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.shop import Joints
from checker.read import read_board
from tests.handmade import PLAIN, seen
from tests.holed import drilling, hit, holed, slot, unchecked

NAME = "unowned-drill"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
INCH = 25.4  # mm, exact

# The number drills and the 64ths, in inches, as handbooks of machinists table them.
NUMBER = {80: 0.0135, 76: 0.0200, 70: 0.0280, 67: 0.0320, 61: 0.0390, 60: 0.0400, 55: 0.0520}
SIXTYFOURTHS = {n: n / 64 for n in (1, 2, 3, 4, 8)}
METRIC = tuple(k / 10 for k in range(3, 13))


@pytest.mark.parametrize(
    ("number", "remedy"),
    [
        (80, "Use a drill of 0.40 mm instead of 0.34 mm"),
        (76, None),
        (70, None),
        (67, None),
        (61, None),
        (60, None),
    ],
    ids=lambda value: str(value),
)
def test_number_drills_by_a_metric_set(number: int, remedy: str | None) -> None:
    # Within 0.03 mm: #76 is 0.508, #70 0.7112, #67 0.8128, #61 0.9906, #60 1.016, but #80 0.3429.
    board = holed(hit(10, 10, NUMBER[number] * INCH))

    found = seen(NAME, board, drilling(*METRIC, tolerance=0.03))

    assert [one.remedy for one in found] == ([remedy] if remedy else [])


def test_a_hole_of_number_67_by_an_exact_metric_set() -> None:
    (found,) = seen(NAME, holed(hit(10, 10, NUMBER[67] * INCH)), drilling(*METRIC, tolerance=0.01))

    assert found.message == "Hole of 0.81 mm, the next drills at hand are 0.80 and 0.90 mm"
    assert found.remedy == "Use a drill of 0.90 mm instead of 0.81 mm"
    assert found.measured == pytest.approx(0.8128)
    assert found.limit == 0.8
    assert (found.x, found.y) == (10.0, 10.0)


@pytest.mark.parametrize(("size", "nearest"), [(0.84, 0.8), (0.87, 0.9)])
def test_the_limit_is_the_nearest_drill_on_either_side(size: float, nearest: float) -> None:
    (found,) = seen(NAME, holed(hit(10, 10, size)), drilling(*METRIC, tolerance=0.01))

    assert found.limit == nearest


def test_a_metric_hole_by_drills_in_64ths() -> None:
    # 1/32 in is 0.794 mm, 3/64 in 1.191 mm: 0.8 mm is one of them, 1.0 mm lies between.
    process = drilling(*(size * INCH for size in SIXTYFOURTHS.values()), tolerance=0.05)

    assert seen(NAME, holed(hit(10, 10, 0.8)), process) == []
    (found,) = seen(NAME, holed(hit(10, 10, 1.0)), process)
    assert found.remedy == "Use a drill of 1.19 mm instead of 1.00 mm"


@pytest.mark.parametrize(
    ("size", "states"),
    [
        (0.95, []),
        (0.949, [State.MARGINAL]),
        (1.05, []),
        (1.051, [State.NOT_MAKEABLE]),
        (2.69, [State.NOT_MAKEABLE]),
        (2.70, [State.MARGINAL]),
        (3.06, [State.NOT_MAKEABLE]),
    ],
    ids=lambda value: str(value),
)
def test_tolerance_and_the_next_wider_drill_decide(size: float, states: list[State]) -> None:
    # Holes 0.3 mm wider than asked for make poor joints: common trade practice.
    process = drilling(1.0, 3.0, tolerance=0.05)

    assert [one.state for one in seen(NAME, holed(hit(10, 10, size)), process)] == states


def test_without_a_wider_drill_one_is_to_buy() -> None:
    (found,) = seen(NAME, holed(hit(10, 10, 1.5)), drilling(1.0, 3.0))

    assert found.remedy == "Buy a drill of 1.50 mm"


@pytest.mark.parametrize(
    ("size", "caught"), [(1.19, True), (1.2, False), (6.0, False)], ids=["close", "room", "wide"]
)
def test_wide_holes_are_milled_round(size: float, caught: bool) -> None:
    # A cutter wants 0.2 mm to go round in: common trade practice.
    found = seen(NAME, holed(hit(10, 10, size)), drilling(0.8, cutter=1.0))

    assert bool(found) == caught


def test_slots_and_vias_to_be_drawn_anew_are_left_out() -> None:
    process = replace(drilling(0.8), joints=Joints(wire=0.5, play=0.1))
    via = hit(20, 10, 0.3, "ViaDrill")

    assert seen(NAME, holed(slot((1, 1), (3, 1), 0.7), via), process) == []
    assert len(seen(NAME, holed(via, sides=("bottom",)), process)) == 1
    assert len(seen(NAME, holed(replace(via, diameter=0.7)), process)) == 1


@given(
    st.lists(st.floats(0.2, 4), min_size=1, max_size=6),
    st.lists(st.floats(0.2, 4), min_size=1, max_size=6),
    st.floats(0.2, 4),
)
@settings(deadline=None)
def test_one_more_drill_never_finds_more(
    holes: list[float], sizes: list[float], more: float
) -> None:
    board = holed(*(hit(10.0 * k, 10, size) for k, size in enumerate(holes)))
    few, many = drilling(*sizes, tolerance=0.05), drilling(*sorted([*sizes, more]), tolerance=0.05)

    assert {one.x for one in seen(NAME, board, many)} <= {one.x for one in seen(NAME, board, few)}


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    assert unchecked(NAME, holed(hit(10, 10, 1)), PLAIN) == [
        Unchecked("drills for the holes", "the profile sets no drills.sizes")
    ]
    assert unchecked(NAME, holed(read=False), drilling(1.0)) == [
        Unchecked("drills for the holes", "no drill file")
    ]
    assert unchecked(NAME, holed(), drilling(1.0)) == []


def test_the_bad_sample_tells_both_holes() -> None:
    found = check(read_board([BAD]), load_profile(BAD.parent / "profile.yaml")).findings

    # A resistor's leads at 15 ± 5.08, in holes of 0.9 mm; the drills are 0.8, 1.0 and 3.0 mm.
    assert [(one.seen.x, one.seen.y) for one in found] == [(9.92, 6.0), (20.08, 6.0)]
    assert {one.seen.remedy for one in found} == {
        "Use a drill of 1.00 mm instead of 0.90 mm, which takes 0.050 mm off its ring"
    }
