"""Lengths and angles as people write them."""

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.errors import ProfileError
from checker.process import Spread
from checker.process.keys import KEYS
from checker.process.units import (
    ANGLE,
    AREA,
    FEED,
    FOIL,
    LENGTH,
    RISE,
    SHARE,
    TIME,
    TURNS,
    WAY,
    Measure,
    read_quantity,
    read_spread,
)

steady = settings(deadline=None, derandomize=True)
ANY_LENGTH = Measure(LENGTH, (0, 1e6))
ANY_FOIL = Measure(FOIL, (0, 1))
ANY_ANGLE = Measure(ANGLE, (0, 360))


def length(text: str) -> float:
    return read_quantity(text, ANY_LENGTH, "here")


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("0.1", 0.1),
        ("0.1 mm", 0.1),
        ("0.1mm", 0.1),
        (".1 mm", 0.1),
        ("4 mil", 0.1016),
        ("4 thou", 0.1016),
        ("0.010 in", 0.254),
        ("1/64 in", 0.396875),  # drill tables: 1/64 in = 0.396875 mm exactly
        ("1/32 inch", 0.79375),
        ("1/8 in", 3.175),
        ("35 um", 0.035),
        ("35 µm", 0.035),  # micro sign
        ("35 μm", 0.035),  # Greek mu
        ("1e-1 mm", 0.1),
    ],
)
def test_length_in_millimetres(text: str, mm: float) -> None:
    assert length(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    ("units", "text", "value"),
    [
        (AREA, "1.5", 1.5),
        (AREA, "1.5 mm2", 1.5),
        (AREA, "1.5 mm²", 1.5),
        (AREA, "1.5mm2", 1.5),
        (AREA, "0.5 cm2", 50.0),
        (FEED, "200 mm/min", 200.0),
        (FEED, "5 mm/s", 300.0),
        (FEED, "0.2 m/min", 200.0),
        (FEED, "10 in/min", 254.0),  # 1 in = 25.4 mm exactly
        (TURNS, "10000 rpm", 10000.0),
        (WAY, "20 m", 20.0),
        (TIME, "2", 2.0),
        (TIME, "90 min", 1.5),
        (SHARE, "40 %", 0.4),
        (SHARE, "40%", 0.4),
        (SHARE, "0.4", 0.4),
        (RISE, "10 K", 10.0),
        (RISE, "10 °C", 10.0),  # of a difference
    ],
)  # fmt: skip
def test_other_quantities(units: Mapping[str, float], text: str, value: float) -> None:
    assert read_quantity(text, Measure(units, (0, 1e6)), "here") == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "mm"), [("0.5 oz", 0.0171), ("1 oz", 0.0343), ("2 oz", 0.0686)])
def test_foil_by_weight(text: str, mm: float) -> None:
    # Nominal thicknesses of IPC-4562 as usually quoted: 17.1, 34.3 and 68.6 um.
    assert read_quantity(text, ANY_FOIL, "here") == pytest.approx(mm, abs=1e-4)


def test_ounce_is_copper_of_that_weight() -> None:
    # 1 oz/ft² from the definitions of both units, at 8.9 g/cm³.
    grams_per_m2 = 28.349523125 / 0.3048**2

    assert read_quantity("1 oz", ANY_FOIL, "here") == pytest.approx(
        grams_per_m2 / 8.9 / 1000, rel=1e-3
    )


def test_foil_tolerance_is_that_of_the_standard() -> None:
    # IPC-4562, ±10 % by weight: 30.7 to 37.6 um, as a foil maker works it out (at 8.93 g/cm³).
    foil = read_spread("1 oz ± 10 %", ANY_FOIL, "here")

    assert foil.least == pytest.approx(0.0307, rel=0.01)
    assert foil.most == pytest.approx(0.0376, rel=0.01)


@pytest.mark.parametrize("text", ["30", "30 deg", "30°", "30 degrees"])
def test_angle_in_degrees(text: str) -> None:
    assert read_quantity(text, ANY_ANGLE, "here") == 30


@pytest.mark.parametrize(
    "text",
    [
        "0.1 mm ± 0.02 mm",
        "0.1 ± 0.02",
        "0.1 mm ± 0.02",
        "0.1 ± 0.02 mm",
        "0.1 mm ± 20 um",
        "0.1 mm +- 0.02 mm",
        "0.1mm+/-0.02mm",
        "0.1 mm ± 20 %",
    ],
)
def test_spread_either_side_of_the_value(text: str) -> None:
    spread = read_spread(text, ANY_LENGTH, "here")

    assert (spread.least, spread.nominal, spread.most) == pytest.approx((0.08, 0.1, 0.12))


def test_unit_of_the_value_holds_for_its_spread() -> None:
    spread = read_spread("4 mil ± 1", ANY_LENGTH, "here")

    assert spread.least == pytest.approx(3 * 0.0254)
    assert spread.most == pytest.approx(5 * 0.0254)


def test_value_alone_has_no_spread() -> None:
    assert read_spread("0.1 mm", ANY_LENGTH, "here") == Spread(0.1, 0.1, 0.1)


numbers = st.floats(1e-4, 1e3).map(lambda number: float(f"{number:.6g}"))


@steady
@given(numbers, st.sampled_from(sorted(LENGTH)))
def test_what_is_written_is_read(number: float, unit: str) -> None:
    assert length(f"{number!r} {unit}") == pytest.approx(number * LENGTH[unit], rel=1e-9)


@steady
@given(numbers)
def test_inch_mil_and_millimetre_agree(inches: float) -> None:
    in_inches = length(f"{inches!r} in")

    assert length(f"{inches * 1000!r} mil") == pytest.approx(in_inches, rel=1e-9)
    assert length(f"{inches * 25.4!r} mm") == pytest.approx(in_inches, rel=1e-9)


@steady
@given(st.text(max_size=100))
def test_any_text_is_a_length_or_a_clear_error(text: str) -> None:
    for read in (read_quantity, read_spread):
        try:
            value = read(text, ANY_FOIL, "here")
        except ProfileError as error:
            outcome = str(error)
        else:
            nominal = value.nominal if isinstance(value, Spread) else value
            outcome = "here: in bounds" if 0 <= nominal <= 1 else f"{nominal} let through"

        assert outcome.startswith("here: ")
        assert outcome.isprintable()


@steady
@given(numbers, st.sampled_from(sorted(LENGTH)), numbers)
def test_spread_surrounds_its_value(number: float, unit: str, wide: float) -> None:
    share = wide / 10  # up to 100 %
    spread = read_spread(f"{number!r} {unit} ± {share!r} %", ANY_LENGTH, "here")

    assert 0 <= spread.least <= spread.nominal <= spread.most
    assert spread.most - spread.nominal == pytest.approx(spread.nominal - spread.least)


@pytest.mark.parametrize("percent", range(96))
def test_every_share_up_to_the_highest_is_taken(percent: int) -> None:
    share = read_quantity(f"{percent} %", KEYS["feeds.overlap"].measure, "my.yaml:1: overlap")

    assert share == pytest.approx(percent / 100, rel=1e-12)
