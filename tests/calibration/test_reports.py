"""A calibration as text, document, picture and page."""

from __future__ import annotations

import json
import re
from html import unescape
from typing import Any
from xml.etree import ElementTree

import pytest
from jsonschema import Draft7Validator
from msgspec.structs import replace

from checker import Verdict, load_profile
from checker.board import Unchecked
from checker.calibration import Calibration, Change, calibrate
from checker.calibration.measurements import Comb
from checker.process.bit import Spread
from checker.report import text
from checker.report.calibration_document import calibration_document
from checker.report.calibration_svg import calibration_svg
from checker.report.calibration_text import calibration_text
from checker.report.html.calibration import calibration_page
from checker.report.json import dumps
from checker.schema.calibration import calibration_schema
from tests.calibration.machine import machine
from tests.report.made import EVIL
from tests.schema.test_document_schemas import shut

HARM = "<script>alert('x')</script>\" &amp; " + EVIL
COUPON = replace(
    machine(11).coupon(),
    date="2026-03-31",
    bit="number 3",
    gaps=(Comb("x", 0.2, 2, 5), Comb("x", 0.25, 5, 5)),
    traces=(Comb("y", 0.15, 4, 5),),
    registration=((0.2, -0.1), (0.24, -0.12)),
    backlash={"x": 0.02},
    resistance=0.35,
)
FOUND = calibrate(load_profile("cone-30-0.1"), COUPON)
SPARSE = calibrate(load_profile("flat-0.4"), machine(12).coupon())
BEAM = calibrate(
    load_profile("laser"),
    replace(COUPON, readings=tuple(replace(r, depth=0.0) for r in COUPON.readings[:6])),
)
CHANGES = (Change("hive-scale", Verdict.MAKEABLE, Verdict.MARGINAL, 0, 3),)
EVERY = pytest.mark.parametrize("found", [FOUND, SPARSE, BEAM], ids=["cone", "flat", "beam"])
SVG = "{http://www.w3.org/2000/svg}"


def evil() -> Calibration:
    """One whose every text tries to do harm."""
    readings = tuple(replace(reading, place=HARM) for reading in COUPON.readings)
    coupon = replace(COUPON, bit=HARM, coupon=HARM, source=HARM, readings=readings)
    return calibrate(replace(FOUND.process, name=HARM, title=HARM), coupon)


def as_text(found: Calibration, *changes: Change) -> str:
    return text.render(calibration_text(found, changes, 0.25, "mine.yaml"), None)


def test_text_tells_the_cut_first_and_then_what_follows() -> None:
    lines = as_text(FOUND, *CHANGES).splitlines()

    spread, cut = FOUND.width.spread, FOUND.process.cut
    assert cut is not None
    assert lines[0] == "Measured: cone-30-0.1 on 2026-03-31, number 3"
    least, nominal, most = re.findall(r"[\d.]+", FOUND.settings[0].value)
    assert (FOUND.settings[0].key, nominal) == ("bit.measured_width", f"{spread.nominal:.3f}")
    assert lines[1] == (
        f"Cut {nominal} mm wide at 0.090 mm of depth, {least} to {most} with its spread"
    )
    assert lines[2] == (
        "The profile says 0.168 mm by the catalogue, 0.112 to 0.270 at the worst: the cut is "
        f"{spread.nominal - cut.nominal:.3f} mm wider"
    )
    assert "   gaps across x    0.25 mm   5 of 5  54 % or more of all such open" in lines
    assert "   traces across y  none      -       -" in lines
    assert (
        "   Second side in x: +0.220 mm off in the mean of 2 targets, which scatter by 0.028 mm"
        in (lines)
    )
    assert "   hive-scale  makeable  marginal  0 -> 3" in lines
    assert lines[-1] == "cutworthy took 0.25 s"


@EVERY
def test_text_fits_and_holds_no_line_that_is_too_long(found: Calibration) -> None:
    lines = as_text(found).splitlines()

    assert max(map(len, lines)) <= 100
    assert "Boards, before and after" not in lines


def test_a_beam_is_told_without_a_depth() -> None:
    assert "of depth" not in as_text(BEAM)


def test_a_serpentine_says_no_more_than_it_can() -> None:
    broken = as_text(replace(FOUND, measurements=replace(COUPON, resistance=float("inf"))))

    assert "Serpentine: 0.350 ohm, so it is in one piece; its length is not in" in as_text(FOUND)
    assert "Serpentine: open, a trace of it is broken" in broken
    assert "Serpentine" not in as_text(SPARSE)


