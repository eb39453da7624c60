from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.bit import Bit
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import PLAIN, exactly, rule, seen
from tests.measure.test_fills import hatch
from tests.poured import board_with, facts_of

NAME = "powdered-fill"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def milling(cut: float, minimum_trace: float) -> Process:
    none = exactly(0.0)
    bit = Bit("flat", exactly(cut), 0.0, exactly(0.1), cut, none, none)
    return replace(PLAIN, bit=bit, cut=exactly(cut), minimum_trace=minimum_trace)


def hatched(opening: float, bar: float) -> Facts:
    return facts_of(board_with([(Kind.POUR, hatch(opening, bar, 5), 0.0)]))


@pytest.mark.parametrize(("bar", "told"), [(0.19, 1), (0.22, 0), (0.25, 0)])
def test_a_pitch_below_two_cuts_turns_to_powder(bar: float, told: int) -> None:
    # Common practice: 0.22 + bar against twice 0.22.
    found = seen(NAME, hatched(0.22, bar), milling(0.22, 0.1))

    assert len(found) == told
    assert [one.state for one in found] == [State.MARGINAL] * told


@pytest.mark.parametrize(("bar", "told"), [(0.2, 1), (0.3, 0)])
def test_a_bar_has_to_survive(bar: float, told: int) -> None:
    # A cut of 0.2 and bars of 0.3: 0.5.
    found = seen(NAME, hatched(0.21, bar), milling(0.2, 0.3))

    assert len(found) == told


def test_openings_that_the_cut_does_not_enter_stay_copper() -> None:
    assert seen(NAME, hatched(0.15, 0.2), milling(0.2, 0.1)) == []


def test_place_is_within_an_opening_and_the_remedy_has_the_pitch() -> None:
    facts = hatched(0.22, 0.15)
    (told,) = seen(NAME, facts, milling(0.2, 0.1))

    assert told.measured == pytest.approx(0.37, abs=0.01)
    assert told.limit == pytest.approx(0.4)
    assert told.remedy.endswith("at a pitch of 0.40 mm or more")


def test_etching_has_no_way_round_openings() -> None:
    assert list(rule(NAME).check(hatched(0.22, 0.15), replace(PLAIN, method="etching"))) == []


def test_sample_is_told_once() -> None:
    (finding,) = check(read_board([SAMPLE / "bad"]), load_profile("cone-30-0.1")).findings

    # Openings of 0.25 with bars of 0.27, from x = 9.6 to 13.5 and from y = 5.6 to 9.5.
    assert finding.seen.measured == pytest.approx(0.52, abs=0.01)
    assert finding.seen.x == pytest.approx(11.5, abs=2)
    assert finding.seen.y == pytest.approx(7.5, abs=2)
