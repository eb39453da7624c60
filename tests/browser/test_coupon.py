from __future__ import annotations

from functools import cache
from itertools import product
from pathlib import Path

import pytest
import yaml
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from checker.calibration import read_measurements
from checker.coupon import Coupon, coupon_of, measurements, sheet
from checker.process import load_profile
from tests.browser.conftest import Opener
from tests.coupon import filled
from tests.examples import quick

NAME = "cone-30-0.1"


@cache
def coupon(name: str = NAME) -> Coupon:
    return coupon_of(load_profile(name))


@cache
def page(name: str = NAME) -> str:
    return sheet(coupon(name))


def finished(shown: Page) -> str:
    return shown.locator(".finished").inner_text()


def fill(shown: Page, values: dict[str, str]) -> None:
    for name, value in values.items():
        text = value.removesuffix(" of 5").strip('"').removesuffix(" m")
        shown.locator(f'[name="{name}"]').fill(text)


def test_nothing_filled_in_gives_the_empty_file(opened: Opener) -> None:
    shown = opened(page())

    assert finished(shown).strip() == measurements(coupon()).strip()


def test_filled_form_gives_the_file_that_calibration_reads(opened: Opener, tmp_path: Path) -> None:
    shown = opened(page())

    fill(shown, filled.values(coupon()))

    by_hand, by_page = tmp_path / "hand.yaml", tmp_path / "page.yaml"
    by_hand.write_text(filled.text(coupon()))
    by_page.write_text(finished(shown))
    assert yaml.safe_load(by_page.read_text()) == yaml.safe_load(by_hand.read_text())
    read = read_measurements(by_page)
    assert len(read.readings) == len(coupon().grooves)
    assert read.gaps == read_measurements(by_hand).gaps


@pytest.mark.parametrize(
    ("name", "typed", "value"),
    [
        ("bit", 'nr. 3 "new": {x} # no', 'nr. 3 "new": {x} # no'),
        ("bit", "<date>", "<date>"),
        ("bit", "it's", "it's"),
        ("grooves.0", "0,21", 0.21),
        ("grooves.0", " 210 um ", "210 um"),
        ("registration.0.x", "\N{MINUS SIGN}0.03", -0.03),
        ("resistance", "open", "open"),
        ("resistance", "0.036", "0.036 ohm"),
        ("cut_before", "12", "12 m"),
    ],
)
def test_whatever_is_typed_stays_one_value(
    opened: Opener, name: str, typed: str, value: object
) -> None:
    shown = opened(page())

    fill(shown, {name: typed})

    found = yaml.safe_load(finished(shown))
    assert found is not None
    places = {
        "grooves.0": lambda: found["grooves"][0]["width"],
        "registration.0.x": lambda: found["registration"][0]["x"],
    }
    assert places.get(name, lambda: found[name])() == value


def test_file_to_save_is_the_one_shown(opened: Opener) -> None:
    shown = opened(page())
    fill(shown, {"bit": "söme & more"})

    with shown.expect_download() as waiting:
        shown.locator(".save").click()

    assert waiting.value.suggested_filename == "measurements.yaml"
    assert Path(waiting.value.path()).read_text() == finished(shown)


@pytest.mark.parametrize(
    ("name", "paper"),
    quick(
        list(product([NAME, "flat-0.8", "laser", "etch"], ["A4", "Letter"])),
        [(NAME, "A4"), ("flat-0.8", "Letter"), ("laser", "A4"), ("etch", "Letter")],
    ),
)
def test_sheet_is_printed_on_one_page(opened: Opener, name: str, paper: str) -> None:
    shown = opened(page(name))
    shown.emulate_media(media="print")

    printed = shown.pdf(
        format=paper, margin={"top": "10mm", "bottom": "10mm", "left": "11mm", "right": "11mm"}
    )

    assert printed.count(b"/Type /Page\n") == 1
    assert shown.locator(".result").is_hidden()


def test_page_is_read_and_filled_in_without_scripts(opened: Opener) -> None:
    shown = opened(page(), java_script_enabled=False)

    assert shown.locator("input").count() > 40
    assert shown.locator(".result").is_hidden()
    assert "measurements.yaml" in shown.locator("footer").inner_text()


@pytest.mark.parametrize("name", [NAME, "etch"])
def test_no_barrier_that_can_be_found_by_rule(opened: Opener, name: str) -> None:
    shown = opened(page(name))

    found = Axe().run(shown)

    assert [one["id"] for one in found.response["violations"]] == []
