from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.process.bit import Spread
from checker.read import read_board
from tests.handmade import PLAIN, facts, rule

NAME = "severed-net"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME
PROFILE = load_profile(SAMPLE / "profile.yaml")


def parted(most: float) -> list[tuple[float | None, float | None]]:
    cut = PROFILE.cut
    assert cut is not None
    process = replace(PROFILE, cut=Spread(cut.least, cut.nominal, most))
    report = check(read_board([SAMPLE / "bad"]), process)
    return [(f.seen.x, f.seen.y) for f in report.findings if f.rule == NAME]


def test_sample_is_parted_in_the_middle() -> None:
    # A line of 0.12 mm with gaps of 0.15: cuts of 0.27 on the middle of both gaps meet in it.
    ((x, y),) = parted(0.28)

    assert (x, y) == pytest.approx((15.0, 8.0), abs=2.1)


def test_a_cut_that_leaves_a_hair_does_not_part_it() -> None:
    assert parted(0.26) == []


def test_it_is_an_error_with_the_widening_that_surely_helps() -> None:
    report = check(read_board([SAMPLE / "bad"]), PROFILE)

    (seen,) = [f.seen for f in report.findings if f.rule == NAME]
    assert seen.state is State.NOT_MAKEABLE
    assert seen.nets == ("HOLD",)
    # No pad lies within some millimetres of the waist to name it by.
    assert seen.message == "A cut of 0.270 mm, the widest it comes out, parts HOLD"
    # Twice the bite of 0.05 and the spread from 0.168 to 0.270.
    assert seen.remedy.startswith("Make it 0.21 mm wider")


def test_nothing_bites_nothing_parts() -> None:
    assert list(rule(NAME).check(facts(), PLAIN)) == []
    assert list(rule(NAME).check(facts(), replace(PLAIN, cut=None))) == []
