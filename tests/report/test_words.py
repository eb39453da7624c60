"""Widths and margins in the words that every format uses."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.process import Spread, load_profile
from checker.process.shop import Measured
from checker.report import json, pages, words
from tests.report import made

# Every number of a cone, none with a spread.
SPREADLESS = """
method: milling
foil: 35 um
bed_error: 0
bit: {shape: cone, tip_width: 0.1, angle: 60, depth: 0.1, diameter: 3.175, runout: 0}
"""


def profile(folder: Path, text: str) -> Path:
    path = folder / "mine.yaml"
    path.write_text(text)
    return path


def test_width_is_told_at_the_worst_and_if_errors_do_not_all_add_up() -> None:
    process = made.process(cut_rss=Spread(0.27, 0.3, 0.32))

    assert words.cut_width(process) == (
        "cut 0.300 mm wide; 0.250 to 0.350 at the worst, 0.270 to 0.320 if errors don't all add up"
    )


def test_measured_width_says_so_and_has_one_spread() -> None:
    process = made.process(measured=True, cut_rss=Spread(0.25, 0.3, 0.35))

    assert words.cut_width(process) == "cut 0.300 mm wide as measured; 0.250 to 0.350 at the worst"


@pytest.mark.parametrize(
    ("today", "age"),
    [
        (date(2026, 3, 1), "on 2026-03-01, today, with"),
        (date(2026, 3, 2), "on 2026-03-01, 1 day ago, with"),
        (date(2027, 3, 1), "on 2026-03-01, 365 days ago, with"),
        (date(2026, 2, 27), "on 2026-03-01, 2 days after today, with"),
        (None, "on 2026-03-01, with"),
    ],
)
def test_a_measurement_says_how_old_it_is(today: date | None, age: str) -> None:
    told = Measured("2026-03-01", "number\n3", 24, 0.0061)
    process = replace(load_profile("cone-30-0.1"), measured=True, measurement=told)

    said = words.measured_when(process, today)

    assert said == (
        f"that width was measured {age} number\\n3, from 24 readings that scatter by 0.006 mm"
    )


def test_a_width_that_nobody_measured_says_so() -> None:
    catalogue = load_profile("cone-30-0.1")

    assert words.measured_when(catalogue) == (
        "that width is worked out from the bit's catalogue figures, nobody measured it"
    )
    assert words.measured_when(replace(catalogue, measured=True)) == (
        "that width was measured, the profile does not say when"
    )
    assert words.measured_when(load_profile("laser")) == (
        "that width is worked out from the beam's catalogue figures, nobody measured it"
    )
    assert words.measured_when(load_profile("etch")) is None


def test_etching_has_a_gap_and_perfboard_no_cut() -> None:
    etch, perfboard = load_profile("etch"), load_profile("perfboard")

    assert words.cut_width(etch) == "gap 0.200 mm wide; 0.150 to 0.250 at the worst"
    assert words.cut_width(perfboard) == "no copper is cut"


def test_width_of_a_built_in_profile_fits_a_line() -> None:
    assert len(words.cut_width(load_profile("cone-30-0.1"))) <= 95


def test_foot_is_told_where_the_walls_slant() -> None:
    cone, flat, laser = map(load_profile, ("cone-60-0.1", "flat-0.4", "laser"))

    # 60 degrees take 2 tan 30 degrees x 34.3 um = 0.040 mm from the nominal width of 0.224 mm.
    told = words.foot_width(cone)
    assert told is not None
    assert told.startswith("at the foot of the copper 0.184 mm; ")
    assert words.foot_width(flat) is None
    assert words.foot_width(laser) is None


def test_profile_without_spreads_works_and_says_it_has_no_margin(tmp_path: Path) -> None:
    process = load_profile(profile(tmp_path, SPREADLESS))

    page = list(pages.profile_page(process))
    document = json.profile_document(process)

    assert process.cut == process.cut_rss
    assert not process.spread_known
    # 0.1 + 1.1547 x 0.1, and 1.1547 x 0.035 less at the foot.
    assert page[1] == "Cut 0.215 mm wide, no spread given"
    assert page[3] == "At the foot of the copper 0.175 mm"
    assert page[4] == "The profile gives no spread: verdicts carry no margin"
    assert document["spread_known"] is False
    assert document["cut_width_mm"] == document["cut_width_rss_mm"]


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("tip_width: 0.1", "tip_width: 0.1 ± 0.02"),
        ("depth: 0.1", "depth: 0.1 ± 0.02"),
        ("runout: 0", "runout: {least: 0, nominal: 0, most: 0.02}"),
        ("bed_error: 0", "bed_error: 0.02"),
        ("runout: 0", "runout: 0, measured_width: 0.2 ± 0.02"),
    ],
)
def test_one_spread_is_enough_for_a_margin(was: str, now: str, tmp_path: Path) -> None:
    process = load_profile(profile(tmp_path, SPREADLESS.replace(was, now)))

    assert process.spread_known
    assert words.no_margin(process) is None


def test_bed_gives_an_end_mill_no_margin_in_its_width(tmp_path: Path) -> None:
    flat = (
        "bit: {shape: flat, diameter: 0.4, depth: 0.1, runout: 0}\nmethod: milling\nfoil: 35 um\n"
    )
    process = load_profile(profile(tmp_path, flat + "bed_error: 0.03\n"))

    assert process.spread_known
    assert words.no_margin(process) == (
        "the profile gives no spread of the width: gaps are judged without margin"
    )


@pytest.mark.parametrize(
    ("base", "exact", "known"),
    [
        ("laser", "bit: {spot: 0.05, overcut: 0.03}", False),
        ("laser", "bit: {spot: 0.05}", True),
        ("etch", "minimum_gap: 0.2", False),
        ("etch", "minimum_gap: 0.2 ± 0.01", True),
        ("perfboard", "title: Mine", True),
    ],
)
def test_other_methods_know_a_spread_or_not(
    base: str, exact: str, known: bool, tmp_path: Path
) -> None:
    process = load_profile(profile(tmp_path, f"based_on: {base}\n{exact}\n"))

    assert process.spread_known is known
    assert (words.no_margin(process) is None) is known


def test_document_holds_the_three_widths() -> None:
    document = json.profile_document(load_profile("cone-30-0.1"))

    worst, likely, foot = (
        document[key] for key in ("cut_width_mm", "cut_width_rss_mm", "foot_width_mm")
    )
    assert worst["least"] < likely["least"] < worst["nominal"] == likely["nominal"]
    assert worst["nominal"] < likely["most"] < worst["most"]
    # 30 degrees take 2 tan 15 degrees x 34.3 um = 0.0184 mm.
    assert worst["nominal"] - foot["nominal"] == pytest.approx(0.0184, abs=1e-4)


def test_grid_that_a_bow_asks_for_is_told() -> None:
    # 2 s (h/L)² with s = 0.3 mm over L = 100 mm is 0.03 mm at h = 22.4 mm.
    default = load_profile("cone-30-0.1")

    told = words.probing(default)

    assert told == (
        "a bow of 0.30 mm over 100 mm stays within ±0.030 mm on a probed grid of 22.0 mm or closer"
    )
    assert (words.probing(load_profile("laser")), words.probing(made.process())) == (None, None)
