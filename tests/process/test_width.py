"""The width of a cut against published worked examples, a drawn cross-section and its own laws."""

import math
import random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from numpy.typing import NDArray
from shapely import affinity

from checker.process import Bit, Spread, load_profile
from checker.process.width import (
    cut_width,
    depth_for_width,
    foot_width,
    reached,
    swept_width,
    width_at,
    width_rss,
)

steady = settings(deadline=None, derandomize=True)
ZERO = Spread(0, 0, 0)
MIL, INCH = 0.0254, 25.4


def exactly(value: float) -> Spread:
    return Spread(value, value, value)


def a_bit(
    shape: str = "cone",
    tip: Spread | float = 0.1,
    angle: float = 30.0,
    depth: Spread | float = 0.09,
    diameter: float = 3.175,
    runout: Spread | float = 0.0,
    overcut: Spread | float = 0.0,
    measured: Spread | None = None,
) -> Bit:
    def spread(value: Spread | float) -> Spread:
        return value if isinstance(value, Spread) else exactly(value)

    return Bit(
        shape=shape,
        tip_width=spread(tip),
        angle=angle if shape == "cone" else 0.0,
        depth=ZERO if shape == "beam" else spread(depth),
        diameter=diameter if shape == "cone" else spread(tip).nominal,
        runout=spread(runout),
        overcut=spread(overcut),
        measured_width=measured,
    )


# --- published worked examples --------------------------------------------------------------

# (shape, size, angle, depth, published width, to how many of its last digit), mm
PUBLISHED = [
    # A comment under a video of a board being milled (2020): 90 degrees, sharp, 3 mil deep: 6 mil.
    pytest.param("cone", 0, 90, 3 * MIL, 6 * MIL, 1e-9, id="90-degree-sharp-3-mil"),
    # A forum thread on the width of V bits (2018): width = 1.1547 depth + tip for 60 degrees.
    pytest.param("cone", 0.1, 60, 1.0, 1.1547 + 0.1, 5e-5, id="60-degree-slope"),
    # A carbide maker's page on the effective diameter of ball noses.
    pytest.param("ball", 10, 0, 0.3, 3.4, 0.05, id="ball-10-mm"),
    pytest.param("ball", 6, 0, 0.15, 1.9, 0.05, id="ball-6-mm"),
    # An industrial supplier's page on the same; its second example (0.030 in) holds a slip of
    # arithmetic and is left out.
    pytest.param("ball", 0.375 * INCH, 0, 0.157 * INCH, 0.370 * INCH, 5e-4 * INCH, id="ball-3/8"),
]


@pytest.mark.parametrize(("shape", "size", "angle", "depth", "published", "within"), PUBLISHED)
def test_width_agrees_with_published_example(
    shape: str, size: float, angle: float, depth: float, published: float, within: float
) -> None:
    assert swept_width(shape, size, angle, 100, depth) == pytest.approx(published, abs=within)


def test_taper_is_counted_on_both_sides() -> None:
    # The same forum thread: 30 degrees, tip 0.1, depth 0.127 was given as 0.134, flagged there as
    # doubtful: it counts one side only. 0.1 + 2 x 0.127 x tan 15 degrees = 0.16806.
    width = swept_width("cone", 0.1, 30, 3.175, 0.127)

    assert width == pytest.approx(0.16806, abs=5e-6)
    assert width != pytest.approx(0.134, abs=0.03)


def test_slip_of_a_published_example_is_not_repeated() -> None:
    # The industrial supplier's second example: 3/8 in, 0.030 in deep, given as 0.209 in from
    # 0.1555² where 0.1575² belongs. 2 sqrt(0.1875² - 0.1575²) = 0.2035 in.
    width = swept_width("ball", 0.375 * INCH, 0, 100, 0.030 * INCH) / INCH

    assert width == pytest.approx(0.2035, abs=5e-5)
    assert width != pytest.approx(0.209, abs=5e-3)


