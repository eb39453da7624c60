"""The file of measurements: what is read, and every fault with its line and its words."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.calibration import Measurements, calibrate, read_measurements
from checker.calibration.measurements import Comb, Reading
from checker.coupon import coupon_of, measurements
from checker.errors import CheckerError, MeasurementError, ProfileError
from checker.process import load_profile

WHOLE = """\
coupon: cone-30-0.1
date: 2026-03-31
bit: 30 degree, number 3
cut_before: 1.5 m
grooves:
  - {depth: 0.06 mm, along: x, place: middle, width: 0.211}
  - {depth: 60 um, along: y, place: middle, width: 208 um}
  - {depth: 0.06 mm, along: diagonal, place: middle, width: }
  - {depth: 0.10 mm, along: x, place: corner 1, width: 0.23 mm}
gaps:
  x: {0.25 mm: 5 of 5, 0.20 mm: 2 of 5}
  y: {0.20 mm: , 0.25 mm: 4 of 5}
  diagonal:
traces:
  x: {4 mil: 1 of 5}
registration:
  - {x: 0.12, y: -0.05 mm}
  - {x: , y: }
backlash: {x: 20 um, y: }
resistance: 350 mOhm
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "m.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def rows(*widths: str) -> str:
    """A file of grooves at 0.1 mm, each at a place of its own, from line 2 on."""
    lines = (
        f"  - {{depth: 0.1, along: x, place: at {n}, width: {width}}}"
        for n, width in enumerate(widths)
    )
    return "\n".join(["grooves:", *lines]) + "\n"


def refused(folder: Path, text: str) -> str:
    """The message about a file, without the folder it lies in."""
    with pytest.raises(MeasurementError) as caught:
        read_measurements(written(folder, text))
    return str(caught.value).removeprefix(f"{folder}/")


def test_everything_a_coupon_asks_for_is_read(tmp_path: Path) -> None:
    path = written(tmp_path, WHOLE)

    found = read_measurements(path)

    assert found == Measurements(
        source=str(path),
        readings=(
            Reading(0.06, 0.211, "x", "middle", f"{path}:6"),
            Reading(0.06, 208 * 0.001, "y", "middle", f"{path}:7"),
            Reading(0.1, 0.23, "x", "corner 1", f"{path}:9"),
        ),
        coupon="cone-30-0.1",
        date="2026-03-31",
        bit="30 degree, number 3",
        cut_before=1.5,
        gaps=(Comb("x", 0.2, 2, 5), Comb("x", 0.25, 5, 5), Comb("y", 0.25, 4, 5)),
        traces=(Comb("x", 4 * 0.0254, 1, 5),),
        registration=((0.12, -0.05),),
        backlash={"x": 0.02},
        resistance=350 * 0.001,
    )


def test_a_broken_serpentine_is_open(tmp_path: Path) -> None:
    found = read_measurements(written(tmp_path, rows("0.2") + "resistance: open\n"))

    assert found.resistance == float("inf")


