"""Spacings, creepage, heating and resistance, against what is published."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.board import Rating
from checker.electrical import (
    creepage,
    is_hazardous,
    resistance,
    rise_of,
    spacing,
    spoken,
    stress,
    width_for,
)

OZ = 1.378 * 0.0254  # mm: the thickness of one ounce that trace calculators print
MIL = 0.0254
# IEC 60664-1, tables F.1 (impulse by voltage to earth, overvoltage category II) and F.2 case A
# (clearance by impulse): row up to V, basic, reinforced, which takes the next impulse. The row of
# 300 V is printed in several places, the others are from memory.
CLEARANCE = ((50, 0.2, 0.2), (100, 0.2, 0.5), (150, 0.5, 1.5), (300, 1.5, 3.0), (600, 3.0, 5.5),
             (1000, 5.5, 8.0))  # fmt: skip


def steady(volts: float | None) -> Rating:
    return Rating(volts, False, None, None, "note:1")


def mains(volts: float) -> Rating:
    return Rating(volts * sqrt(2), True, None, None, "note:1")


@pytest.mark.parametrize(
    ("peak", "conductors", "leads"),
    [
        # IPC-2221, table 6-1, rows B2 and A6.
        (5, 0.1, 0.13), (15, 0.1, 0.13), (16, 0.1, 0.25), (30, 0.1, 0.25), (31, 0.6, 0.4),
        (50, 0.6, 0.4), (100, 0.6, 0.5), (150, 0.6, 0.8), (151, 1.25, 0.8), (170, 1.25, 0.8),
        (250, 1.25, 0.8), (300, 1.25, 0.8), (301, 2.5, 1.5), (500, 2.5, 1.5),
        # A design seminar reads 800 V as 4.0 mm; adding to the last row gives as much for B2.
        (800, 4.0, 2.44),
    ],
)  # fmt: skip
def test_spacing_is_that_of_the_table(peak: float, conductors: float, leads: float) -> None:
    assert spacing(peak) == pytest.approx(conductors)
    assert spacing(peak, leads=True) == pytest.approx(leads)


@pytest.mark.parametrize(
    ("volts", "basic"),
    [
        # IEC 60664-1, table F.4, pollution degree 2, group III; 63, 400, 800 and 1000 V also in a
        # seminar on power supplies. 230 V lies between its neighbours: 2.3 mm.
        (50, 1.2), (63, 1.25), (100, 1.4), (200, 2.0), (230, 2.3), (250, 2.5), (400, 4.0),
        (800, 8.0), (1000, 10.0),
        # Not in the table: the least value below it, 10 mm per kV above.
        (12, 1.2), (1200, 12.0),
    ],
)  # fmt: skip
def test_creepage_is_that_of_the_table_and_reinforced_twice_that(
    volts: float, basic: float
) -> None:
    assert creepage(volts, reinforced=False) == pytest.approx(basic)
    assert creepage(volts, reinforced=True) == pytest.approx(2 * basic)


@pytest.mark.parametrize("volts", range(30, 1001, 10))
@pytest.mark.parametrize("reinforced", [False, True])
def test_on_a_flat_board_creepage_asks_for_no_less_than_clearance(
    volts: float, reinforced: bool
) -> None:
    clearance = next(row[1 + reinforced] for row in CLEARANCE if volts <= row[0])

    assert creepage(volts, reinforced=reinforced) >= clearance


@given(st.floats(0, 2000), st.floats(0, 2000), st.booleans())
def test_more_voltage_never_asks_for_less(one: float, other: float, flag: bool) -> None:
    low, high = sorted((one, other))

    assert spacing(low, leads=flag) <= spacing(high, leads=flag)
    assert creepage(low, reinforced=flag) <= creepage(high, reinforced=flag) + 1e-12


@pytest.mark.parametrize(
    ("one", "other", "peak", "effective"),
    [
        (steady(12), None, 12, 12),
        (steady(12), steady(-12), 24, 24),
        (steady(12), steady(5), 7, 7),
        (steady(None), steady(5), 5, 5),
        (mains(230), None, 325.27, 230),
        (mains(230), mains(110), 325.27, 230),
        (mains(230), steady(-12), 337.27, sqrt(230**2 + 12**2)),
        (None, None, 0, 0),
    ],
)
def test_stress_between_two_nets(
    one: Rating | None, other: Rating | None, peak: float, effective: float
) -> None:
    assert stress(one, other) == pytest.approx((peak, effective), abs=0.01)
    assert stress(other, one) == stress(one, other)


@pytest.mark.parametrize(
    ("rating", "hazardous"),
    [
        # IEC 62368-1, ES1: up to 42.4 V peak or 60 V steady; 30 V rms is 42.4 V peak.
        (steady(60), False), (steady(61), True), (steady(-61), True), (mains(29.9), False),
        (mains(31), True), (steady(None), False), (None, False),
    ],
)  # fmt: skip
def test_hazard_begins_where_the_standard_says(rating: Rating | None, hazardous: bool) -> None:
    assert is_hazardous(rating) is hazardous


def test_voltages_in_words() -> None:
    assert [spoken(one) for one in (mains(230), steady(-5.2), None)] == [
        "230 V ac",
        "-5.2 V",
        "0 V",
    ]


@pytest.mark.parametrize(
    ("amperes", "rise", "ounces", "mils"),
    [
        # Trace calculators on the web, fit of IPC-2221, outer layer.
        (1, 10, 1, 11.83), (2, 10, 1, 31), (3, 10, 2, 27), (3, 10, 1, 54),
    ],
)  # fmt: skip
def test_width_is_that_of_published_calculators(
    amperes: float, rise: float, ounces: float, mils: float
) -> None:
    assert width_for(amperes, rise, ounces * OZ) / MIL == pytest.approx(mils, rel=0.01)


def test_cross_section_of_one_ampere() -> None:
    # A calculator's worked example: 1 A, 10 K: 16.30 square mils.
    assert width_for(1, 10, MIL) / MIL == pytest.approx(16.30, abs=0.005)


@given(st.floats(0.05, 35), st.floats(1, 100), st.floats(0.01, 0.2))
def test_rise_undoes_width(amperes: float, rise: float, thickness: float) -> None:
    width = width_for(amperes, rise, thickness)

    assert rise_of(amperes, width, thickness) == pytest.approx(rise, rel=1e-6)


def test_resistance_is_that_of_a_published_example() -> None:
    # A lesson on boards: 100 x 0.5 mm of 35 um is 98.3 milliohm with 1.72e-8 ohm m.
    found = resistance(100, 0.5, 0.035)

    assert found == pytest.approx(98.3e-3 * 1.7241 / 1.72, rel=1e-3)
    assert resistance(100, 0.5, 0.035, 40) == pytest.approx(found * 1.0786)  # 20 K at 0.00393 / K


def test_resistance_of_a_square_of_foil() -> None:
    # Sheet resistance of 35 um copper: about half a milliohm a square.
    assert resistance(3, 3, 0.035) == pytest.approx(0.4926e-3, rel=1e-3)
