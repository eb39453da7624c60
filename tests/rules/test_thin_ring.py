from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Hole
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Drills, Joints, Machine
from checker.read import read_board
from tests.coppered import Drawn, coppered, disk, drilled, trace
from tests.handmade import PLAIN, seen
from tests.holed import holed, unchecked

NAME = "thin-ring"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
OFF = Machine(registration=0.05, flip=0.15, backlash=0.03)


def wanting(ring: float | None, machine: Machine = OFF, wander: float = 0.03) -> Process:
    return replace(PLAIN, ring=ring, machine=machine, drills=Drills(wander=wander))


def joint(pad: float, drill: float = 1.0, both: bool = False, goes: bool = True) -> Facts:
    """A lead at 10, 10 in a round pad, on one side or on both; a trace leaves it."""
    copper = [Drawn(disk(10, 10, pad), "NET", pin="J1.1")]
    copper += [trace("NET", 0.3, (10, 10), (20, 10))] * goes
    hole = drilled(10, 10, drill)
    return coppered(hole, top=copper if both else None, bottom=[*copper, _far_away()])


def _far_away() -> Drawn:
    return Drawn(shapely.box(30, 0, 31, 20), "OTHER")


# What a milled board keeps is 0.15 mm of ring round holes without plating: IPC-2221, from memory.
@pytest.mark.parametrize(
    ("pad", "caught"),
    [(1.48, True), (1.4904, False), (1.5, False)],
    ids=["below", "within the error of drawing", "above"],
)
def test_registration_wander_and_half_the_backlash_are_taken_off(pad: float, caught: bool) -> None:
    # 0.15 + 0.05 + 0.03 + 0.03 / 2 = 0.245 mm of ring, a pad of 1.49 mm.
    assert len(seen(NAME, joint(pad), wanting(0.15))) == caught


@pytest.mark.parametrize(("pad", "thin"), [(1.196, 1), (1.184, 1), (1.176, 0)])
def test_a_ring_of_which_nothing_is_left_is_thin_and_one_that_breaks_is_not(
    pad: float, thin: int
) -> None:
    # 0.095 mm are taken off: 0.003 mm are left, or lack, or 0.007 mm lack.
    found = seen(NAME, joint(pad), wanting(0.15))

    left = [max(0.0, pad / 2 - 0.595)] * thin
    assert [one.measured for one in found] == pytest.approx(left, abs=2e-4)
    assert len(seen("broken-ring", joint(pad), wanting(0.15))) == 1 - thin


def test_the_message_adds_up_and_tells_the_pad() -> None:
    (found,) = seen(NAME, joint(1.4), wanting(0.15))

    assert found.message == (
        "Ring 0.200 mm, 0.105 mm is left once registration, drill wander and backlash are counted, "
        "0.150 mm is wanted: J1.1 (NET)"
    )
    assert found.remedy == "Make the pad 0.10 mm wider, or the hole 0.10 mm smaller"
    assert (found.x, found.y, found.side, found.pins) == (10, 10, "bottom", ("J1.1",))
    assert found.measured == pytest.approx(0.105, abs=0.001)
    assert found.limit == 0.15
    assert found.state is State.MARGINAL


# A wire of 0.5 mm and its play want 0.6 mm: the pad that would do for the hole as drawn would not
# do for the hole that the wire needs. 0.60 + 2 (0.15 + 0.095 + 0.15) = 1.39 mm.
@pytest.mark.parametrize(
    ("drill", "remedy"),
    [
        (0.3, "Make the hole 0.60 mm and its pad 1.39 mm wide"),
        (0.58, "Make the hole 0.60 mm and its pad 1.39 mm wide"),
        (0.6, "Make the pad 0.20 mm wider"),
    ],
)
def test_where_the_wire_enters_no_via_hole_and_pad_both_grow(drill: float, remedy: str) -> None:
    copper = [Drawn(disk(10, 10, drill + 0.6), "NET"), trace("NET", 0.2, (10, 10), (20, 10))]
    board = coppered(drilled(10, 10, drill, function="ViaDrill"), top=copper, bottom=copper)
    process = replace(wanting(0.15), joints=Joints(wire=0.5, play=0.1))

    (found,) = seen(NAME, board, process)

    assert found.measured == pytest.approx(0.3 - 0.245, abs=0.001)
    assert found.remedy == remedy


