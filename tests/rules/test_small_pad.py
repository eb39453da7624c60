from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Unchecked
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import DEFAULT_PROFILE, load_profile
from checker.process.shop import Joints
from checker.read import read_board
from tests.handmade import Copper, facts, layer, on_board, rule, seen
from tests.milled import MILLED, facts_of

NAME = "small-pad"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
SHOP = replace(MILLED, joints=Joints(pad_area_hole=1.4, pad_area_surface=0.4))
PIN = Copper(net="N/C", component="J1", pin="1")


def ring(outside: float, inside: float = 1.0) -> Facts:
    """A round pad with a hole."""
    disc = shapely.Point(0, 0).buffer(outside / 2, 64)
    return facts_of([(PIN, disc)], holes=(drilled(inside),))


def drilled(size: float) -> Hole:
    return Hole(((0.0, 0.0),), size, None, None, "holes.drl", 1)


# Pads of pin headers are 1.7 mm wide with a hole of 1.0 mm (trade practice): 1.48 mm2, which hold.
@pytest.mark.parametrize(("outside", "caught"), [(1.6, 1), (1.65, 1), (1.7, 0), (2.0, 0)])
def test_the_ring_round_a_hole_is_what_holds(outside: float, caught: int) -> None:
    assert len(seen(NAME, ring(outside), SHOP)) == caught


@pytest.mark.parametrize(
    ("size", "part", "caught"),
    [(2.4, None, 1), (2.5, None, 0), (3.0, None, 0), (3.0, "L1", 1)],
    ids=["lead", "screw", "larger screw", "named lead"],
)
def test_a_pad_round_a_screw_is_not_soldered(size: float, part: str | None, caught: int) -> None:
    disc = shapely.Point(0, 0).buffer(size / 2 + 0.1, 64)
    pad = Copper(component=part, pin=part and "1")

    assert len(seen(NAME, facts_of([(pad, disc)], holes=(drilled(size),)), SHOP)) == caught


def test_the_message_tells_area_limit_and_pin() -> None:
    (told,) = seen(NAME, ring(1.6), SHOP)

    area = math.pi * (0.8**2 - 0.5**2)
    assert told.message == (
        f"Pad of {area:.2f} mm2 that no trace holds, "
        "from 1.40 mm2 it keeps to the board: J1.1 (N/C)"
    )
    assert told.remedy == "Give it 0.18 mm2 more copper, or a stub of a trace"
    assert (told.x, told.y) == pytest.approx((0, 0), abs=1e-6)
    assert (told.pins, told.state) == (("J1.1",), State.REMARK)


def test_a_pad_with_just_the_area_that_holds_is_none() -> None:
    assert seen(NAME, facts_of([(PIN, shapely.box(0, 0, 0.5, 0.8))]), SHOP) == []


@pytest.mark.parametrize(("size", "caught"), [(0.6, 1), (0.7, 0)])
def test_a_surface_pad_needs_less(size: float, caught: int) -> None:
    pad = shapely.box(0, 0, size, 0.6)

    assert len(seen(NAME, facts_of([(PIN, pad)]), SHOP)) == caught


def test_a_pad_of_a_net_that_goes_on_elsewhere_is_no_mere_advice() -> None:
    far = (Copper(net="N/C", component="J2", pin="1"), shapely.box(5, 5, 8, 8))

    (told,) = seen(NAME, facts_of([(PIN, shapely.box(0, 0, 0.5, 0.5)), far]), SHOP)

    assert told.state is State.MARGINAL


def test_two_pads_hold_a_lead_together() -> None:
    disc = shapely.Point(0, 0).buffer(0.8, 64)
    sides = tuple(layer(side, [(PIN, disc)]) for side in ("top", "bottom"))
    both = on_board(facts(), Board("b", (), sides, holes=(drilled(1.0),)))

    assert seen(NAME, both, SHOP) == []


def test_two_small_pads_of_a_lead_are_told_once_by_what_both_have() -> None:
    disc = shapely.Point(0, 0).buffer(0.6, 64)
    sides = tuple(layer(side, [(PIN, disc)]) for side in ("top", "bottom"))
    nets = tuple(replace(one, net=sides[0].net) for one in sides)
    board = on_board(facts(), Board("b", (), nets, holes=(drilled(0.8),)))

    (told,) = seen(NAME, board, SHOP)

    area = 2 * math.pi * (0.6**2 - 0.4**2)
    assert told.message.startswith(
        f"Pads of {area:.2f} mm2 on both sides that no trace holds, from 1.40 mm2 they keep to"
    )
    assert told.remedy == "Give them 0.15 mm2 more copper, or a stub of a trace"
    assert told.state is State.REMARK  # the net has no copper but these two


def test_a_pad_that_is_drilled_away_is_left_to_the_rules_on_holes() -> None:
    assert seen(NAME, ring(1.0, 1.2), SHOP) == []


def test_without_a_least_area_lone_pads_are_unchecked() -> None:
    answer = list(rule(NAME).check(ring(1.6), replace(SHOP, joints=Joints())))

    assert [type(one) for one in answer] == [Unchecked]


def test_the_sample_tells_the_spare_post() -> None:
    (told,) = (
        one.seen for one in check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE)).findings
    )

    assert told.message.startswith(f"Pad of {math.pi * (0.75**2 - 0.45**2):.2f} mm2")
    assert (told.x, told.y) == pytest.approx((15, 5), abs=1e-6)
    assert told.pins == ("J3.1",)