# Tip 0.10 mm: width of the cut by the angle, at these depths. Worked out beforehand from the
# forum's formula, which an engraver's width calculator (2014) has too, and rounded.
DEPTHS = (0.035, 0.05, 0.07, 0.10, 0.15, 0.20)
TABLE = {
    10: (0.1061, 0.1087, 0.1122, 0.1175, 0.1262, 0.1350),
    15: (0.1092, 0.1132, 0.1184, 0.1263, 0.1395, 0.1527),
    20: (0.1123, 0.1176, 0.1247, 0.1353, 0.1529, 0.1705),
    30: (0.1188, 0.1268, 0.1375, 0.1536, 0.1804, 0.2072),
    45: (0.1290, 0.1414, 0.1580, 0.1828, 0.2243, 0.2657),
    60: (0.1404, 0.1577, 0.1808, 0.2155, 0.2732, 0.3309),
    90: (0.1700, 0.2000, 0.2400, 0.3000, 0.4000, 0.5000),
}


@pytest.mark.parametrize("angle", TABLE)
@pytest.mark.parametrize("tip", [0.1, 0.2])
def test_width_agrees_with_the_table(angle: int, tip: float) -> None:
    widths = [swept_width("cone", tip, angle, 3.175, depth) for depth in DEPTHS]

    assert widths == pytest.approx([width + tip - 0.1 for width in TABLE[angle]], abs=5.1e-5)


# Every hundredth of depth, by angle: tabled to four places of a millimetre per 0.01 mm.
@pytest.mark.parametrize(
    ("angle", "wider"), [(10, 0.0017), (20, 0.0035), (30, 0.0054), (45, 0.0083), (60, 0.0115)]
)
def test_slope_agrees_with_the_table(angle: int, wider: float) -> None:
    deep, deeper = (swept_width("cone", 0.1, angle, 3.175, depth) for depth in (0.10, 0.11))

    assert deeper - deep == pytest.approx(wider, abs=6e-5)


# --- a cross-section drawn and cut, as an independent oracle --------------------------------


def cross_section(bit: Bit, depth: float) -> shapely.Geometry:
    """What the tool takes below the surface (y = 0), swung out by its runout to both sides."""
    size, tall = bit.tip_width.nominal, 50.0
    if bit.shape == "ball":
        outline = shapely.Point(0, size / 2).buffer(size / 2, quad_segs=20_000)
        outline |= shapely.box(-size / 2, size / 2, size / 2, tall)
    elif bit.shape == "flat":
        outline = shapely.box(-size / 2, 0, size / 2, tall)
    else:
        top = (bit.diameter - size) / 2 / math.tan(math.radians(bit.angle / 2))
        half = [(size / 2, 0), (bit.diameter / 2, top), (bit.diameter / 2, top + tall)]
        outline = shapely.Polygon([*half, *((-x, y) for x, y in reversed(half))])
    sunk, swing = affinity.translate(outline, 0, -depth), bit.runout.nominal / 2
    swept = affinity.translate(sunk, -swing) | affinity.translate(sunk, swing)
    return swept & shapely.box(-50, -50, 50, 0)


def chord(section: shapely.Geometry, y: float) -> float:
    line = shapely.LineString([(-50, y), (50, y)])
    x0, _, x1, _ = (section & line).bounds
    return float(x1 - x0)


TOOLS = [
    pytest.param(a_bit("cone", 0.1, 30, runout=0.02), id="cone"),
    pytest.param(a_bit("cone", 0.2, 90, diameter=0.5), id="cone-that-ends"),
    pytest.param(a_bit("flat", 0.4, runout=0.05), id="flat"),
    pytest.param(a_bit("ball", 0.5, runout=0.03), id="ball"),
]


@pytest.mark.parametrize("bit", TOOLS)
@pytest.mark.parametrize("depth", [0.04, 0.1, 0.2, 0.4])
def test_width_is_that_of_a_drawn_cross_section(bit: Bit, depth: float) -> None:
    section = cross_section(bit, depth)

    assert width_at(bit, depth) == pytest.approx(chord(section, 0), abs=1e-6)


