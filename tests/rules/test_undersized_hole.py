from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Hole, Unchecked
from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Drills, Joints, Machine
from checker.read import read_board
from tests.handmade import PLAIN, seen
from tests.holed import hit, holed, unchecked

NAME = "undersized-hole"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
INCH = 25.4  # mm, exact


def joining(wire: float | None = 0.5, play: float = 0.1, **more: object) -> Process:
    return replace(PLAIN, joints=Joints(wire=wire, play=play), **more)


def via(size: float) -> Hole:
    return hit(10, 20, size, "ViaDrill")


@pytest.mark.parametrize(
    ("size", "states"),
    [
        (0.49, [State.NOT_MAKEABLE]),
        (0.5, [State.MARGINAL]),
        (0.59, [State.MARGINAL]),
        (0.596, []),
        (0.6, []),
        (0.9, []),
    ],
    ids=lambda value: str(value),
)
def test_the_wire_and_its_play_decide(size: float, states: list[State]) -> None:
    # Wire of 0.3 to 0.6 mm in a hole wider by 0.1 mm: common trade practice.
    assert [one.state for one in seen(NAME, holed(via(size)), joining())] == states


def test_the_smallest_hole_that_a_university_service_drills_takes_thin_wire() -> None:
    # 20 mil are the least hole of a milling service; 0.508 mm holds wire of 26 AWG, 0.405 mm.
    board = holed(via(0.020 * INCH))

    assert seen(NAME, board, joining(wire=0.405)) == []
    assert seen(NAME, board, joining(wire=0.511)) != []  # 24 AWG


def test_the_drill_that_serves_the_hole_counts() -> None:
    process = joining(drills=Drills((0.4, 0.6), tolerance=0.05))

    assert seen(NAME, holed(via(0.55)), process) == []
    (found,) = seen(NAME, holed(via(0.45)), process)
    assert found.measured == 0.4


def test_the_remedy_counts_ring_wander_and_both_ways_to_be_off() -> None:
    process = joining(
        ring=0.15,
        drills=Drills((0.4, 0.7, 1.0), wander=0.03),
        machine=Machine(registration=0.05, flip=0.15, backlash=0.04),
    )

    (found,) = seen(NAME, holed(via(0.4)), process)

    # 0.70 + 2 (0.15 + 0.03 + 0.05 + 0.02 + 0.15) = 1.50 mm.
    assert found.remedy == (
        "Make the hole 0.70 mm and its pad 1.50 mm wide, or use wire of 0.30 mm"
    )
    assert found.message == "Via hole of 0.40 mm, a wire of 0.50 mm wants 0.60 mm"
    assert (found.x, found.y, found.measured, found.limit) == (10.0, 20.0, 0.4, 0.6)


def test_a_skew_machine_wants_wider_pads() -> None:
    # 0.1 deg over a board of 100 mm: tan 0.1 deg = 0.0017453, 0.175 mm twice; 0.60 + 0.35 mm.
    (found,) = seen(NAME, holed(via(0.4)), joining(machine=Machine(skew=0.1)))

    assert found.remedy.startswith("Make the hole 0.60 mm and its pad 0.95 mm wide")


def test_a_rivet_is_named_and_no_wire_advised() -> None:
    process = replace(PLAIN, joints=Joints("rivet", wire=0.7, play=0.05))

    (found,) = seen(NAME, holed(via(0.6)), process)

    assert found.message == "Via hole of 0.60 mm, a rivet of 0.70 mm wants 0.75 mm"
    assert found.remedy.endswith("mm wide")


def test_holes_of_components_and_boards_of_one_side_are_left_out() -> None:
    lead = hit(10, 20, 0.3, "ComponentDrill")

    assert seen(NAME, holed(lead, hit(20, 20, 0.3, "MechanicalDrill")), joining()) == []
    assert seen(NAME, holed(via(0.3), sides=("bottom",)), joining()) == []
    assert unchecked(NAME, holed(via(0.3), sides=("bottom",)), joining(wire=None)) == []


def test_what_the_profile_or_the_files_leave_open_is_not_checked() -> None:
    subject = "holes for the wires of vias"

    assert unchecked(NAME, holed(via(0.3)), joining(wire=None)) == [
        Unchecked(subject, "the profile sets no joints.wire")
    ]
    assert unchecked(NAME, holed(read=False), joining()) == [Unchecked(subject, "no drill file")]


def test_small_holes_of_unknown_use_are_not_checked() -> None:
    board = holed(hit(-1, -1, 0.4))  # in the corner of copper that nobody names
    question = Unchecked(
        "holes for the wires of vias", "the files don't say whether 1 small hole is a via"
    )

    assert seen(NAME, board, joining()) == []
    assert unchecked(NAME, board, joining()) == [question]
    assert unchecked(NAME, board, joining(wire=0.3)) == []  # wide enough, whatever it is for


@pytest.mark.parametrize("function", ["ViaDrill", None])
def test_a_hit_that_a_larger_one_takes_away_is_no_hole(function: str | None) -> None:
    within = hit(-1, -1, 0.35, function), hit(-1, -1, 0.8)

    assert seen(NAME, holed(*within), joining()) == []
    assert unchecked(NAME, holed(*within), joining()) == []


def test_a_via_drilled_twice_is_told_once() -> None:
    assert len(seen(NAME, holed(via(0.3), via(0.3)), joining())) == 1


def test_the_bad_sample_tells_both_vias() -> None:
    found = check(read_board([BAD]), load_profile("cone-30-0.1")).findings

    assert [(one.seen.x, one.seen.y) for one in found] == [(13.0, 12.0), (27.0, 12.0)]
    assert {one.seen.measured for one in found} == {0.4}
    assert {one.seen.nets for one in found} == {("LINE",)}
