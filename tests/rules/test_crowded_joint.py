from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace
from shapely import box

from checker.board import Kind, Unchecked
from checker.engine import check, reach_for
from checker.findings import State
from checker.measure import Facts, measure
from checker.process import DEFAULT_PROFILE, load_profile
from checker.read import read_board
from tests.coppered import Drawn, coppered
from tests.handmade import PLAIN, Copper, rule, seen, square
from tests.milled import MILLED, facts_of

NAME = "crowded-joint"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"
PAD = Copper(Kind.PAD, "A", "U1", "1")


def pair(gap: float, other: Copper | None = None) -> Facts:
    """A pad of 0.5 mm and other copper as large beside it."""
    other = other or Copper(Kind.TRACE, "B")
    return facts_of([(PAD, square(0, 0)), (other, square(0.5 + gap, 0))])


# Common trade practice, as the profile says: 0.3 mm for a careful hand without a mask.
@pytest.mark.parametrize(("gap", "caught"), [(0.21, 1), (0.29, 1), (0.298, 0), (0.35, 0)])
def test_copper_nearer_than_the_hand_needs_is_told(gap: float, caught: int) -> None:
    assert len(seen(NAME, pair(gap), MILLED)) == caught


def test_the_message_tells_gap_limit_and_both_sides() -> None:
    (told,) = seen(NAME, pair(0.25), MILLED)

    assert told.message == (
        "Gap 0.250 mm beside a joint, solder wants 0.300 mm: U1.1 (A) and copper of B"
    )
    assert told.remedy == "Move them 0.05 mm apart"
    assert (told.measured, told.limit) == pytest.approx((0.25, 0.3))
    assert (told.x, told.y, told.side, told.state) == (0, 0, "bottom", State.MARGINAL)
    assert (told.nets, told.pins) == (("A", "B"), ("U1.1",))


def test_pads_of_one_part_are_one_cause_and_told_once() -> None:
    copper = [(Copper(Kind.PAD, f"N{i}", "U1", str(i)), square(0.75 * i, 0)) for i in range(4)]

    told = seen(NAME, facts_of(copper), MILLED)

    assert [one.pins for one in told] == [("U1.0", "U1.1"), ("U1.1", "U1.2"), ("U1.2", "U1.3")]
    assert {one.cause for one in told} == {"pads of U1 near each other"}
    assert told[0].remedy.startswith("Draw its pads 0.05 mm narrower")


def test_one_net_bridges_nothing() -> None:
    assert seen(NAME, pair(0.25, Copper(Kind.PAD, "A", "R1", "2")), MILLED) == []


def test_traces_are_not_soldered() -> None:
    traces = [(Copper(Kind.TRACE, net), square(x, 0)) for net, x in (("A", 0.0), ("B", 0.75))]

    assert seen(NAME, facts_of(traces), MILLED) == []


def test_a_gap_that_the_cut_does_not_open_is_left_to_another_rule() -> None:
    assert seen(NAME, pair(0.15), MILLED) == []


def test_so_is_a_pad_beside_the_end_of_a_long_one() -> None:
    # One place from end to end, told in its middle, 10 mm from the pads.
    def row(net: str, y: float) -> list[Drawn]:
        pads = [Drawn(square(x, y), net, Kind.PAD, f"{net}.{x}") for x in (0, 20)]
        return [*pads, Drawn(box(0, y - 0.25, 20, y + 0.25), net, Kind.TRACE)]

    board = coppered(bottom=[*row("A", 0.0), *row("B", 0.65)]).board
    facts = measure(board, reach_for(MILLED))

    assert len(facts.gaps[0]) == 1
    assert seen(NAME, facts, MILLED) == []


def test_leftover_copper_as_near_all_round_is_told_once() -> None:
    copper = [(Copper(Kind.PAD, f"N{i}", "U1", str(i)), square(3 * i, 0)) for i in range(5)]

    (told,) = seen(NAME, facts_of(copper), replace(MILLED, cleared_width=None))

    assert told.message == ("Leftover copper 0.200 mm from 5 soldered pads, solder wants 0.300 mm")
    assert told.remedy == "Clear 0.30 mm round pads that are soldered instead of 0.20 mm"
    assert (told.x, told.side) == (None, None)


def test_etching_leaves_no_copper_round_pads_but_what_is_drawn() -> None:
    etching = replace(PLAIN, method="etching", pad_clearance=0.3)

    assert len(seen(NAME, pair(0.25), etching)) == 1
    assert seen(NAME, pair(0.5), etching) == []


def test_without_a_wish_pads_are_unchecked() -> None:
    answer = list(rule(NAME).check(pair(0.25), replace(MILLED, pad_clearance=None)))

    assert [type(one) for one in answer] == [Unchecked]


def test_the_sample_tells_the_pin_beside_the_line() -> None:
    (told,) = (
        one.seen for one in check(read_board([SAMPLE]), load_profile(DEFAULT_PROFILE)).findings
    )

    assert told.message.startswith("Gap 0.280 mm beside a joint, solder wants 0.300 mm: J1.1 (PIN)")
    assert (told.x, told.y) == pytest.approx((15, 8), abs=1e-6)
    assert told.pins == ("J1.1",)