@pytest.mark.parametrize("bit", TOOLS)
def test_foot_is_that_of_a_drawn_cross_section(bit: Bit) -> None:
    section = cross_section(bit, bit.depth.nominal)

    foot = foot_width(bit, exactly(0.035)).nominal

    assert foot == pytest.approx(chord(section, -0.035), abs=1e-6)


# --- laws -----------------------------------------------------------------------------------


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def spreads(draw: st.DrawFn, low: float, high: float) -> Spread:
    return Spread(*sorted(draw(st.tuples(*[lengths(low, high)] * 3))))


@st.composite
def bits(draw: st.DrawFn, shapes: tuple[str, ...] = ("cone", "flat", "ball", "beam")) -> Bit:
    return a_bit(
        shape=draw(st.sampled_from(shapes)),
        tip=draw(spreads(0.01, 1.0)),
        angle=draw(lengths(5, 120)),
        depth=draw(spreads(0.01, 0.5)),
        diameter=draw(lengths(1.0, 6.0)),
        runout=draw(spreads(0, 0.3)),
        overcut=draw(spreads(0, 0.1)),
    )


@steady
@given(bits(), lengths(0, 1), lengths(0, 1))
def test_deeper_is_never_narrower(bit: Bit, one: float, other: float) -> None:
    shallow, deep = sorted((one, other))

    assert width_at(bit, shallow) <= width_at(bit, deep) + 1e-12


@steady
@given(bits(("cone",)), lengths(5, 120), lengths(0.001, 0.5))
def test_blunter_cone_is_never_narrower(bit: Bit, angle: float, depth: float) -> None:
    size, diameter = bit.tip_width.nominal, bit.diameter
    sharp, blunt = sorted((bit.angle, angle))

    narrow = swept_width("cone", size, sharp, diameter, depth)
    assert narrow <= swept_width("cone", size, blunt, diameter, depth) + 1e-12


@steady
@given(bits(("cone", "flat", "beam")), lengths(0.01, 1), lengths(0, 0.5))
def test_blunter_tip_is_never_narrower(bit: Bit, other: float, depth: float) -> None:
    sharp, blunt = sorted((bit.tip_width.nominal, other))

    narrow = swept_width(bit.shape, sharp, bit.angle, bit.diameter, depth)
    assert narrow <= swept_width(bit.shape, blunt, bit.angle, bit.diameter, depth) + 1e-12


@steady
@given(lengths(0.1, 5), lengths(0.1, 5), lengths(0, 6))
def test_larger_ball_is_never_narrower(one: float, other: float, depth: float) -> None:
    small, large = sorted((one, other))

    narrow = swept_width("ball", small, 0, small, depth)
    assert narrow <= swept_width("ball", large, 0, large, depth) + 1e-12


@steady
@given(bits(), lengths(0, 0.2))
def test_least_nominal_and_most_are_in_order(bit: Bit, bed_error: float) -> None:
    worst, likely = cut_width(bit, bed_error), width_rss(bit, bed_error)

    in_order = [worst.least, likely.least, worst.nominal, likely.most, worst.most]
    assert in_order == sorted(in_order)


@steady
@given(bits(), lengths(0, 0.2), st.randoms(use_true_random=False))
def test_no_cut_within_the_spreads_leaves_the_band(
    bit: Bit, bed_error: float, chance: random.Random
) -> None:
    def any_of(spread: Spread) -> Spread:
        return exactly(chance.uniform(spread.least, spread.most))

    depth = any_of(reached(bit, bed_error))
    made = a_bit(
        bit.shape, any_of(bit.tip_width), bit.angle, depth, bit.diameter,
        any_of(bit.runout), any_of(bit.overcut),
    )  # fmt: skip
    band = cut_width(bit, bed_error)

    assert band.least - 1e-12 <= cut_width(made).nominal <= band.most + 1e-12