def test_the_side_cut_second_bears_the_flip_as_well() -> None:
    found = seen(NAME, joint(1.6, both=True), wanting(0.15))

    # 0.3 - 0.095 = 0.205 on the first side, 0.055 on the other one.
    assert [one.measured for one in found] == [pytest.approx(0.055, abs=0.001)]


def test_the_side_that_would_suffer_more_is_cut_first() -> None:
    thin = [Drawn(disk(10, 10, 1.6), "NET"), trace("NET", 0.3, (10, 10), (20, 10))]
    wide = [Drawn(disk(10, 10, 2.2), "NET"), trace("NET", 0.3, (10, 10), (20, 10))]

    for top, bottom in ((thin, wide), (wide, thin)):
        assert (
            seen(NAME, coppered(drilled(10, 10, 1.0), top=top, bottom=bottom), wanting(0.1)) == []
        )


def test_a_skew_frame_counts_twice_and_with_the_distance() -> None:
    # A board turned over leans the other way: 2 tan(0.05 deg) at 50 mm from the middle is 0.087 mm.
    pads = [Drawn(disk(x, 0, 2.0), f"N{x}") for x in (-50, 0, 50)]
    traces = [trace(f"N{x}", 0.3, (x, 0), (x, 20)) for x in (-50, 0, 50)]
    holes = [drilled(x, 0, 1.0) for x in (-50, 0, 50)]
    board = coppered(
        *holes, top=[*pads, *traces], bottom=[*pads, *traces], outline=shapely.box(-60, -20, 60, 20)
    )

    found = seen(NAME, board, wanting(0.5, Machine(skew=0.05), wander=0.0))

    least = 0.5 - 2 * math.tan(math.radians(0.05)) * 50
    assert [one.measured for one in found] == [pytest.approx(least, abs=0.001)] * 2


def test_a_skew_frame_turns_about_the_middle_of_the_board() -> None:
    # 20 and 0 mm from the middle of a board that lies off the origin: 0.349 mm and nothing.
    spots = (100.0, 80.0)
    copper = [Drawn(disk(x, 40, 2.0), f"N{x}") for x in spots]
    copper += [trace(f"N{x}", 0.3, (x, 40), (x, 55)) for x in spots]
    board = coppered(
        *(drilled(x, 40, 1.0) for x in spots),
        top=copper, bottom=copper, outline=shapely.box(20, 20, 140, 60),
    )  # fmt: skip

    (found,) = seen(NAME, board, wanting(0.5, Machine(skew=0.5), wander=0.0))

    assert found.measured == pytest.approx(0.5 - 2 * math.tan(math.radians(0.5)) * 20, abs=0.001)
    assert (found.x or 0.0) == pytest.approx(100, abs=2)


def test_the_drill_that_serves_counts() -> None:
    process = replace(wanting(0.15), drills=Drills((1.0, 1.1), tolerance=0.05, wander=0.03))

    assert seen(NAME, joint(1.5, 1.0), process) == []
    (found,) = seen(NAME, joint(1.55, 1.05), process)
    assert found.measured == pytest.approx((1.55 - 1.1) / 2 - 0.095, abs=0.001)


@pytest.mark.parametrize(
    ("sizes", "smaller"),
    [((0.6, 0.7, 0.8, 0.9), ", or the hole 0.80 mm"), ((0.8, 0.85, 0.9), ", or the hole 0.80 mm"),
     ((0.9,), ""), ((0.7, 0.9), "")],
)  # fmt: skip
def test_a_smaller_hole_is_one_of_which_there_is_a_drill(
    sizes: tuple[float, ...], smaller: str
) -> None:
    """0.9 mm less 0.08 mm is 0.82 mm: the drill of 0.8 mm serves, and that of 0.85 mm nearly.

    A lead that enters a hole of 0.9 mm is sure to enter one of 0.8 mm, but none of 0.7 mm.
    """
    drills = Drills(sizes, tolerance=0.08, wander=0.03)
    joints = replace(PLAIN.joints, play=0.1)
    process = replace(wanting(0.15), drills=drills, joints=joints)

    (found,) = seen(NAME, joint(1.32, 0.9), process)

    assert found.remedy == f"Make the pad 0.08 mm wider{smaller}"
    assert seen(NAME, joint(1.32, 0.8), process) == []


