"""Drawn set-ups against the distributions they are drawn from."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kstest, norm

from checker.odds.chance import offsets, setups, swept, two_piece, wanders
from checker.process.bit import Spread
from checker.process.width import swept_width
from tests.handmade import exactly, spread
from tests.odds.boards import by_sd, shop

steady = settings(deadline=None, derandomize=True)
N = 20_000
SURE = 1e-3  # a test of a true distribution fails so rarely


def drawn(of: Spread, seed: int = 5) -> np.ndarray:
    random = np.random.default_rng(seed)
    return two_piece(of, random.standard_normal(N), random.random(N))


def test_even_spread_is_normal_with_its_ends_two_deviations_off() -> None:
    # JCGM 100:2008, 6.3.3: a coverage factor of 2.
    values = drawn(spread(0.1, 0.02))

    assert kstest(values, norm(0.1, 0.01).cdf).pvalue > SURE


def test_uneven_spread_is_two_halves_of_normals_that_meet_at_the_top() -> None:
    # Wallis, Statistical Science 29 (2014): weights 2 s1 / (s1 + s2) and 2 s2 / (s1 + s2).
    low, high = 0.01, 0.03

    def below(x: np.ndarray) -> np.ndarray:
        under = 2 * low / (low + high) * norm.cdf((x - 0.1) / low)
        over = 1 - 2 * high / (low + high) * norm.sf((x - 0.1) / high)
        share: np.ndarray = np.where(x < 0.1, under, over)
        return share

    values = drawn(by_sd(0.1, low, high))

    assert kstest(values, below).pvalue > SURE


def test_spread_to_one_side_stays_there() -> None:
    values = drawn(Spread(0.1, 0.1, 0.14))

    assert values.min() >= 0.1
    assert values.std() > 0.01


def test_length_without_spread_is_never_another() -> None:
    assert (drawn(exactly(0.1)) == 0.1).all()


def test_widths_and_runout_are_never_negative() -> None:
    process = shop(tip=spread(0.02, 0.06), runout=spread(0.01, 0.05), depth=spread(0.1, 0.02))

    found = setups(process, N, 1)

    assert found.tip.min() == 0.0
    assert found.trial.min() >= 0.0


def test_trial_cut_is_the_drawn_tool_at_the_drawn_depth() -> None:
    process = shop(tip=spread(0.1, 0.02), depth=spread(0.1, 0.02), runout=exactly(0.02), angle=60)

    found = setups(process, N, 1)

    slope = 2 * np.tan(np.radians(30))
    assert found.trial == pytest.approx(found.tip[:, None] + slope * found.depth + 0.02)


def test_foot_is_the_trial_cut_less_the_foil_and_the_bed() -> None:
    process = shop(angle=60, foil=exactly(0.035))
    found = setups(process, 3, 1)
    higher = np.array([0.0, 0.035, -0.07])

    foot = found.foot(1, higher, np.arange(3))

    slope = 2 * np.tan(np.radians(30))
    assert foot == pytest.approx([0.1 + slope * 0.065, 0.1 + slope * 0.1, 0.0])


@steady
@given(
    st.sampled_from(["cone", "flat", "ball", "beam"]),
    st.floats(0.01, 1.5),
    st.floats(3, 150),
    st.floats(-0.1, 2),
)
def test_many_widths_are_those_of_one(shape: str, size: float, angle: float, depth: float) -> None:
    many = swept(shape, np.array([size]), angle, 3.175, np.array([depth]))

    assert many[0] == pytest.approx(swept_width(shape, size, angle, 3.175, depth), abs=1e-12)


def test_what_one_spread_is_leaves_the_other_draws_alone() -> None:
    calm = setups(shop(depth=spread(0.1, 0.02)), 100, 1)
    rough = setups(shop(depth=spread(0.1, 0.02), tip=spread(0.1, 0.05)), 100, 1)

    assert (calm.depth == rough.depth).all()


def test_holes_wander_each_by_itself() -> None:
    off = wanders(np.arange(3), 0.04, N, 1)

    between = np.corrcoef(off.transpose(0, 2, 1).reshape(6, N))
    assert between == pytest.approx(np.eye(6), abs=4 / np.sqrt(N))
    assert off.std(axis=1) == pytest.approx(0.02, rel=0.03)


def test_registration_is_told_by_its_ends() -> None:
    assert offsets("registration", 0.1, N, 1).std(axis=0) == pytest.approx(0.05, rel=0.03)
