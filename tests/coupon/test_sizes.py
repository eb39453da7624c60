from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.coupon.sizes import corner_depth, gap_widths, groove_depths, sure_depth, trace_widths
from checker.process import Spread, load_profile
from tests.coupon.made import MILLING

milling = pytest.mark.parametrize("name", MILLING)


def cut(least: float, most: float) -> Spread:
    return Spread(least, (least + most) / 2, most)


@pytest.mark.parametrize(
    ("spread", "widths"),
    [
        (cut(0.138, 0.229), (0.1, 0.15, 0.2, 0.25)),  # the usual step
        (cut(0.395, 0.452), (0.38, 0.4, 0.42, 0.44, 0.46)),  # a narrow spread, a finer one
        (cut(0.201, 0.219), (0.2, 0.21, 0.22, 0.23)),
        (cut(0.31, 0.69), (0.3, 0.4, 0.5, 0.6, 0.7)),  # a wide spread, a coarser one
        (cut(0.17, 0.17), (0.1, 0.15, 0.2, 0.25)),  # none given is not the same as narrow
    ],
)
def test_gaps_go_from_what_hardly_opens_to_what_surely_does(
    spread: Spread, widths: tuple[float, ...]
) -> None:
    assert gap_widths(spread) == pytest.approx(widths)


@given(least=st.floats(0.02, 3.0), more=st.floats(0.0, 1.0))
def test_any_cut_has_a_comb_round_it_and_nothing_far_off(least: float, more: float) -> None:
    widths = gap_widths(cut(least, least + more))

    step = widths[1] - widths[0]
    assert 4 <= len(widths) <= 8
    assert [b - a for a, b in pairwise(widths)] == pytest.approx([step] * (len(widths) - 1))
    assert widths[0] <= max(least, step) + 1e-9
    assert widths[-1] >= least + more - 1e-9
    assert widths[0] > least - 4 * step
    assert widths[-1] < least + more + 4 * step


@pytest.mark.parametrize(
    ("minimum", "widths"),
    [
        (0.25, (0.15, 0.2, 0.25, 0.3)),
        (0.3048, (0.2, 0.25, 0.3, 0.35)),  # 12 mil
        (0.15, (0.05, 0.1, 0.15, 0.2)),
        (0.1, (0.05, 0.1, 0.15)),  # there is nothing narrower to try
    ],
)
def test_traces_lie_round_the_narrowest_that_is_trusted(
    minimum: float, widths: tuple[float, ...]
) -> None:
    assert trace_widths(minimum) == pytest.approx(widths)


@milling
def test_shallowest_groove_cuts_the_foil_wherever_the_bed_lies(name: str) -> None:
    process = load_profile(name)
    bit = process.bit
    assert bit is not None

    first = groove_depths(process)[0]

    off = bit.depth.nominal - bit.depth.least
    assert first - off - process.bed_error >= process.foil.most
    assert first == sure_depth(process)
    assert first - 0.01 - off - process.bed_error < process.foil.most


@milling
def test_grooves_have_the_depth_of_cut_among_them(name: str) -> None:
    process = load_profile(name)
    bit = process.bit
    assert bit is not None

    depths = groove_depths(process)

    assert len(depths) >= 4
    assert list(depths) == sorted(depths)
    assert depths[0] <= bit.depth.nominal < depths[-1]
    assert corner_depth(depths) in depths


@pytest.mark.parametrize("name", [name for name in MILLING if name.startswith("cone")])
def test_grooves_of_a_cone_widen_enough_to_be_told_apart(name: str) -> None:
    process = load_profile(name)
    bit = process.bit
    assert bit is not None

    depths = groove_depths(process)

    wider = 2 * math.tan(math.radians(bit.angle) / 2) * (depths[-1] - depths[0])
    assert wider >= 0.027  # mm: five readings to 0.01 mm tell 10 degrees to a third
    assert depths[-1] <= 0.25
