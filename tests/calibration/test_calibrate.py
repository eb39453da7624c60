"""What readings say of a process: width, tip, angle, directions, and what speaks against them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from msgspec.structs import replace
from scipy import stats

from checker.calibration import Calibration, Measurements, calibrate
from checker.calibration.measurements import Comb, Reading
from checker.process import Process, load_profile
from tests.calibration.machine import DEPTHS, even, machine

CONE = load_profile("cone-30-0.1")
FLAT = load_profile("flat-0.4")
Row = tuple[float, float, str, str]


def read(rows: Sequence[Row], process: Process = CONE, **more: object) -> Calibration:
    """What a process becomes by rows of depth, width, direction and place."""
    readings = tuple(Reading(*row, f"m.yaml:{line}") for line, row in enumerate(rows, 2))
    return calibrate(process, Measurements("m.yaml", readings, **more))  # type: ignore[arg-type]


def straight(tip: float = 0.2, slope: float = 0.5, scatter: float = 0.004) -> list[Row]:
    """Three directions at five depths, in one place; each depth's scatter adds up to nothing."""
    off = {"x": scatter, "y": -scatter, "diagonal": 0.0}
    return [
        (depth, tip + slope * depth + off[along] * sign, along, "middle")
        for depth, sign in zip(DEPTHS, (1, -1, 1, -1, 1), strict=True)
        for along in off
    ]


def test_tip_and_angle_of_a_machine_without_scatter_are_found() -> None:
    made = even(machine(1))

    found = calibrate(CONE, made.coupon())

    slope = 2 * math.tan(math.radians(made.tool.angle) / 2)
    assert found.tip is not None
    assert found.tip.value == pytest.approx(made.tool.size + made.tool.extra + slope * made.zero)
    assert found.angle is not None
    assert found.angle.nominal == pytest.approx(made.tool.angle)
    assert found.width.fitted.value == pytest.approx(made.true_width(0.09))


def test_interval_of_the_angle_comes_from_the_ends_of_the_slopes_interval() -> None:
    # An angle grows with its slope, so its interval is that of the slope carried over end by end.
    # To first order that is the slope's reach times d(2 atan(b / 2))/db = 1 / (1 + b² / 4).
    rows = straight()

    angle = read(rows).angle

    depths, widths = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    theirs = stats.linregress(depths, widths)
    reach = stats.t.isf(0.025, len(rows) - 2) * theirs.stderr
    first_order = math.degrees(reach / (1 + theirs.slope**2 / 4))
    assert angle is not None
    for end, slope in (
        (angle.least, theirs.slope - reach),
        (angle.nominal, theirs.slope),
        (angle.most, theirs.slope + reach),
    ):
        assert end == pytest.approx(math.degrees(2 * math.atan(slope / 2)))
    assert (angle.most - angle.least) / 2 == pytest.approx(first_order, rel=0.02)


def test_spread_of_the_width_is_made_of_the_parts_that_are_told() -> None:
    found = read(straight())

    width = found.width
    # The depth may be set off by 0.01 mm, the bed by 0.03 mm; with one place none of it is seen.
    assert width.setting == pytest.approx(0.5 * 0.01)
    assert width.bed == pytest.approx(0.5 * 0.03)
    half = math.hypot(width.predicted.reach, width.setting, width.bed)
    assert width.spread.most - width.spread.nominal == pytest.approx(half)
    assert width.spread.nominal - width.spread.least == pytest.approx(half)
    assert width.spread.nominal == pytest.approx(0.2 + 0.5 * 0.09)


def test_scatter_between_places_takes_the_place_of_the_profiles_bed() -> None:
    coupon = machine(4, bed=0.04).coupon()

    found = calibrate(CONE, coupon)

    slope = found.line.slope
    assert slope is not None
    assert 4 * found.line.fit.between > (slope.value * CONE.bed_error) ** 2
    assert found.width.bed == 0


def test_a_flat_bit_has_the_mean_width_at_any_depth() -> None:
    widths = (0.41, 0.42, 0.415, 0.405)
    rows = [
        (depth, width, "x", place)
        for depth, width, place in zip(DEPTHS, widths, "abcd", strict=False)
    ]

    found = read(rows, FLAT)

    # Mean 0.4125 mm, deviation 0.00645 mm; one more reading: t(3) s sqrt(1 + 1/4).
    deviation = float(np.std(widths, ddof=1))
    assert found.tip is None
    assert found.angle is None
    assert found.width.predicted.value == pytest.approx(0.4125)
    assert found.width.predicted.reach == pytest.approx(3.182446 * deviation * math.sqrt(1.25))
    assert (found.width.setting, found.width.bed) == (0, 0)


def test_readings_that_go_by_a_step_spread_by_the_step() -> None:
    # A rectangular distribution over a step of 0.01 mm deviates by 0.01 / sqrt(12).
    rows = [(0.1, 0.41, "x", "a")] * 10

    found = read(rows, FLAT)

    assert found.width.predicted.error == pytest.approx(0.01 / math.sqrt(12), rel=1e-6)


@pytest.mark.parametrize("along", ["x", "y", "diagonal"])
def test_a_direction_that_cuts_wider_is_told(along: str) -> None:
    rows = [
        (depth, width + 0.02 * (way == along), way, place)
        for depth, width, way, place in straight()
    ]

    found = read(rows)

    wider = {(one.along, one.against): one.wider.value for one in found.directions if one.differs}
    assert len(found.directions) == 3
    assert sorted(abs(value) for value in wider.values()) == pytest.approx([0.02, 0.02], abs=2e-3)
    assert sum(f"cuts along {along} come out 0.0" in text for text in found.warnings) == 2