@pytest.mark.parametrize("form", ["text", "html"])
def test_verdicts_of_boards_say_how_far_they_go(form: str) -> None:
    open_ = replace(CHANGES[0], unchecked_before=(), unchecked_after=(Unchecked("holes", "none"),))

    said = as_text(FOUND, open_) if form == "text" else calibration_page(FOUND, (open_,))

    assert "marginal, as far as it was" in said
    assert "makeable, as far" not in said
    (board,) = calibration_document(FOUND, (open_,))["boards"]
    assert board["unchecked"] == [{"what": "holes", "why": "none"}]


def test_the_difference_is_that_of_the_widths_that_are_told() -> None:
    assert FOUND.process.cut is not None
    spread = Spread(0.16, 0.18065, 0.2)
    cut = replace(FOUND.process.cut, nominal=0.16824)  # 0.0124 mm less, told as 0.168 and 0.181
    found = replace(
        FOUND,
        width=replace(FOUND.width, spread=spread),
        process=replace(FOUND.process, cut=cut),
    )

    assert "The profile says 0.168 mm" in as_text(found)
    assert "the cut is 0.013 mm wider" in " ".join(as_text(found).split())


@EVERY
def test_document_is_as_its_schema_says_and_holds_nothing_else(found: Calibration) -> None:
    document: dict[str, Any] = json.loads(dumps(calibration_document(found, CHANGES)))

    faults = Draft7Validator(shut(calibration_schema())).iter_errors(document)

    assert [f"{fault.json_path}: {fault.message}" for fault in faults] == []


def test_document_holds_the_numbers() -> None:
    document = calibration_document(FOUND, CHANGES)

    Draft7Validator.check_schema(calibration_schema())
    assert document["schema"] == "cutworthy.calibration/1"
    assert document["width_mm"]["nominal"] == pytest.approx(FOUND.width.spread.nominal, abs=1e-4)
    assert FOUND.tip is not None
    assert document["fit"]["tip_mm"]["value"] == pytest.approx(FOUND.tip.value, abs=1e-4)
    assert document["gaps"][1] == {
        "along": "x", "drawn": 0.25, "good": 5, "of": 5, "least_share": 0.5493, "most_share": 1.0
    }  # fmt: skip
    assert document["boards"] == [
        {"name": "hive-scale", "before": "makeable", "after": "marginal", "closed_before": 0,
         "closed_after": 3, "unchecked": []}
    ]  # fmt: skip


@EVERY
def test_picture_is_one_svg_with_a_mark_for_every_reading(found: Calibration) -> None:
    root = ElementTree.fromstring(calibration_svg(found))

    marks = [path for path in root.iter(f"{SVG}path") if path.find(f"{SVG}title") is not None]
    drawn = " ".join(path.get("d", "") for path in root.iter(f"{SVG}path"))
    numbers = re.findall(r"-?[\d.]+", drawn)
    assert len(marks) == len(found.measurements.readings)
    assert max(map(float, numbers)) <= 760


def test_a_wider_reading_stands_higher_and_a_deeper_one_farther_right() -> None:
    root = ElementTree.fromstring(calibration_svg(FOUND))

    places = [
        tuple(map(float, re.findall(r"[-.\d]+", path.get("transform", ""))))
        for path in root.iter(f"{SVG}path")
        if path.find(f"{SVG}title") is not None
    ]
    readings = COUPON.readings
    widest = max(range(len(readings)), key=lambda i: readings[i].width)
    deepest = max(range(len(readings)), key=lambda i: readings[i].depth)
    assert places[widest][1] == min(y for _, y in places)
    assert places[deepest][0] >= max(x for x, _ in places) - 60


def test_page_needs_no_network_and_no_script() -> None:
    page = calibration_page(FOUND, CHANGES, 0.25)

    assert "default-src 'none'; style-src 'sha256-" in unescape(page)
    assert not re.search(r"<script|<link|<img|src=|@import|url\(", page)
    assert "<td>hive-scale</td><td>makeable</td><td>marginal</td><td>0 -&gt; 3</td>" in page
    assert page.endswith("<!--\ncutworthy took 0.25 s -->\n")


@EVERY
def test_page_holds_the_picture_once_and_closes_what_it_opens(found: Calibration) -> None:
    page = calibration_page(found)

    assert page.count(calibration_svg(found)) == 1
    for tag in ("section", "table", "div", "ul", "dl", "figure", "svg", "main"):
        assert len(re.findall(f"<{tag}[ >]", page)) == page.count(f"</{tag}>"), tag


def test_names_from_a_file_do_no_harm() -> None:
    found = evil()

    page, picture, said = calibration_page(found), calibration_svg(found), as_text(found)

    assert "<script" not in page
    assert "<script" not in picture
    ElementTree.fromstring(picture)
    assert "\x1b" not in page + picture + said
    assert "\u202e" not in page + picture + said
