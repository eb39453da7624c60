"""Bounds of combs against closed forms and an exact test; what becomes of the narrowest trace."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.stats import binomtest

from checker.calibration import combs
from checker.calibration.measurements import Comb
from checker.calibration.model import Setting
from checker.process import load_profile

CONE = load_profile("cone-30-0.1")  # the narrowest trace is 0.25 mm


@pytest.mark.parametrize("of", [1, 5, 10, 29, 58])
def test_all_of_n_make_the_root_of_a_twentieth_sure(of: int) -> None:
    least, most = combs.bounds(of, of)

    assert least == pytest.approx(0.05 ** (1 / of))
    assert most == 1


@pytest.mark.parametrize("of", [1, 5, 29])
def test_none_of_n_leave_the_rest_of_that_possible(of: int) -> None:
    assert combs.bounds(0, of) == pytest.approx((0, 1 - 0.05 ** (1 / of)))


@given(st.integers(1, 200).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
@settings(deadline=None, derandomize=True, max_examples=20)
def test_bounds_are_those_of_the_exact_test(counted: tuple[int, int]) -> None:
    good, of = counted

    least, most = combs.bounds(good, of)

    low = binomtest(good, of, alternative="greater").proportion_ci(0.95, "exact").low
    high = binomtest(good, of, alternative="less").proportion_ci(0.95, "exact").high
    assert (least, most) == pytest.approx((low, high), abs=1e-9)


def trace_setting(*counted: tuple[float, int, int], old: float | None = 0.25) -> Setting | str:
    """What becomes of the narrowest trace by rows of drawn width, survivors and number."""
    found = combs.rows(Comb("x", *row) for row in counted)
    return combs.minimum_trace(found, replace(CONE, minimum_trace=old))


def test_it_falls_where_the_bound_vouches_for_nine_in_ten() -> None:
    # 0.05^(1/29) = 0.902, 0.05^(1/28) = 0.899.
    enough = trace_setting((0.1, 1, 29), (0.15, 29, 29), (0.2, 29, 29), (0.25, 29, 29))
    too_few = trace_setting((0.1, 1, 28), (0.15, 28, 28), (0.2, 28, 28), (0.25, 28, 28))

    assert enough == Setting(
        "minimum_trace",
        "0.15 mm",
        "29 of 29 traces of 0.15 mm survived, which makes at least 90 % of all such traces sure",
    )
    assert too_few == (
        "28 of 28 traces of 0.15 mm survived, which makes at least 89 % of all such traces sure; "
        "to go lower 90 % would have to be"
    )


def test_a_comb_of_five_never_lowers_it() -> None:
    assert trace_setting((0.1, 5, 5), (0.15, 5, 5), (0.2, 5, 5)) == (
        "5 of 5 traces of 0.1 mm survived, which makes at least 54 % of all such traces sure; "
        "to go lower 90 % would have to be"
    )


def test_both_directions_count_together() -> None:
    found = combs.rows([Comb("x", 0.15, 15, 15), Comb("y", 0.15, 14, 14)])

    setting = combs.minimum_trace(found, CONE)

    assert isinstance(setting, Setting)
    assert setting.value == "0.15 mm"


def test_one_that_broke_below_a_wider_one_stops_the_fall() -> None:
    setting = trace_setting((0.1, 40, 40), (0.15, 20, 40), (0.2, 40, 40))

    assert isinstance(setting, Setting)
    assert setting.value == "0.2 mm"


def test_it_rises_where_traces_as_wide_are_shown_to_break() -> None:
    setting = trace_setting((0.2, 0, 5), (0.25, 1, 5), (0.3, 5, 5), (0.35, 5, 5))

    assert setting == Setting(
        "minimum_trace",
        "0.3 mm",
        "only 1 of 5 traces of 0.25 mm survived; 5 of 5 traces of 0.3 mm survived, which makes at "
        "least 54 % of all such traces sure",
    )


def test_it_rises_above_a_wider_width_that_broke() -> None:
    setting = trace_setting((0.25, 5, 5), (0.3, 1, 5), (0.35, 5, 5))

    assert isinstance(setting, Setting)
    assert setting.value == "0.35 mm"


def test_it_stays_where_no_width_is_shown_to_do() -> None:
    assert trace_setting((0.25, 0, 5), (0.3, 2, 5)) == (
        "only 2 of 5 traces of 0.3 mm survived, and no wider ones of the comb all did: mill a comb "
        "of wider traces"
    )
    assert trace_setting((0.2, 0, 5), (0.3, 4, 5)) == (
        "the widest traces of the comb did not all survive"
    )
    assert trace_setting() == "no comb of traces was read"


def test_a_profile_without_one_takes_what_is_sure_and_nothing_else() -> None:
    sure, unsure = (trace_setting((0.2, of, of), old=None) for of in (29, 5))

    assert isinstance(sure, Setting)
    assert isinstance(unsure, str)


@given(
    st.dictionaries(st.sampled_from([0.1, 0.15, 0.2, 0.25, 0.3]), st.integers(0, 40)),
    st.sampled_from([None, 0.1, 0.2, 0.25]),
)
@settings(deadline=None, derandomize=True, max_examples=30)
def test_it_never_falls_below_what_the_bound_supports(
    survivors: dict[float, int], old: float | None
) -> None:
    setting = trace_setting(*((drawn, good, 40) for drawn, good in survivors.items()), old=old)

    if isinstance(setting, Setting):
        width = float(setting.value.split()[0])
        fell = old is None or width < old
        assert not fell or all(
            combs.bounds(good, 40)[0] >= 0.9 for drawn, good in survivors.items() if drawn >= width
        )


def test_the_narrowest_of_a_direction_has_all_wider_ones_with_it() -> None:
    rows = combs.rows([Comb("x", 0.1, 5, 5), Comb("x", 0.15, 4, 5), Comb("x", 0.2, 5, 5),
                       Comb("y", 0.1, 5, 5), Comb("y", 0.15, 5, 5)])  # fmt: skip

    x, y, diagonal = (combs.smallest(rows, along) for along in ("x", "y", "diagonal"))

    assert x is not None
    assert y is not None
    assert (x.comb.drawn, y.comb.drawn, diagonal) == (0.2, 0.1, None)
