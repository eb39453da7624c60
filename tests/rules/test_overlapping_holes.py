from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.handmade import PLAIN, seen
from tests.holed import hit, holed, slot, unchecked

NAME = "overlapping-holes"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
WEB = replace(PLAIN, web=0.4)


@pytest.mark.parametrize(
    ("pitch", "caught"),
    [(0.9, True), (1.0, True), (1.006, False), (1.5, False)],
    ids=["overlapping", "touching", "just apart", "apart"],
)
def test_hits_that_touch_are_told(pitch: float, caught: bool) -> None:
    # That a drill led into a hole's edge bends and snaps is common trade practice.
    found = seen(NAME, holed(hit(10, 10, 1.0), hit(10 + pitch, 10, 1.0)), WEB)

    assert [one.state for one in found] == [State.MARGINAL] * caught


def test_a_chain_of_hits_is_one_place_and_a_slot_takes_its_place() -> None:
    (found,) = seen(NAME, holed(*(hit(10 + 0.25 * k, 10, 1.0) for k in range(9))), WEB)

    assert found.message == "9 hits of 1.00 mm overlap by 0.75 mm, may not at all"
    assert found.remedy == "Draw a slot 1.00 mm wide and 3.00 mm long instead"
    assert (found.x, found.y) == pytest.approx((11.0, 10.0))
    assert found.measured == pytest.approx(0.75)


def test_three_hits_in_a_row_are_a_slot() -> None:
    (found,) = seen(NAME, holed(*(hit(10 + 0.5 * k, 10, 1.0) for k in range(3))), WEB)

    assert found.remedy == "Draw a slot 1.00 mm wide and 2.00 mm long instead"
    assert found.limit == 0.0


def test_two_hits_are_moved_apart_by_overlap_and_web() -> None:
    (found,) = seen(NAME, holed(hit(10, 10, 1.0), hit(10.8, 10, 0.8)), WEB)

    assert found.message == "2 hits of 0.80 and 1.00 mm overlap by 0.10 mm, may not at all"
    assert found.remedy == "Move them 0.50 mm apart"


def test_a_corner_of_hits_wants_a_cut_out() -> None:
    (found,) = seen(NAME, holed(hit(0, 0, 1.0), hit(0.8, 0, 1.0), hit(0.8, 0.8, 1.0)), WEB)

    assert found.remedy == "Draw one cut-out of 2.13 mm in place of the 3 hits"


def test_one_of_two_overlapping_vias_of_a_net_is_left_out() -> None:
    vias = (hit(10, 10, 0.9, "ViaDrill"), hit(10.5, 10, 0.9, "ViaDrill"))

    (found,) = seen(NAME, holed(*vias), WEB)

    assert found.remedy == "Leave out 1 of the 2 vias"


@pytest.mark.parametrize(
    ("second", "kept"), [(0.9, ""), (0.5, ", keep that of 0.90 mm")], ids=["twice", "pilot hole"]
)
def test_a_hole_within_another_is_a_remark(second: float, kept: str) -> None:
    (found,) = seen(NAME, holed(hit(10, 10, 0.9), hit(10, 10, second)), WEB)

    assert found.state is State.REMARK
    assert found.message.endswith("mm within each other, 1 makes the hole")
    assert found.remedy == "Leave out 1 of the 2 hits" + kept


def test_a_hit_into_a_slot_is_left_to_the_cutter() -> None:
    assert seen(NAME, holed(slot((10, 10), (14, 10), 1.0), hit(14.3, 10, 1.0)), WEB) == []


def test_what_the_files_leave_open_is_not_checked() -> None:
    heap = holed(*(hit(0.001 * (k % 30), 0.001 * (k // 30), 0.3) for k in range(900)))

    assert unchecked(NAME, holed(read=False), WEB) == [
        Unchecked("overlapping holes", "no drill file")
    ]
    assert unchecked(NAME, heap, WEB) == [
        Unchecked("overlapping holes", "too many holes lie within each other")
    ]
    assert unchecked(NAME, holed(), WEB) == []


def test_the_bad_sample_tells_its_row() -> None:
    (found,) = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    # Five hits of 1.0 mm, 0.5 mm from one to the next, about 15, 6.
    assert found.seen.measured == pytest.approx(0.5)
    assert (found.seen.x, found.seen.y) == pytest.approx((15.0, 6.0))
    assert "3.00 mm long" in found.seen.remedy
