"""The profile that is written: it loads, says where its numbers come from, and harms no file."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.calibration import Calibration, Measurements, calibrate
from checker.calibration.measurements import Comb, Reading
from checker.errors import MeasurementError, UsageError
from checker.process import Process, Spread, load_profile
from checker.process.shop import Measured
from checker.process.vary import at_depth
from checker.report.calibration_profile import base_for, profile_text, write_profile
from tests.calibration.machine import even, machine

CONE = load_profile("cone-30-0.1")
COUPON = replace(
    machine(3).coupon(), date="2026-03-31", bit='30 degree: "number 3" # new', cut_before=1.5
)


def loaded(folder: Path, calibration: Calibration, base: str = "cone-30-0.1") -> Process:
    path = folder / "mine.yaml"
    path.write_text(profile_text(calibration, base), encoding="utf-8")
    return load_profile(path)


def test_it_loads_to_the_measured_cut_and_says_when_it_was_measured(tmp_path: Path) -> None:
    found = calibrate(CONE, COUPON)

    process = loaded(tmp_path, found)

    spread, cut = found.width.spread, process.cut
    assert cut is not None
    assert cut.nominal == pytest.approx(spread.nominal, abs=5.1e-4)
    assert spread.least - 0.001 <= cut.least <= spread.least
    assert spread.most <= cut.most <= spread.most + 0.001
    assert process.measured
    residual = process.measurement.residual
    assert residual == pytest.approx(math.sqrt(found.line.fit.residual), abs=1e-4)
    assert process.measurement == Measured(
        "2026-03-31", '30 degree: "number 3" # new', 27, residual, 1.5
    )


@pytest.mark.parametrize("depth", [0.06, 0.09, 0.12, 0.2])
def test_it_stays_right_when_the_depth_is_varied(depth: float, tmp_path: Path) -> None:
    made = even(machine(8))

    cut = at_depth(loaded(tmp_path, calibrate(CONE, made.coupon())), depth).cut

    assert cut is not None
    assert cut.nominal == pytest.approx(made.true_width(depth), abs=1e-3)  # written to 1 um


@pytest.mark.parametrize("name", ["cone-10-0.1", "cone-60-0.2", "flat-0.4", "flat-0.8", "laser"])
def test_other_profiles_are_measured_alike(name: str, tmp_path: Path) -> None:
    process = load_profile(name)
    assert process.cut is not None
    wide = process.cut.nominal + 0.03
    rows = [Reading(0.1, wide + off, "x", "a", "m.yaml:2") for off in (-0.002, 0.002, 0, 0, 0)]

    measured = loaded(
        tmp_path, calibrate(process, Measurements("m.yaml", tuple(rows), cut_before=2.0)), name
    )

    assert measured.measured
    assert measured.cut is not None
    assert measured.cut.nominal == pytest.approx(wide, abs=0.013)  # 0.01 mm deeper, 60 degrees


def test_every_number_says_where_it_comes_from() -> None:
    coupon = replace(
        COUPON, registration=((0.2, 0.1), (0.25, 0.1)), backlash={"x": 0.02, "y": 0.04},
        traces=(Comb("x", 0.25, 0, 5), Comb("x", 0.3, 5, 5)),
    )  # fmt: skip

    text = profile_text(calibrate(CONE, coupon), "cone-30-0.1")

    lines = text.splitlines()
    keys = [i for i, line in enumerate(lines) if line.startswith("  ") and "# " not in line[:4]]
    of_bit = [i for i in keys if lines[i].strip().startswith(("measured_width", "angle", "tip"))]
    assert len(of_bit) == 3
    assert all(lines[i - 1].lstrip().startswith("# ") for i in of_bit)
    assert "  # the farthest of 2 targets\n  flip: 0.250 mm\n" in text
    assert "  # the greater of the verniers: x 0.02 mm, y 0.04 mm\n  backlash: 0.040 mm\n" in text
    assert "\nminimum_trace: 0.3 mm\n" in text
    assert max(map(len, lines)) <= 100


def test_what_the_coupon_does_not_show_stays_as_it_is(tmp_path: Path) -> None:
    coupon = replace(COUPON, registration=((0.02, 0.01),), backlash={"x": 0.01})

    found = calibrate(CONE, coupon)
    process = loaded(tmp_path, found)

    assert found.kept == {
        "minimum_trace": "no comb of traces was read",
        "machine.flip": "0.020 mm at most was read; one coupon is one flip, which says nothing of "
        "how far the next one comes to lie off",
        "machine.backlash": "only one axis was read, x 0.01 mm",
    }
    assert (process.minimum_trace, process.machine) == (CONE.minimum_trace, CONE.machine)


def test_a_zero_that_is_off_leaves_the_tip_of_the_profile(tmp_path: Path) -> None:
    made = even(machine(2))
    touched_late = replace(made, tool=replace(made.tool, size=0.03), zero=-0.07)

    found = calibrate(CONE, touched_late.coupon())
    process = loaded(tmp_path, found)

    assert found.kept["bit.tip_width"].endswith("the zero of the depth is off")
    assert process.bit is not None
    assert process.bit.tip_width == Spread(0.08, 0.1, 0.15)
    assert process.cut is not None
    assert process.cut.nominal == pytest.approx(touched_late.true_width(0.09), abs=1e-3)
    deeper = at_depth(process, 0.15).cut
    assert deeper is not None
    assert deeper.nominal == pytest.approx(touched_late.true_width(0.15), abs=1e-3)


def test_a_measured_profile_is_measured_again(tmp_path: Path) -> None:
    first = tmp_path / "mine.yaml"
    write_profile(calibrate(CONE, COUPON), "cone-30-0.1", first)
    wider = tuple(replace(reading, width=reading.width + 0.02) for reading in COUPON.readings)
    worn = replace(COUPON, readings=wider, date="2026-05-01", bit=None, cut_before=None)

    write_profile(calibrate(load_profile(first), worn), first, tmp_path / "worn.yaml")

    once, again = load_profile(first), load_profile(tmp_path / "worn.yaml")
    assert once.cut is not None
    assert again.cut is not None
    assert again.cut.nominal == pytest.approx(once.cut.nominal + 0.02, abs=1.1e-3)
    assert again.measurement == Measured("2026-05-01", None, 27, once.measurement.residual, None)


@pytest.mark.parametrize(
    ("profile", "target", "base"),
    [
        ("cone-30-0.1", "mine.yaml", "cone-30-0.1"),
        ("shop.yaml", "mine.yaml", "./shop.yaml"),
        ("shop.yaml", "out/mine.yaml", "../shop.yaml"),
        ("deep/shop.yaml", "mine.yaml", "deep/shop.yaml"),
    ],
)
def test_what_it_is_based_on_is_found_from_where_it_lies(
    profile: str, target: str, base: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)

    assert base_for(profile, Path(target)) == base


def test_a_profile_of_ones_own_is_based_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "out").mkdir()
    (tmp_path / "shop.yaml").write_text("based_on: cone-30-0.1\nbite: 0.02 mm\n")

    write_profile(calibrate(load_profile("shop.yaml"), COUPON), "shop.yaml", Path("out/mine.yaml"))

    assert load_profile("out/mine.yaml").bite == 0.02


def test_a_file_that_is_there_is_not_written_over_unasked(tmp_path: Path) -> None:
    target = tmp_path / "mine.yaml"
    target.write_text("method: milling\n")

    with pytest.raises(UsageError) as caught:
        write_profile(calibrate(CONE, COUPON), "cone-30-0.1", target)

    assert str(caught.value) == (
        f"--output {target}: is there already; expected another name; --force writes over it"
    )
    assert target.read_text() == "method: milling\n"

    write_profile(calibrate(CONE, COUPON), "cone-30-0.1", target, force=True)

    assert load_profile(target).measured


def test_neither_the_readings_nor_the_profile_are_written_over(tmp_path: Path) -> None:
    readings, profile = tmp_path / "m.yaml", tmp_path / "shop.yaml"
    readings.write_text("grooves: []\n")
    profile.write_text("based_on: cone-30-0.1\n")
    found = calibrate(load_profile(profile), replace(COUPON, source=str(readings)))

    for target in (readings, profile):
        with pytest.raises(UsageError, match="is one of the files to be read"):
            write_profile(found, profile, target, force=True)

    assert readings.read_text() == "grooves: []\n"
    assert profile.read_text() == "based_on: cone-30-0.1\n"


def test_readings_that_give_no_cut_at_the_depth_of_the_profile_are_refused() -> None:
    deep = [(1.0, 1.0), (0.9, 0.7), (0.8, 0.4), (0.85, 0.55), (0.95, 0.85)]  # 0 at 0.667 mm
    rows = tuple(Reading(depth, width, "x", "a", "m.yaml:2") for depth, width in deep)

    with pytest.raises(MeasurementError) as caught:
        calibrate(CONE, Measurements("m.yaml", rows))

    assert str(caught.value).startswith(
        "m.yaml: at the profile's depth of 0.09 mm the grooves give a cut of -1.730 mm, up to "
    )
    assert "expected 0.01 to 12 mm; read grooves near that depth again" in str(caught.value)


@given(
    bit=st.text(st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=40)
    .map(lambda text: " ".join(text.split()))
    .filter(bool),
    widths=st.lists(st.floats(0.02, 3.0), min_size=5, max_size=5),
    depths=st.lists(st.floats(0.02, 1.0), min_size=5, max_size=5),
)
@settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_whatever_was_read_the_profile_loads(
    tmp_path: Path, bit: str, widths: list[float], depths: list[float]
) -> None:
    rows = tuple(
        Reading(depth, width, "x", f"at {i}", "m.yaml:2")
        for i, (depth, width) in enumerate(zip(depths, widths, strict=True))
    )

    try:
        found = calibrate(CONE, Measurements("m.yaml", rows, bit=bit))
    except MeasurementError:  # no cut at the profile's depth, see the test before
        return

    process = loaded(tmp_path, found)
    assert process.measurement.bit == bit
    assert process.measured