# A pin of 0.64 mm in the square is 0.9 mm across: it enters 1.0 mm and no hole of 0.6 mm. A via's
# wire of 0.5 mm enters 0.6 mm, however wide the hole is drawn.
@pytest.mark.parametrize(
    ("function", "smaller"),
    [(None, ""), ("ComponentDrill", ""), ("ViaDrill", ", or the hole 0.60 mm")],
)
def test_the_hole_is_not_made_smaller_than_a_lead(function: str | None, smaller: str) -> None:
    copper = [Drawn(disk(10, 10, 1.5), "NET"), trace("NET", 0.2, (10, 10), (20, 10))]
    board = coppered(drilled(10, 10, 1.0, function=function), top=copper, bottom=copper)
    joints = replace(PLAIN.joints, wire=0.5, play=0.1)
    process = replace(wanting(0.15), joints=joints, drills=Drills((0.6, 1.0), 0.05, wander=0.03))

    (found,) = seen(NAME, board, process)

    assert found.remedy == f"Make the pad 0.30 mm wider{smaller}"


def test_holes_of_several_sizes_have_no_smaller_one_in_common() -> None:
    copper = [
        Drawn(disk(x, 0, size + 0.4), f"N{x}", pin=f"J{x}.1") for x, size in ((0, 0.9), (10, 1.0))
    ]
    copper += [trace(f"N{x}", 0.3, (x, 0), (x, 9)) for x in (0, 10)]
    process = replace(wanting(0.15), drills=Drills((0.7, 0.8, 0.9, 1.0), 0.05, wander=0.03))

    found = seen(NAME, coppered(drilled(0, 0, 0.9), drilled(10, 0, 1), bottom=copper), process)

    assert {one.remedy for one in found} == {
        "Make the pad 0.10 mm wider, or the hole 0.80 mm",
        "Make the pad 0.10 mm wider, or the hole 0.90 mm",
    }
    assert {one.cause for one in found} == {"rings 0.20 mm wide round leads"}
    assert {one.together for one in found} == {"Make the pads up to 0.10 mm wider"}


def test_the_hole_is_not_made_smaller_than_a_wire() -> None:
    process = replace(wanting(0.15), joints=replace(PLAIN.joints, wire=0.5, play=0.1))

    (found,) = seen(NAME, joint(0.955, 0.65), process)

    assert found.remedy == "Make the pad 0.19 mm wider"


def off_middle(away: float, width: float, height: float) -> Facts:
    """A lead at 10, 10 in an oblong pad whose middle lies to the left of it; a trace leaves it."""
    pad = shapely.box(
        10 - away - width / 2, 10 - height / 2, 10 - away + width / 2, 10 + height / 2
    )
    return coppered(
        drilled(10, 10, 1.0),
        bottom=[Drawn(pad, "NET", pin="J1.1"), trace("NET", 0.3, (10, 10), (0, 10)), _far_away()],
    )


# A ring of 0.245 mm is wanted on each side, as above: what lacks is won twice by a wider pad.
@pytest.mark.parametrize(
    ("away", "width", "height", "remedy"),
    [
        (0.2, 1.6, 1.6, "Move the pad 0.15 mm towards the middle of its hole, 0.20 mm away"),
        (0.9, 3.0, 3.0, "Move the pad 0.15 mm towards the middle of its hole, 0.90 mm away"),
        (0.145, 1.49, 1.49, "Centre the pad on its hole, 0.15 mm away"),
        (0.04, 1.4, 1.4, "Make the pad 0.17 mm wider"),
        (0.1, 1.4, 1.4, "Centre the pad on its hole, 0.10 mm away, and make it 0.09 mm wider"),
        (0.8, 3.0, 1.2, "Make the pad 0.29 mm wider"),
    ],
    ids=["nearly there", "far off", "just there", "meant to be so", "both", "nothing won"],
)
def test_a_hole_off_its_pad_is_moved_where_that_is_the_smaller_change(
    away: float, width: float, height: float, remedy: str
) -> None:
    (found,) = seen(NAME, off_middle(away, width, height), wanting(0.15))

    assert found.remedy == remedy