@steady
@given(bits(), lengths(0, 0.1), lengths(0, 0.1))
def test_worse_bed_widens_the_band(bit: Bit, one: float, other: float) -> None:
    flat, warped = (cut_width(bit, bed_error) for bed_error in sorted((one, other)))

    assert warped.least <= flat.least
    assert warped.most >= flat.most


@steady
@given(bits(), lengths(0, 0.1), spreads(0.01, 0.1))
def test_foot_is_never_wider_than_the_top(bit: Bit, bed_error: float, foil: Spread) -> None:
    top, foot = cut_width(bit, bed_error), foot_width(bit, foil, bed_error)

    assert 0 <= foot.least <= top.least + 1e-12
    assert 0 <= foot.nominal <= top.nominal + 1e-12
    assert 0 <= foot.most <= top.most + 1e-12


@steady
@given(bits(("cone", "ball")), lengths(0, 8))
def test_depth_for_width_gives_that_width(bit: Bit, width: float) -> None:
    depth = depth_for_width(bit, width)

    if depth is None:  # narrower than its tip, or wider than it is
        assert not width_at(bit, 0) <= width <= width_at(bit, 1000)
    else:
        assert depth >= 0
        assert width_at(bit, depth) == pytest.approx(width, abs=1e-8)


@steady
@given(bits(("cone", "ball")), lengths(0, 20))
def test_every_width_that_is_cut_has_a_depth(bit: Bit, depth: float) -> None:
    least = depth_for_width(bit, width_at(bit, depth))

    assert least is not None
    assert least <= depth + 1e-4  # a ball is nearly blind to depth where it is widest


@steady
@given(bits(("cone", "ball")), lengths(0.05, 1), lengths(0, 0.3))
def test_measured_width_moves_depth_for_width_along(bit: Bit, extra: float, deeper: float) -> None:
    measured = exactly(cut_width(bit).nominal + extra)
    known = replace(bit, measured_width=measured)
    width = width_at(bit, deeper)

    assert width_at(known, deeper) == pytest.approx(width + extra)
    assert depth_for_width(known, width + extra) == pytest.approx(
        depth_for_width(bit, width), abs=1e-4
    )


# --- corners --------------------------------------------------------------------------------


def test_measured_width_is_taken_as_it_is() -> None:
    measured = Spread(0.18, 0.2, 0.25)
    bit = a_bit(runout=0.02, measured=measured)

    assert cut_width(bit, bed_error=0.03) == measured
    assert width_rss(bit, bed_error=0.03) == measured


def test_root_sum_square_of_a_cone() -> None:
    # JCGM 100:2008, 5.1.2, equation 10: u(w)² is the sum of (dw/dx u(x))². With w = tip + 2 z tan
    # 45 degrees + runout, dw/dx is 1 for tip and runout and 2 for setting and bed: tip 0.04,
    # setting 2 x 0.01, bed 2 x 0.03, runout 0.03.
    bit = a_bit(
        tip=Spread(0.08, 0.1, 0.14), angle=90, depth=Spread(0.08, 0.09, 0.1),
        runout=Spread(0, 0.02, 0.05),
    )  # fmt: skip

    likely = width_rss(bit, bed_error=0.03)

    assert likely.nominal == pytest.approx(0.1 + 2 * 0.09 + 0.02)
    assert likely.most - likely.nominal == pytest.approx(math.hypot(0.04, 0.02, 0.06, 0.03))
    assert likely.nominal - likely.least == pytest.approx(math.hypot(0.02, 0.02, 0.06, 0.02))


