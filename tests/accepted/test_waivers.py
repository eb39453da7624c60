from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.accepted.waiver import Waiver
from checker.accepted.waivers import expired, fits
from checker.findings import Finding
from tests.accepted.made import RULE, finding, seen_anywhere

TODAY = date(2026, 11, 29)


def waiver(**changes: object) -> Waiver:
    plain = Waiver(RULE, "cut by hand", "hardware/.cutworthy.yaml:4", Path("hardware"))
    return replace(plain, **changes)


@pytest.mark.parametrize(
    "names",
    [
        {"nets": ("GND",)},
        {"nets": ("VCC", "GND")},
        {"pins": ("U1.2",)},
        {"at": (10.0, 20.0)},
        {"at": (10.6, 20.8)},  # 1.0 mm away, as far as a waiver reaches that does not say
        {"at": (13.0, 24.0), "within": 5.0},
        {"side": "top", "nets": ("GND",)},
        {"nets": ("GND",), "pins": ("U1.1",), "at": (10.0, 20.0)},
    ],
)
def test_waiver_fits_where_all_that_it_names_is_so(names: dict[str, object]) -> None:
    assert fits(waiver(**names), finding(), TODAY)


@pytest.mark.parametrize(
    "names",
    [
        {"rule": "tight-gap", "nets": ("GND",)},
        {"side": "bottom", "nets": ("GND",)},
        {"nets": ("GND", "LAMP")},
        {"nets": ("gnd",)},
        {"pins": ("U1.1", "U1.9")},
        {"at": (10.7, 20.8)},  # 1.06 mm
        {"at": (13.0, 24.1), "within": 5.0},
        {"nets": ("GND",), "at": (50.0, 50.0)},
        {"nets": ("LAMP",), "at": (10.0, 20.0)},
    ],
)
def test_waiver_fits_nothing_where_one_thing_is_otherwise(names: dict[str, object]) -> None:
    assert not fits(waiver(**names), finding(), TODAY)


def test_waiver_that_names_no_place_net_or_pin_means_the_whole_board_alone() -> None:
    whole = finding(x=None, y=None, nets=(), pins=())

    assert fits(waiver(), whole, TODAY)
    assert not fits(waiver(), finding(), TODAY)
    assert not fits(waiver(side="top"), finding(), TODAY)


def test_waiver_of_a_place_fits_no_finding_of_the_whole_board() -> None:
    assert not fits(waiver(at=(0.0, 0.0)), finding(x=None, y=None), TODAY)


@pytest.mark.parametrize("side", ["inner1", "inner 1"])
def test_inner_sides_are_the_same_with_a_space_and_without(side: str) -> None:
    assert fits(waiver(side="inner1", nets=("GND",)), finding(side=side), TODAY)
    assert not fits(waiver(side="inner2", nets=("GND",)), finding(side=side), TODAY)


def test_waiver_holds_on_its_last_day_and_expires_the_day_after() -> None:
    ends = waiver(nets=("GND",), until=TODAY)

    assert fits(ends, finding(), TODAY)
    assert not expired(ends, TODAY)
    assert not fits(ends, finding(), date(2026, 11, 30))
    assert expired(ends, date(2026, 11, 30))


@given(seen_anywhere(), seen_anywhere())
def test_waiver_made_of_a_finding_fits_it_and_nothing_without_its_names(
    one: Finding, other: Finding
) -> None:
    seen = one.seen
    at = None if seen.x is None or seen.y is None else (seen.x, seen.y)
    own = waiver(rule=one.rule, side=seen.side, nets=seen.nets, pins=seen.pins, at=at)

    assert fits(own, one, TODAY)
    assert not fits(own, other, TODAY) or (
        one.rule == other.rule
        and seen.side in (None, other.seen.side)
        and set(seen.nets) <= set(other.seen.nets)
        and set(seen.pins) <= set(other.seen.pins)
    )


@given(seen_anywhere(), st.dates(), st.dates())
def test_no_expired_waiver_fits_anything(one: Finding, until: date, today: date) -> None:
    seen = one.seen
    at = None if seen.x is None or seen.y is None else (seen.x, seen.y)
    own = waiver(rule=one.rule, nets=seen.nets, pins=seen.pins, at=at, until=until)

    assert fits(own, one, today) == (today <= until)