def test_no_more_than_grooves_is_needed(tmp_path: Path) -> None:
    text = "grooves: [{depth: 0.1, width: 0.2}]\ngaps:\ntraces:\nregistration:\nbacklash:\n"

    found = read_measurements(written(tmp_path, text))

    assert found == Measurements(
        str(tmp_path / "m.yaml"), (Reading(0.1, 0.2, "", "", f"{tmp_path / 'm.yaml'}:1"),)
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "date: 2026-03-31\n",
            "m.yaml: grooves is missing; expected the widths of some; grooves: [{depth: 0.1 mm, "
            "along: x, place: middle, width: 0.21 mm}]",
        ),
        (
            rows("0.2", "0.21", "-0.2"),
            "m.yaml:4: grooves.width: -0.2 mm is not plausible; expected 0.01 to 12 mm; did you "
            "mean 0.2 mm?",
        ),
        (
            rows("0.23", "0.24", "0.25", "0.0096"),
            "m.yaml:5: grooves.width: 0.0096 mm is not plausible; expected 0.01 to 12 mm; did you "
            "mean 0.0096 in (0.2438 mm)?",
        ),
        (
            rows("0.43", "0.44", "0.0173", "0.45"),
            "m.yaml:4: grooves.width: 0.0173 mm among widths of about 0.435 mm; did you mean "
            "0.0173 in?",
        ),
        (
            rows("0.23", "6.096", "0.24", "0.25"),
            "m.yaml:3: grooves.width: 6.096 mm among widths of about 0.245 mm; did you mean "
            "0.24 mm?",
        ),
        (
            rows("0.23", "2.4", "0.24", "0.25"),
            "m.yaml:3: grooves.width: 2.4 mm among widths of about 0.245 mm; did you mean 0.24 mm?",
        ),
        (
            rows("0.23", "0.24", "9.5 mil", "0.25 mm"),
            "m.yaml:4: grooves.width: '9.5 mil' among readings in millimetres; expected one system "
            "of units for all widths; write 0.2413 mm",
        ),
        (
            rows("0.009 in", "0.24", "9.5 mil", "0.01 in"),
            "m.yaml:3: grooves.width: '0.24' among readings in inches or mils; expected one system "
            "of units for all widths; write 0.009449 in",
        ),
        (
            "grooves:\n"
            "  - {depth: 0.1, along: x, place: middle, width: 0.24}\n"
            "  - {depth: 0.1, along: y, place: middle, width: 0.37}\n"
            "  - {depth: 0.1, along: x, place: middle, width: 0.36}\n",
            "m.yaml:4: grooves.width: 0.36 mm, but line 2 has 0.24 mm for the same groove (0.1 mm "
            "deep, along x, middle); expected readings that agree; read it again, and leave out "
            "the wrong one",
        ),
        (
            rows("0.2", "wide"),
            "m.yaml:3: grooves.width: 'wide' is not a number; expected a number with or without a "
            "unit (mm, mil, thou, um, in, inch)",
        ),
        (
            "grooves:\n  - {depth: 0.1, along: z, width: 0.2}\n",
            "m.yaml:2: grooves.along: 'z'; expected x, y, diagonal",
        ),
        (
            "grooves:\n  - {deep: 0.1, width: 0.2}\n",
            "m.yaml:2: grooves.deep: unknown key; did you mean depth?",
        ),
        (
            rows("0,2 mm"),
            "m.yaml:2: grooves.2 mm: unknown key; write a decimal point, such as 0.2 mm",
        ),
        ("grooves: 0.2\n", "m.yaml:1: grooves: is no list; expected rows that begin with -"),
        ("grooves: [0.2]\n", "m.yaml:1: grooves: holds no keys and values"),
        (
            rows("0.2") + "gapes: {x: {0.2: 1 of 5}}\n",
            "m.yaml:3: gapes: unknown key; did you mean gaps?",
        ),
        (
            rows("0.2") + "gaps: {x: {0.2: 6 of 5}}\n",
            "m.yaml:3: gaps.x.0.2: '6 of 5'; expected how many of how many gaps, such as 4 of 5",
        ),
        (
            rows("0.2") + "traces: {x: {0.2: yes}}\n",
            "m.yaml:3: traces.x.0.2: 'yes'; expected how many of how many traces, such as 4 of 5",
        ),
        (
            rows("0.2") + "traces: {x: {0.2: 0 of 0}}\n",
            "m.yaml:3: traces.x.0.2: '0 of 0'; expected how many of how many traces, such as 4 of "
            "5",
        ),
        (
            rows("0.2") + "gaps: {x: {0.2: 1 of 5, 200 um: 1 of 5}}\n",
            "m.yaml:3: gaps.x.200 um: is given a second time",
        ),
        (
            rows("0.2") + "gaps: {z: {0.2: 1 of 5}}\n",
            "m.yaml:3: gaps.z: unknown key; known here: x, y, diagonal",
        ),
        (
            rows("0.2") + "registration: [{x: 0.1}]\n",
            "m.yaml:3: registration: y is missing; expected x and y",
        ),
        (
            rows("0.2") + "registration: [{x: 0.1, y: 9}]\n",
            "m.yaml:3: registration.y: 9 mm is not plausible; expected -3 to 3 mm; did you mean "
            "9 mil (0.2286 mm)?",
        ),
        (
            rows("0.2") + "backlash: {x: -0.1}\n",
            "m.yaml:3: backlash.x: -0.1 mm is not plausible; expected 0 to 1 mm; did you mean "
            "0.1 mm?",
        ),
        (
            rows("0.2") + "resistance: 0.3 V\n",
            "m.yaml:3: resistance: 'V' is not a unit known here; expected ohm, Ohm, mOhm, mohm",
        ),
        (
            rows("0.2") + "date: 31.3.2026\n",
            "m.yaml:3: date: '31.3.2026' is no date; expected a date such as 2026-03-31",
        ),
        ("- {depth: 0.1}\n", "m.yaml:1: a list; expected keys and values, such as grooves: [{depth"
         ": 0.1 mm, along: x, place: middle, width: 0.21 mm}]"),
        ("grooves: &a []\n", "m.yaml:1: an anchor (&) or alias (*); expected plain values; put "
         "such text in quotes"),
        ("grooves:\n\t- x\n", "m.yaml:2: is not YAML: a tab where a value should start; indent "
         "with spaces"),
    ],
)  # fmt: skip
def test_each_fault_is_one_line_that_names_its_place(
    text: str, message: str, tmp_path: Path
) -> None:
    assert refused(tmp_path, text) == message


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(MeasurementError) as caught:
        read_measurements(tmp_path / "none.yaml")
    with pytest.raises(MeasurementError) as folder:
        read_measurements(tmp_path)

    assert str(caught.value) == f"{tmp_path}/none.yaml: no such file"
    assert str(folder.value) == f"{tmp_path}: is a folder; expected a file of measurements"


