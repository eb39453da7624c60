from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.findings import State
from checker.process.bit import Spread
from tests.handmade import PLAIN, Gap, cone, cutting, exactly, facts, flat, rule, seen, spread

NAME = "tight-gap"
SLACK = replace(flat(0.2, exactly(0.1)), cut=Spread(0.15, 0.2, 0.25))


@pytest.mark.parametrize(
    ("fits", "caught"),
    [(0.2049, False), (0.2051, True), (0.2449, True), (0.2451, False), (0.25, False)],
    ids=["at the nominal limit", "above it", "below the most", "at the most", "exactly the most"],
)
def test_a_gap_is_tight_between_nominal_and_most(fits: float, caught: bool) -> None:
    found = seen(NAME, facts([Gap(fits)]), cutting(0.2, most=0.25))

    assert [one.state for one in found] == [State.MARGINAL] * caught


@given(st.floats(0.01, 1.0), st.floats(0.05, 0.5), st.floats(0, 0.2), st.floats(0, 0.2))
def test_more_spread_never_clears_a_gap(
    fits: float, nominal: float, more: float, other: float
) -> None:
    less, much = (
        len(seen(NAME, facts([Gap(fits)]), cutting(nominal, nominal + wide)))
        for wide in sorted((more, other))
    )

    assert less <= much


def test_the_spread_of_a_cone_follows_its_angle() -> None:
    # w = tip + 2 z tan(angle / 2): 0.02 mm deeper with 60 degrees is 0.0231 mm wider
    # (trade tables print .0115 mm per 0.01 mm for 60 degrees and .0054 for 30).
    gap = facts([Gap(0.225)])
    depth = spread(0.1, 0.02)

    assert len(seen(NAME, gap, cone(exactly(0.1), 60, depth))) == 1
    assert len(seen(NAME, gap, cone(exactly(0.1), 30, depth))) == 0


def test_the_message_tells_nominal_and_worst() -> None:
    (found,) = seen(NAME, facts([Gap(0.22)]), replace(SLACK, measured=True))

    assert found.message == (
        "Gap 0.220 mm, the bit cuts 0.200 mm, at worst 0.250 mm: two pads may stay joined"
    )
    assert found.remedy == (
        "Hold the cut to 0.220 mm at its widest, or move them 0.03 mm further apart"
    )
    assert (found.measured, found.limit) == (0.22, 0.25)


def test_a_gap_that_opens_by_a_hair_is_not_told_to_open_by_a_lesser_depth() -> None:
    # 0.1 + 2 * 0.09 tan(15 deg) = 0.14823 mm, told apart from 0.15323 mm on; 0.153 mm would not be.
    process = cone(exactly(0.1), 30.0, spread(0.09, 0.01), bed_error=0.03)

    (found,) = seen(NAME, facts([Gap(0.1533)], tolerance=0.001), process)

    assert found.remedy.startswith("Measure the cut and hold it to 0.153 mm at its widest, or")


def test_a_width_nobody_measured_is_to_be_measured_first() -> None:
    (found,) = seen(NAME, facts([Gap(0.22)]), SLACK)

    assert found.remedy.startswith("Measure the cut and hold it to 0.220 mm at its widest, or")


def test_where_a_bite_is_allowed_the_worst_cut_eats_copper() -> None:
    board = facts([Gap(0.22)], bites=(0.0, 0.02))

    (found,) = seen(NAME, board, cutting(0.2, most=0.25, bite=0.02))

    assert "may open only by biting into copper" in found.message


def test_where_nothing_is_cut_no_gap_is_at_fault() -> None:
    assert list(rule(NAME).check(facts([Gap(0.01)]), replace(PLAIN, cut=None))) == []