def test_directions_that_differ_are_added_to_the_spread_in_full() -> None:
    made = replace(even(machine(6)), wider=0.03)

    found = calibrate(CONE, made.coupon())

    # Along y 2/3 of 0.03 mm above the mean of the three, along the others 1/3 below it.
    width = found.width
    assert found.line.apart == ("x", "y", "diagonal")
    assert width.aside == pytest.approx((-0.01, 0.02), abs=1e-6)
    assert width.spread.nominal == pytest.approx(made.true_width(0.09), abs=1e-6)
    half = math.hypot(width.predicted.reach, width.setting, width.bed)
    assert width.spread.most - width.spread.nominal == pytest.approx(0.02 + half)
    assert width.spread.nominal - width.spread.least == pytest.approx(0.01 + half)


def test_no_direction_differs_where_none_does() -> None:
    found = read(straight())

    assert [one.differs for one in found.directions] == [False, False, False]
    assert found.warnings == (
        "widths were read at 1 place: what the bed does elsewhere is taken from the profile",
    )


def test_depths_close_together_leave_the_angle_of_the_profile() -> None:
    rows = [(0.088 + 0.001 * (i // 3), width, along, "middle")
            for i, (_, width, along, _) in enumerate(straight(slope=0.0))]  # fmt: skip

    found = read(rows)

    assert (found.tip, found.angle) == (None, None)
    assert found.width.fitted.value == pytest.approx(0.2, abs=1e-3)
    assert found.warnings[0] == (
        "the depths read, 0.088 to 0.092 mm, do not tell the angle to 50 % of its slope: that of "
        "the profile, 30 deg, is taken; read grooves of depths farther apart"
    )


def test_widths_that_do_not_grow_with_the_depth_are_told() -> None:
    assert read(straight(slope=0.02)).warnings[0] == (
        "the widths grow less with the depth than those of a cone of 30 deg: another bit, a broken "
        "tip, or a depth that was not reached"
    )


def test_one_depth_alone_gives_the_width_there() -> None:
    rows = [(0.1, width, along, "middle") for _, width, along, _ in straight(slope=0.0)]

    found = read(rows)

    # Carried from 0.1 to 0.09 mm along a cone of 30 degrees.
    assert found.width.fitted.value == pytest.approx(0.2 - 0.01 * 2 * math.tan(math.radians(15)))
    assert "read grooves of depths farther apart" in found.warnings[0]


def test_a_reading_off_the_others_is_named() -> None:
    rows = straight(scatter=0.002)
    depth, width, along, place = rows[7]
    rows[7] = (depth, width + 0.03, along, place)

    found = read(rows)

    (told,) = (text for text in found.warnings if "m.yaml" in text)
    assert told.startswith("m.yaml:9: 0.298 mm at 0.14 mm of depth lies +0.026 mm")
    assert told.endswith("off the others: read it again")


def test_a_line_that_bends_is_told() -> None:
    rows = [
        (depth, width + 3 * (depth - 0.14) ** 2, along, place)
        for depth, width, along, place in straight(scatter=0.002)
    ]

    bent, even_line = read(rows), read(straight(scatter=0.002))

    said = "the widths do not lie on a straight line by depth"
    assert [said in text for text in bent.warnings] == [False, True]
    assert not any(said in text for text in even_line.warnings)


@pytest.mark.parametrize(
    ("factor", "off"),
    [(10, "10.0 times wider"), (1 / 10, "10.0 times narrower"), (25.4, "25.4 times wider"),
     (1 / 25.4, "25.4 times narrower")],
)  # fmt: skip
def test_widths_off_the_profile_by_a_unit_are_told(factor: float, off: str) -> None:
    # The profile's bit of 0.4 mm turns off centre by 0.02 mm.
    rows = [(0.1, 0.42 * factor + by, "x", "a") for by in (0.001, 0.0, -0.001, 0.0)]

    found = read(rows, FLAT)

    assert found.warnings[0].startswith(f"the widths are {off} than the profile's bit cuts, about ")
    assert found.warnings[0].endswith(" times: a slip of unit?")


def test_a_depth_beyond_those_read_is_told() -> None:
    rows = [(depth + 0.05, width, along, place) for depth, width, along, place in straight()]

    assert read(rows).warnings[0] == (
        "the profile's depth of 0.09 mm lies outside those read, 0.13 to 0.25 mm: its width is "
        "carried on beyond what was seen"
    )


def test_a_coupon_of_another_profile_is_told() -> None:
    assert read(straight(), coupon="cone-20-0.1").warnings[0] == (
        "the coupon was made for cone-20-0.1, and cone-30-0.1 is calibrated"
    )


def test_wide_gaps_that_stayed_closed_are_told() -> None:
    gaps = (Comb("x", 0.2, 0, 5), Comb("x", 0.4, 3, 5))

    found = read(straight(), gaps=gaps)

    (told,) = (text for text in found.warnings if "gaps" in text)
    assert told.startswith(
        "2 of 5 gaps of 0.4 mm stayed closed across x, where the widest cut of 0.2"
    )


def test_false_alarms_are_rare() -> None:
    # Good coupons: an outlier or a bend is told of one in a hundred each.
    found = [calibrate(CONE, machine(seed).coupon()) for seed in range(300)]

    told = [text for one in found for text in one.warnings if "again" in text or "straight" in text]
    assert len(told) <= 15
