from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Unchecked
from checker.engine import check, reach_for
from checker.findings import State
from checker.measure import Facts, measure
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import PLAIN, Neck, cutting, facts, rule, seen
from tests.layouts import board_of

NAME = "eaten-copper"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME


def biting(bite: float, minimum_trace: float | None) -> Process:
    return replace(cutting(0.2, bite=bite), minimum_trace=minimum_trace)


def waist(width: float, gap: float) -> Facts:
    """A waist between two bars, measured for a bite of 0.05."""
    middle = shapely.union_all(
        [
            shapely.box(-5, -1, -2, 1),
            shapely.box(-2, -width / 2, 2, width / 2),
            shapely.box(2, -1, 5, 1),
        ]
    )
    edge = width / 2 + gap
    bars = [shapely.box(-1.5, side * edge, 1.5, side * (edge + 1)) for side in (1, -1)]
    return measure(board_of([middle, *bars]), reach_for(biting(0.05, 0.3)))


def test_a_waist_loses_what_the_cut_is_wider_than_its_gaps() -> None:
    # Cut 0.2 through gaps of 0.15 on both edges: 0.05 less copper.
    (told,) = seen(NAME, waist(0.3, 0.15), biting(0.05, 0.28))

    assert told.measured == pytest.approx(0.25, abs=0.01)
    assert (told.limit, told.state) == (0.28, State.MARGINAL)
    assert (told.x, told.y) == pytest.approx((0, 0), abs=0.1)


def test_a_waist_that_keeps_enough_is_not_told() -> None:
    assert seen(NAME, waist(0.3, 0.15), biting(0.05, 0.24)) == []


def test_copper_too_narrow_as_drawn_is_left_to_another_rule() -> None:
    assert seen(NAME, waist(0.25, 0.15), biting(0.05, 0.3)) == []


def test_a_shop_that_does_not_bite_eats_nothing() -> None:
    assert list(rule(NAME).check(waist(0.3, 0.15), biting(0.0, 0.28))) == []


@pytest.mark.parametrize(("width", "told"), [(0.24, 1), (0.27, 0)])
def test_etchant_takes_both_edges(width: float, told: int) -> None:
    # Common practice: the undercut of a 35 um foil is about 0.035 mm on each edge.
    process = replace(cutting(0.2, method="etching"), minimum_trace=0.19, undercut=0.035)

    assert len(seen(NAME, facts(necks=[Neck(width)]), process)) == told


def test_etching_measures_far_enough_for_what_it_takes() -> None:
    process = replace(PLAIN, minimum_trace=0.2, undercut=0.03)

    assert reach_for(process).copper == pytest.approx(0.27)  # and a hundredth for what is just so


def test_without_a_limit_it_says_so() -> None:
    (told,) = rule(NAME).check(facts(), biting(0.05, None))

    assert isinstance(told, Unchecked)


def test_sample_is_told_at_its_waist() -> None:
    report = check(read_board([SAMPLE / "bad"]), load_profile(SAMPLE / "profile.yaml"))

    # Drawn 0.2 mm, 0.035 mm off each edge; from x = 12 to x = 18.
    (finding,) = report.findings
    assert finding.seen.measured == pytest.approx(0.13, abs=0.003)
    assert (finding.seen.x, finding.seen.y) == pytest.approx((15.0, 6.0), abs=0.1)