def test_a_list_without_end_is_refused(tmp_path: Path) -> None:
    text = "grooves: [" + "{depth: 0.1, width: 0.2}, " * 600 + "]\n"

    assert refused(tmp_path, text) == (
        "m.yaml:1: grooves: a list of 600; expected 500 rows at most"
    )


@given(
    st.lists(
        st.sampled_from(
            ["grooves:", "\n", "  - ", "{", "}", "[", "]", ": ", ", ", "depth: 0.1", "width: 0.2",
             "along: x", "place: a", "gaps: ", "x: ", "0.2: ", "4 of 5", "5 of 4", "backlash: ",
             "registration: ", "1e99", "-1", "nan", "resistance: ", "open", "date: ", "\x00", "&a"]
        ),
        max_size=25,
    )
)  # fmt: skip
@settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_whatever_stands_there_is_read_or_refused(tmp_path: Path, words: list[str]) -> None:
    path = written(tmp_path, "".join(words))

    with contextlib.suppress(MeasurementError):
        assert all(row.width > 0 for row in read_measurements(path).readings)


@pytest.mark.parametrize(
    ("profile", "widths", "message"),
    [
        ("cone-30-0.1", 4, "4 of the grooves have a width; expected 5 or more for a cone"),
        ("flat-0.4", 3, "3 of the grooves have a width; expected 4 or more for a flat"),
        ("cone-30-0.1", 0, "0 of the grooves have a width; expected 5 or more for a cone"),
    ],
)
def test_too_few_readings_are_refused(
    profile: str, widths: int, message: str, tmp_path: Path
) -> None:
    path = written(tmp_path, rows(*["0.2"] * widths, ""))

    with pytest.raises(MeasurementError) as caught:
        calibrate(load_profile(profile), read_measurements(path))

    assert str(caught.value) == f"{path}: {message}"


def test_a_depth_that_is_missing_is_named(tmp_path: Path) -> None:
    text = rows(*["0.2"] * 6) + "  - {along: x, place: middle, width: 0.2}\n"
    path = written(tmp_path, text)

    with pytest.raises(MeasurementError) as caught:
        calibrate(load_profile("flat-0.4"), read_measurements(path))

    assert str(caught.value) == (
        f"{path}:8: grooves: depth is missing; expected the depth at which that groove was cut"
    )


@pytest.mark.parametrize("name", ["cone-30-0.1", "flat-0.4", "laser"])
def test_the_form_of_a_coupon_is_read_once_it_is_filled_in(name: str, tmp_path: Path) -> None:
    process = load_profile(name)
    coupon = coupon_of(process)
    form = measurements(coupon)
    filled = form.replace("width: }", "width: 0.31}").replace("{x: , y: }", "{x: 0.1, y: 0.1}")
    filled = filled.replace(" mm: ", " mm: 5 of 5").replace("date:", "date: 2026-03-31")

    empty, full = (read_measurements(written(tmp_path, text)) for text in (form, filled))

    assert (empty.coupon, empty.readings, empty.gaps) == (name, (), ())
    assert [(r.depth, r.along, r.place) for r in full.readings] == [
        (groove.depth, groove.along, groove.place) for groove in coupon.grooves
    ]
    assert {comb.drawn for comb in full.gaps} == set(coupon.gaps)
    assert {(comb.good, comb.of) for comb in (*full.gaps, *full.traces)} == {(5, 5)}
    assert len(full.registration) == coupon.targets
    assert len(calibrate(process, full).line.fit.values) == len(coupon.grooves)


@pytest.mark.parametrize(
    ("name", "method", "advice"),
    [
        ("etch", "etching", "; write what its combs say into a profile of your own, as minimum_gap"
         " and minimum_trace"),
        ("perfboard", "perfboard", ""),
    ],
)  # fmt: skip
def test_what_cuts_with_no_tool_is_refused(name: str, method: str, advice: str) -> None:
    with pytest.raises(ProfileError) as caught:
        calibrate(load_profile(name), Measurements("m.yaml", ()))

    assert str(caught.value) == (
        f"rules/profiles/{name}.yaml: {method} cuts no grooves to measure; expected a process of "
        f"milling or laser{advice}"
    )
    assert isinstance(caught.value, CheckerError)