def test_moving_the_pad_mends_it() -> None:
    assert seen(NAME, off_middle(0.2 - 0.15, 1.6, 1.6), wanting(0.15)) == []
    assert seen(NAME, off_middle(0.0, 1.4 + 0.09, 1.4 + 0.09), wanting(0.15)) == []


def test_of_several_pads_off_their_holes_the_farthest_is_told() -> None:
    copper = [
        Drawn(shapely.box(x - off - 1, -1, x - off + 1, 1), f"N{x}", pin=f"J{x}.1")
        for x, off in ((0, 0.35), (10, 0.352))
    ]
    copper += [trace(f"N{x}", 0.3, (x, 0), (x, 9)) for x in (0, 10)]

    found = seen(NAME, coppered(drilled(0, 0, 1), drilled(10, 0, 1), bottom=copper), wanting(0.15))

    # 0.15 and 0.148 mm are left of the rings, 0.245 mm are wanted: 0.095 and 0.097 mm lack.
    assert {one.cause for one in found} == {
        "rings 0.15 mm wide round leads, off the middle of their pads"
    }
    assert {one.together for one in found} == {
        "Move the pads up to 0.10 mm towards the middles of their holes"
    }


def test_a_hole_without_a_pad_is_given_one() -> None:
    board = coppered(drilled(10, 10, 1.0), bottom=[trace("NET", 1.4, (0, 10), (20, 10))])

    (found,) = seen(NAME, board, wanting(0.15))

    assert found.remedy == "Draw a pad 1.49 mm wide round it"


@pytest.mark.parametrize(
    "board",
    [
        joint(1.4, goes=False),
        joint(3.4, drill=3.0),
        joint(1.1),  # comes out of its pad: another rule's
        coppered(drilled(10, 10, 1.0), bottom=[trace("NET", 0.5, (0, 12), (20, 12))]),
    ],
    ids=["nothing leaves the pad", "for a screw", "broken", "no copper"],
)
def test_what_is_left_alone(board: Facts) -> None:
    assert seen(NAME, board, wanting(0.15)) == []


def test_slots_are_judged_by_their_path() -> None:
    slot = Hole(((9, 10), (11, 10)), 1.0, None, None, "holes.drl", 1)
    pad = shapely.LineString([(9, 10), (11, 10)]).buffer(0.7, quad_segs=64)
    board = coppered(
        slot, bottom=[Drawn(pad, "NET"), trace("NET", 0.3, (10, 10), (10, 20)), _far_away()]
    )

    (found,) = seen(NAME, board, wanting(0.15))

    assert found.measured == pytest.approx(0.105, abs=0.001)


def test_missing_limits_and_files_leave_it_unchecked() -> None:
    assert len(unchecked(NAME, joint(1.1), wanting(None))) == 1
    assert len(unchecked(NAME, holed(read=False), wanting(0.15))) == 1


def test_the_sample_tells_both_leads() -> None:
    found = [one.seen for one in check(read_board([BAD]), load_profile("cone-30-0.1")).findings]

    assert [(one.x, one.y, one.side) for one in found] == [(12, 7, "bottom"), (22, 7, "bottom")]
    assert [one.measured for one in found] == [pytest.approx(0.2 - 0.095, abs=0.001)] * 2


@given(st.lists(st.floats(0.8, 2.4), min_size=1, max_size=6), st.floats(0, 0.3), st.floats(0, 0.3))
def test_a_worse_machine_never_leaves_more_holes_alone(
    pads: list[float], one: float, other: float
) -> None:
    copper = [Drawn(disk(10 * k, 0, size), f"N{k}") for k, size in enumerate(pads)]
    copper += [trace(f"N{k}", 0.3, (10 * k, 0), (10 * k, 9)) for k in range(len(pads))]
    board = coppered(*(drilled(10 * k, 0, 1.0) for k in range(len(pads))), bottom=copper)
    less, more = sorted((one, other))

    told = [
        {seen_.x for name in (NAME, "broken-ring") for seen_ in seen(name, board, process)}
        for process in (wanting(0.15, Machine(registration=off)) for off in (less, more))
    ]

    assert told[0] <= told[1]
