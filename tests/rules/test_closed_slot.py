from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board
from tests.handmade import PLAIN, Copper, rule, seen
from tests.milled import MILLED, facts_of

NAME = "closed-slot"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def hairpin(slot: float, long: float = 12.0, wide: float = 0.5) -> Facts:
    """A track that goes out and comes back beside itself, as a line that senses a voltage does."""
    legs = shapely.box(0, 0, long, 2 * wide + slot)
    return facts_of(
        [(Copper(Kind.TRACE, "SENSE"), legs - shapely.box(-1, wide, long - wide, wide + slot))]
    )


@pytest.mark.parametrize(("slot", "caught"), [(0.1, 1), (0.19, 1), (0.21, 0), (0.4, 0)])
def test_a_slot_narrower_than_the_cut_is_told(slot: float, caught: int) -> None:
    assert len(seen(NAME, hairpin(slot), MILLED)) == caught


def test_the_message_tells_width_length_and_the_way_round() -> None:
    (told,) = seen(NAME, hairpin(0.12), MILLED)

    assert told.measured == pytest.approx(0.12, abs=0.003)
    assert (told.limit, told.state, told.nets) == (0.2, State.MARGINAL, ("SENSE",))
    assert "11." in told.message
    assert told.remedy == "Widen it by 0.09 mm"
    assert (told.x, told.y) == pytest.approx((5.75, 0.56), abs=0.1)


def test_a_slot_in_wide_copper_alters_little() -> None:
    assert seen(NAME, hairpin(0.12, wide=8.0), MILLED) == []


def test_a_short_slot_alters_little() -> None:
    assert seen(NAME, hairpin(0.12, long=3.5), MILLED) == []


# Twenty cuts of 0.2 mm: the slot ends 0.5 mm before the track does.
@pytest.mark.parametrize(("long", "caught"), [(4.2, 0), (4.5, 1)])
def test_a_slot_is_long_from_twenty_cuts_on(long: float, caught: int) -> None:
    assert len(seen(NAME, hairpin(0.12, long=long), MILLED)) == caught


def test_the_spokes_of_a_thermal_relief_are_no_slots() -> None:
    hole = shapely.Point(0, 0).buffer(1.5, 32) - shapely.Point(0, 0).buffer(1.35, 32)
    spokes = shapely.box(-2, -0.25, 2, 0.25) | shapely.box(-0.25, -2, 0.25, 2)
    pour = shapely.box(-8, -8, 8, 8) - (hole - spokes)

    assert seen(NAME, facts_of([(Copper(Kind.POUR, "GND"), pour)]), MILLED) == []


def test_a_wider_cut_closes_no_fewer() -> None:
    for slot in (0.1, 0.25, 0.35):
        finer, wider = (
            len(seen(NAME, hairpin(slot), replace(MILLED, cut=replace(MILLED.cut, nominal=cut))))
            for cut in (0.2, 0.3)
            if MILLED.cut is not None
        )
        assert wider >= finer


def test_wires_on_a_drilled_board_have_no_slots() -> None:
    assert list(rule(NAME).check(hairpin(0.1), replace(PLAIN, cut=None))) == []


def test_the_sample_tells_the_turns_of_its_coil() -> None:
    found = check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE)).findings

    # Three turns have two slots on each of four sides, and one before the inner end.
    assert len(found) == 9
    assert {one.seen.cause for one in found} == {"slots within COIL narrower than the cut"}
    assert all(one.seen.measured == pytest.approx(0.12, abs=0.004) for one in found)
    assert min(abs((one.seen.y or 0) - 8.46) for one in found) < 0.05
