from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from msgspec.structs import replace

from checker.calibration import calibrate, read_measurements
from checker.coupon import coupon_of, measurements
from checker.coupon.readings import FIELD, fields, template
from checker.process import load_profile
from checker.process.nodes import parse_nodes
from tests.coupon import filled
from tests.coupon.made import ALL, MILLING, built_in

every = pytest.mark.parametrize("name", ALL)


def test_empty_file_is_as_agreed() -> None:
    found = yaml.safe_load(measurements(built_in("cone-30-0.1")))

    assert list(found) == [
        "coupon", "date", "bit", "cut_before", "grooves", "gaps", "traces", "registration",
        "backlash", "resistance",
    ]  # fmt: skip
    assert found["coupon"] == "cone-30-0.1"
    assert found["grooves"][0] == {
        "depth": "0.08 mm", "along": "x", "place": "middle", "width": None,
    }  # fmt: skip
    assert found["grooves"][15]["place"] == "corner 1"
    nothing = dict.fromkeys(("0.10 mm", "0.15 mm", "0.20 mm", "0.25 mm"))
    assert found["gaps"] == {"x": nothing, "y": nothing}
    assert list(found["traces"]["y"]) == ["0.15 mm", "0.20 mm", "0.25 mm", "0.30 mm"]
    assert found["registration"] == [{"x": None, "y": None}] * 2
    assert found["backlash"] == {"x": None, "y": None}
    assert [found[key] for key in ("date", "bit", "cut_before", "resistance")] == [None] * 4


@every
def test_empty_file_is_read_as_nothing_measured(name: str, tmp_path: Path) -> None:
    file = tmp_path / "measurements.yaml"
    file.write_text(measurements(built_in(name)))

    read = read_measurements(file)

    assert read.coupon == name
    assert (read.readings, read.gaps, read.traces, read.registration) == ((), (), (), ())
    assert (dict(read.backlash), read.resistance, read.bit) == ({}, None, None)


@pytest.mark.parametrize("name", MILLING)
def test_filled_file_is_read_whole(name: str, tmp_path: Path) -> None:
    coupon = built_in(name)
    file = tmp_path / "measurements.yaml"
    file.write_text(filled.text(coupon))

    read = read_measurements(file)

    assert [(one.depth, one.along, one.place) for one in read.readings] == [
        (one.depth, one.along, one.place) for one in coupon.grooves
    ]
    assert [one.drawn for one in read.gaps] == pytest.approx(list(coupon.gaps) * 2)
    assert [one.good for one in read.traces] == [2, 3, 4, 5] * 2
    assert read.registration == ((0.03, -0.01), (0.03, -0.02))
    assert read.backlash == {"x": 0.02, "y": 0.04}
    assert read.resistance == pytest.approx(0.036)
    assert read.cut_before == pytest.approx(12.0)
    assert (read.bit, read.date) == ("30 degree, number 3", "2026-03-31")


def test_cone_that_cut_the_coupon_is_found_again(tmp_path: Path) -> None:
    coupon = built_in("cone-30-0.1")
    file = tmp_path / "measurements.yaml"
    file.write_text(filled.text(coupon))

    found = calibrate(coupon.process, read_measurements(file))

    assert found.angle is not None
    assert found.angle.nominal == pytest.approx(filled.ANGLE, abs=0.1)
    assert found.width.spread.nominal == pytest.approx(filled.width(0.09), abs=1e-4)


@every
def test_every_reading_has_one_field(name: str) -> None:
    coupon = built_in(name)

    found = FIELD.findall(template(coupon))

    assert found == [field.name for field in fields(coupon)]
    assert len(found) == len(set(found))
    assert len({field.label for field in fields(coupon)}) == len(found)


@every
def test_nothing_is_left_of_a_field_in_the_empty_file(name: str) -> None:
    text = measurements(built_in(name))

    assert not re.search(r"[<>]| $", text, re.MULTILINE)
    assert parse_nodes(text, "measurements.yaml")["coupon"].value == name


@pytest.mark.parametrize("name", ["x: {y}", "# none", "<date>", 'a "b" c', "né", "-", "{", "x\ny"])
def test_any_name_of_a_profile_stays_one_value(name: str) -> None:
    process = replace(load_profile("etch"), name=name)

    found = yaml.safe_load(measurements(coupon_of(process)))

    assert found["coupon"] == name.replace("\n", "\\n").replace("<date>", "")
