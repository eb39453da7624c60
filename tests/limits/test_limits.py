"""All that is asked of a process: vias, pins, boards, and what is told where nothing is set."""

from __future__ import annotations

import subprocess
import sys

import pytest
from msgspec.structs import replace

from checker.findings import Verdict
from checker.limits import Limits, specimens
from checker.limits.asked import answers
from checker.limits.limits import Asking, unset
from checker.limits.published import published
from checker.limits.sheet import judged
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Joints, Stock
from tests.handmade import RULES, cutting
from tests.limits.made import built_in, plain

DEFAULT = "cone-30-0.1"


def length(limits: Limits, name: str) -> float | None:
    return next(one.sure.mm for one in limits.lengths if one.question.name == name)


def test_default_process_sets_what_its_profile_says() -> None:
    """minimum_trace 0.25, edge and holes 0.5, web 0.4 mm; the cut is up to 0.270 mm wide."""
    told = {one.question.name: (one.sure.mm, one.sure.mil) for one in built_in(DEFAULT).lengths}

    assert told == {
        "Trace width": (0.25, 10),
        "Clearance between traces": (0.3, 11),
        "Clearance of pads to solder": (0.3, 12),
        "Clearance of a pour round pads": (0.3, 12),
        "Pitch of pads half a pitch wide": (0.6, 24),
        "Copper to the edge": (0.5, 20),
        "Hole to the edge": (0.5, 20),
        "Hole to hole": (0.4, 16),
    }


def test_via_takes_its_wire_with_a_drill_at_hand() -> None:
    process = load_profile(DEFAULT)
    via = built_in(DEFAULT).via

    assert via is not None
    assert process.joints.wire is not None
    assert via.hole in (process.drills.sizes or ())
    assert via.hole == pytest.approx(process.joints.wire + process.joints.play)


def test_pad_of_a_via_passes_and_one_step_less_does_not() -> None:
    process, via = load_profile(DEFAULT), built_in(DEFAULT).via
    assert via is not None
    assert via.pad.sure.mm is not None
    pads = [via.pad.sure.mm, via.pad.sure.mm - 0.05]

    found = judged(
        [specimens.via_of(via.hole, pad) for pad in pads], process, RULES, ("top", "bottom")
    )

    assert [len(one) > 0 for one in found] == [False, True]


@pytest.mark.parametrize("name", [DEFAULT, "laser"])
def test_traces_between_pins_pass_and_one_more_does_not(name: str) -> None:
    process, limits = load_profile(name), built_in(name)
    width = length(limits, "Trace width") or 0.0
    clearance = length(limits, "Clearance between traces") or 0.0
    fitting = [one for one in limits.between if one.sure is not None]

    as_many, more = (
        [
            specimens.between_pins(one.pins, (one.sure or 0) + extra, width, clearance)
            for one in fitting
        ]
        for extra in (0, 1)
    )

    found = judged([one for one in as_many if one is not None], process, RULES)
    too_many = judged([one for one in more if one is not None], process, RULES)
    assert found == [()] * len(fitting)
    assert () not in too_many
    assert len(fitting) >= 3


def test_one_trace_between_pins_needs_its_width_and_two_clearances() -> None:
    """Between pads of 1.6 mm at 2.54 mm lie 0.94 mm: a trace of 0.3 and two gaps of 0.3 fit."""
    process = replace(cutting(0.25, 0.3), minimum_trace=0.3)

    questions = Asking(process, RULES).questions()[:2]
    found = Asking(process, RULES).between(*answers(questions, process, RULES))

    assert {one.pins.name: one.sure for one in found[:3]} == {
        "DIP": 1,
        "DIP, level C": 1,
        "Header 2.54 mm": 0,
    }


def machine_of(travel: tuple[float, float] | None, blank: tuple[float, float] | None) -> Process:
    process = load_profile(DEFAULT)
    machine = replace(process.machine, travel=travel, margin=8.0)
    return replace(process, machine=machine, stock=Stock(1.6, 1, blank))