def test_root_sum_square_of_the_default_by_hand() -> None:
    # JCGM 100:2008, 5.1.2. 2 tan 15 degrees = 0.5359, nominal 0.1 + 0.5359 x 0.09 + 0.02 = 0.16823.
    # Upwards: tip 0.05, setting 0.5359 x 0.01 = 0.00536, bed 0.5359 x 0.03 = 0.01608, runout 0.03;
    # squares 0.0025 + 0.0000287 + 0.0002585 + 0.0009 = 0.0036872, its root 0.06072.
    # Downwards, with tip 0.02 and runout 0.015: 0.0004 + 0.0000287 + 0.0002585 + 0.000225 =
    # 0.0009122, its root 0.03020.
    likely = load_profile("cone-30-0.1").cut_rss

    assert likely is not None
    ends = (likely.least, likely.nominal, likely.most)
    assert ends == pytest.approx((0.13803, 0.16823, 0.22895), abs=2e-5)


def test_root_sum_square_is_twice_the_deviation_of_widths_that_scatter() -> None:
    # Ends are two standard deviations away (JCGM 100:2008, 6.3.3); so they are of the sum.
    bit = a_bit(
        tip=Spread(0.08, 0.1, 0.12), angle=60, depth=Spread(0.08, 0.1, 0.12),
        runout=Spread(0.01, 0.02, 0.03),
    )  # fmt: skip
    chance = np.random.default_rng(4)

    def scattered(nominal: float, away: float) -> NDArray[np.float64]:
        return chance.normal(nominal, away / 2, 200_000)

    deep = scattered(0.1, 0.02) + scattered(0, 0.03)
    widths = scattered(0.1, 0.02) + 2 * deep * math.tan(math.radians(30)) + scattered(0.02, 0.01)

    likely = width_rss(bit, bed_error=0.03)
    assert likely.most - likely.nominal == pytest.approx(2 * widths.std(), rel=0.01)


def test_bit_that_does_not_reach_the_surface_cuts_nothing() -> None:
    bit = a_bit(depth=0.03, runout=0.02)

    assert cut_width(bit, bed_error=0.04).least == 0


def test_foil_that_is_not_cut_through_has_no_foot() -> None:
    bit = a_bit(depth=0.06, runout=0.02)

    foot = foot_width(bit, exactly(0.035), bed_error=0.03)

    assert foot.least == 0
    assert foot.nominal > 0


def test_foot_is_least_in_thick_foil_and_most_in_thin() -> None:
    bit = a_bit(angle=90, depth=Spread(0.08, 0.09, 0.1))

    foot = foot_width(bit, Spread(0.03, 0.035, 0.04))

    # 2 tan 45 degrees is 2: the tip of 0.1 and twice the depth that is left below the foil.
    ends = (foot.least, foot.nominal, foot.most)
    assert ends == pytest.approx((0.1 + 2 * 0.04, 0.1 + 2 * 0.055, 0.1 + 2 * 0.07))


TAPER_LOSS = [(10, 0.006), (20, 0.012), (30, 0.019), (45, 0.029), (60, 0.040), (90, 0.070)]


@pytest.mark.parametrize(("angle", "narrower"), TAPER_LOSS)
def test_foot_of_one_ounce_foil_is_narrower_by_the_taper(angle: float, narrower: float) -> None:
    # Twice 35 um times the tangent of half the angle, worked out by hand to a micrometre.
    bit = a_bit(angle=angle)

    loss = cut_width(bit).nominal - foot_width(bit, exactly(0.035)).nominal

    assert loss == pytest.approx(narrower, abs=5e-4)


@pytest.mark.parametrize("shape", ["flat", "beam"])
def test_width_that_does_not_follow_depth_has_no_depth(shape: str) -> None:
    assert depth_for_width(a_bit(shape, 0.4), 0.4) is None


def test_narrower_than_the_tip_has_no_depth() -> None:
    assert depth_for_width(a_bit("cone", 0.2), 0.19) is None
    assert depth_for_width(a_bit("cone", 0.2), 0.2) == 0


def test_process_without_a_bit_has_no_depth() -> None:
    etch = load_profile("etch")

    assert etch.depth_for_width(0.2) is None
    assert etch.reached is None
    assert etch.foot is None
