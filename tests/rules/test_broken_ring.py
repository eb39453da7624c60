from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Hole, Kind
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.model import Process
from checker.process.shop import Drills, Machine
from checker.read import read_board
from tests.coppered import Drawn, coppered, disk, drilled, trace
from tests.handmade import PLAIN, seen
from tests.holed import holed, unchecked

NAME = "broken-ring"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def off_by(registration: float, wander: float = 0.0, ring: float | None = 0.15) -> Process:
    return replace(
        PLAIN, ring=ring, machine=Machine(registration=registration), drills=Drills(wander=wander)
    )


def joint(pad: float, drill: float = 1.0, off: float = 0.0, goes: bool = True) -> Facts:
    """A lead of 1 mm, its pad shifted to the left; a trace leaves it."""
    copper = [Drawn(disk(10 - off, 10, pad), "NET", pin="J1.1")]
    copper += [trace("NET", 0.3, (10 - off, 10), (0, 10))] * goes
    return coppered(drilled(10, 10, drill), bottom=copper)


@pytest.mark.parametrize(
    ("pad", "states"),
    [
        (0.9, [State.NOT_MAKEABLE]),
        (1.0, [State.NOT_MAKEABLE]),
        (1.008, [State.NOT_MAKEABLE]),
        (1.02, [State.MARGINAL]),
        (1.18, [State.MARGINAL]),
        (1.2, []),
    ],
    ids=["inside the hole", "as wide", "within the error", "barely", "may break out", "stays"],
)
def test_the_ring_and_what_the_hole_may_lie_off_decide(pad: float, states: list[State]) -> None:
    assert [one.state for one in seen(NAME, joint(pad), off_by(0.1))] == states


def test_a_hole_off_its_pad_is_told_with_how_far_it_comes_out() -> None:
    # Rims of two circles of 0.5 and 0.7 mm, 0.4 mm apart, by the law of cosines.
    (found,) = seen(NAME, joint(1.4, off=0.4), off_by(0.048, 0.03))

    degrees = 2 * math.degrees(math.acos((0.7**2 - 0.5**2 - 0.4**2) / (2 * 0.5 * 0.4)))
    assert found.message == (
        f"Hole of 1.00 mm comes 0.200 mm out of its pad over {degrees:.0f}°, may not at all: "
        "J1.1 (NET)"
    )
    # 0.428 mm lack: 0.4 mm is won by centring, the rest on both sides by a wider pad.
    assert found.remedy == "Centre the pad on its hole, 0.40 mm away, and make it 0.06 mm wider"
    assert found.cause == "holes of leads that leave no ring, off the middle of their pads"
    assert (found.x, found.y, found.side) == (10, 10, "bottom")
    assert found.measured == pytest.approx(-0.2, abs=0.001)
    assert found.limit == 0


def test_a_single_error_is_counted() -> None:
    (found,) = seen(NAME, joint(1.1), off_by(0.1, 0.0))

    assert found.message.endswith("once registration is counted: J1.1 (NET)")


def test_a_hole_that_may_break_out_is_told_for_a_round_pad() -> None:
    (found,) = seen(NAME, joint(1.1), off_by(0.07, 0.03))

    degrees = 2 * math.degrees(math.acos((0.55**2 - 0.5**2 - 0.1**2) / (2 * 0.5 * 0.1)))
    assert found.message == (
        f"Ring 0.050 mm, the hole may come 0.050 mm out of its pad over {degrees:.0f}° once "
        "registration and drill wander are counted: J1.1 (NET)"
    )
    assert found.measured == pytest.approx(-0.05, abs=0.001)


def test_a_hole_that_may_miss_its_pad_comes_out_all_round() -> None:
    # Circles of 0.5 and 0.55 mm whose middles lie 1.2 mm apart do not meet.
    (found,) = seen(NAME, joint(1.1), off_by(1.2))

    assert "the hole may come 1.150 mm out of its pad over 360° once" in found.message


def test_a_ring_at_the_limit_lacks_nothing_that_moving_would_win() -> None:
    (found,) = seen(NAME, joint(1.004), off_by(0.0, ring=None))

    assert found.remedy.startswith("Make the pad 0.01 mm wider")


def test_a_slot_that_sticks_out_of_its_pad_is_broken() -> None:
    slot = Hole(((10, 10), (12, 10)), 1.0, None, None, "holes.drl", 1)
    pad = shapely.box(8.0, 9.0, 12.2, 11.0)
    board = coppered(slot, bottom=[Drawn(pad, "NET"), trace("NET", 0.3, (10, 10), (0, 10))])

    (found,) = seen(NAME, board, off_by(0.0))

    assert found.measured == pytest.approx(-0.3, abs=0.001)
    assert found.message.startswith("Slot of 1.00 mm comes 0.300 mm out of its pad")


def test_a_pour_cut_at_one_corner_is_only_marginal() -> None:
    board = coppered(drilled(10, 10, 1.0), bottom=[trace("NET", 8.0, (0, 13.55), (20, 13.55))])

    (found,) = seen(NAME, board, off_by(0.0))

    assert found.state is State.MARGINAL
    assert found.remedy.startswith("Draw a pad")


def test_a_pad_smaller_than_its_hole_within_a_pour_is_only_marginal() -> None:
    pour = shapely.box(0, 0, 20, 10.45)
    inner = coppered(
        drilled(10, 10, 1.0, function="ViaDrill"),
        bottom=[Drawn(pour, "NET", Kind.POUR), Drawn(disk(10, 10, 0.8), "NET")],
    )

    (found,) = seen(NAME, inner, off_by(0.0))

    assert found.state is State.MARGINAL
    assert found.remedy == "Draw a pad 1.30 mm wide round it"


def test_pads_that_nothing_leaves_are_left_alone() -> None:
    assert seen(NAME, joint(1.1, goes=False), off_by(0.2)) == []


def test_leads_and_vias_are_causes_of_their_own() -> None:
    copper = [Drawn(disk(x, 10, 1.1), f"N{x}", pin=f"J{x}.1" if x < 20 else None) for x in (10, 20)]
    copper += [trace(f"N{x}", 0.3, (x, 10), (x, 20)) for x in (10, 20)]
    board = coppered(drilled(10, 10, 1.0), drilled(20, 10, 1.0, function="ViaDrill"), bottom=copper)

    assert {one.cause for one in seen(NAME, board, off_by(0.1))} == {
        "rings 0.05 mm wide round leads",
        "rings 0.05 mm wide round vias",
    }


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert len(unchecked(NAME, holed(read=False), off_by(0.1))) == 1


def test_the_sample_tells_both_leads() -> None:
    found = [one.seen for one in check(read_board([BAD]), load_profile("cone-30-0.1")).findings]

    # Pads 1.0 mm wide with holes of 1.2 mm.
    assert [(one.x, one.y, one.side) for one in found] == [(12, 7, "bottom"), (22, 7, "bottom")]
    assert [one.measured for one in found] == [pytest.approx(-0.1, abs=0.001)] * 2