@pytest.mark.parametrize(
    ("travel", "blank", "largest"),
    [
        # A cutter of 1 mm and a margin of 8 mm go round: 18 mm less each way.
        ((180.0, 300.0), None, (282, 162)),
        ((300.0, 180.0), None, (282, 162)),
        ((180.0, 300.0), (100.0, 160.0), (142, 82)),
        ((200.5, 100.25), None, (182, 82)),
        ((27.0, 27.0), None, (0, 0)),
        (None, None, None),
    ],
)
def test_largest_board_is_what_the_machine_reaches_less_what_goes_round(
    travel: tuple[float, float] | None,
    blank: tuple[float, float] | None,
    largest: tuple[int, int] | None,
) -> None:
    assert Asking(machine_of(travel, blank), RULES).largest() == largest


def test_size_of_the_machine_leaves_all_other_answers_alone() -> None:
    small, usual = Asking(machine_of((30.0, 30.0), None), RULES), built_in(DEFAULT)

    always = small.always()
    lands = small.lands(always)
    both_sides, via, _ = small.via(always)

    assert always == both_sides == ()
    assert via is not None
    assert usual.via is not None
    assert (via.hole, via.pad.sure) == (usual.via.hole, usual.via.pad.sure)
    assert [one.verdict for one in lands] == [one.verdict for one in usual.lands]


def test_what_a_profile_does_not_set_is_named() -> None:
    limits = plain()

    assert limits.via is None
    free = {one.question.name for one in limits.lengths if one.sure.free}
    assert free == {"Copper to the edge", "Hole to the edge", "Hole to hole"}
    assert {"ring", "web", "drills.sizes", "outline.edge_clearance"} <= set(limits.unset)
    assert limits.largest is None


def test_default_process_sets_all_that_is_asked() -> None:
    assert built_in(DEFAULT).unset == ()


def test_keys_of_a_group_are_looked_up_in_it() -> None:
    process = load_profile(DEFAULT)

    assert unset(process, ("web", "drills.sizes", "stock.size")) == ("stock.size",)


def test_process_of_one_side_makes_no_via() -> None:
    both_sides, via, _ = Asking(replace(load_profile(DEFAULT), layer_count=1), RULES).via(())

    assert via is None
    assert {one.rule for one in both_sides} == {"excess-layers"}


def test_no_drill_for_the_wire_makes_no_via() -> None:
    process = load_profile(DEFAULT)
    process = replace(process, drills=replace(process.drills, sizes=(0.3, 0.4)))

    _, via, found = Asking(process, RULES).via(())

    assert via is None
    assert "undersized-hole" in {one.rule for one in found}


def test_wire_as_thick_as_its_hole_makes_a_via_with_luck() -> None:
    process = load_profile(DEFAULT)
    joints: Joints = replace(process.joints, wire=0.6, play=0.1)
    drills = replace(process.drills, sizes=(0.6,))

    _, via, _ = Asking(replace(process, joints=joints, drills=drills), RULES).via(())

    assert via is not None
    assert via.with_luck


def test_bit_that_leaves_the_foil_makes_no_land_pattern() -> None:
    process = load_profile(DEFAULT)
    asking = Asking(replace(process, bed_error=0.2), RULES)

    always = asking.always()

    assert "uncut-foil" in {one.rule for one in always}
    assert Verdict.MAKEABLE not in {one.verdict for one in asking.lands(always)}


def test_leads_through_holes_go_into_perfboard_and_flat_parts_do_not() -> None:
    limits = built_in("perfboard")

    verdict = {one.land.family: one.verdict for one in limits.lands}
    assert verdict["DIP, usual pads"] is Verdict.MAKEABLE
    assert verdict["SOIC 1.27 mm"] is Verdict.NOT_MAKEABLE
    assert [*limits.lengths, *limits.leads, *limits.between] == []
    assert limits.via is None


def test_every_published_row_is_told() -> None:
    limits, tables = built_in(DEFAULT), published()

    assert [one.land for one in limits.lands] == list(tables.lands)
    assert [lead for lead, _ in limits.leads] == list(tables.leads)
    assert [one.pins for one in limits.between] == list(tables.pins)


def test_two_runs_say_the_same_bytes() -> None:
    command = [sys.executable, "-m", "checker", "reach", DEFAULT, "--format", "yaml"]
    runs = [
        subprocess.run(
            command, capture_output=True, check=True, env={"PYTHONHASHSEED": seed, "PATH": ""}
        ).stdout
        for seed in ("1", "2")
    ]

    assert runs[0] == runs[1]
    assert len(runs[0]) > 1000
