"""The built-in profiles: each loads, says where its numbers come from, and can work."""

import math
import re

import numpy as np
import pytest

from checker.process import DEFAULT_PROFILE, describe_keys, load_profile, profile_names

MILLING = [name for name in profile_names() if load_profile(name).method == "milling"]
NOT_NUMBERS = {"method", "title", "laminate", "bit.shape"}


def test_names_are_in_order() -> None:
    assert profile_names() == (
        "cone-10-0.1",
        "cone-10-0.2",
        "cone-20-0.1",
        "cone-20-0.2",
        "cone-30-0.1",
        "cone-30-0.2",
        "cone-45-0.1",
        "cone-45-0.2",
        "cone-60-0.1",
        "cone-60-0.2",
        "etch",
        "flat-0.4",
        "flat-0.8",
        "laser",
        "perfboard",
    )


@pytest.mark.parametrize("name", profile_names())
def test_every_number_names_its_source(name: str) -> None:
    process = load_profile(name)

    assert set(process.limits_from) == set(process.places) - NOT_NUMBERS


@pytest.mark.parametrize("name", profile_names())
def test_name_title_and_file(name: str) -> None:
    process = load_profile(name)

    assert (process.name, process.source) == (name, f"rules/profiles/{name}.yaml")
    assert process.title
    assert process.title != name


@pytest.mark.parametrize("name", [name for name in MILLING if name.startswith("cone")])
def test_name_of_a_cone_is_its_angle_and_tip(name: str) -> None:
    bit = load_profile(name).bit

    assert bit is not None
    assert name == f"cone-{bit.angle:g}-{bit.tip_width.nominal:g}"


@pytest.mark.parametrize("name", [name for name in MILLING if name.startswith("flat")])
def test_name_of_a_flat_is_its_diameter(name: str) -> None:
    bit = load_profile(name).bit

    assert bit is not None
    assert name == f"flat-{bit.diameter:g}"


@pytest.mark.parametrize("name", MILLING)
def test_foil_is_cut_at_the_lowest_spot_of_the_bed(name: str) -> None:
    process = load_profile(name)

    assert process.reached is not None
    assert process.reached.least > process.foil.most
    assert process.foot is not None
    assert process.foot.least > 0


def test_default_is_a_built_in_profile() -> None:
    assert DEFAULT_PROFILE in profile_names()


def test_default_cuts_a_quarter_millimetre_gap_at_least_nominally() -> None:
    cut = load_profile(DEFAULT_PROFILE).cut

    assert cut is not None
    assert cut.nominal < 0.25


def test_default_is_at_its_limit_at_a_fifth_of_a_millimetre() -> None:
    cut = load_profile(DEFAULT_PROFILE).cut

    assert cut is not None
    assert cut.nominal < 0.2 < cut.most


def test_blunt_cone_does_not_pass_a_fifth_of_a_millimetre() -> None:
    cut = load_profile("cone-60-0.1").cut

    assert cut is not None
    assert cut.nominal > 0.2


def test_widest_gap_that_labs_opened_with_a_64th_agrees() -> None:
    # Comb tests of three university labs with 1/64 in end mills: the smallest gap opened is 16 mil.
    cut = load_profile("flat-0.4").cut

    assert cut is not None
    assert cut.least < 16 * 0.0254 < cut.most


def test_hobby_cut_under_a_microscope_lies_in_the_band_of_the_default() -> None:
    # A hobby board's isolation cut with a V bit, looked at under a microscope: 10 mil.
    cut = load_profile(DEFAULT_PROFILE).cut

    assert cut is not None
    assert cut.least < 10 * 0.0254 < cut.most


@pytest.mark.parametrize("name", MILLING)
def test_no_edge_takes_more_than_it_stands(name: str) -> None:
    feeds = load_profile(name).feeds

    assert feeds.cut is not None
    assert feeds.spindle is not None
    assert feeds.chip is not None
    assert feeds.cut / (feeds.spindle * feeds.flutes) <= feeds.chip + 1e-9


def bending(name: str) -> float:
    """Stress in a cone that is pushed at its tip, up to a factor: the most of M / W along it.

    A cantilever of round section: M = F x and W = pi d³ / 32 with d = tip + 2 x tan(angle / 2).
    """
    bit = load_profile(name).bit
    assert bit is not None
    x = np.linspace(0, 3, 30_001)
    d = bit.tip_width.nominal + 2 * x * math.tan(math.radians(bit.angle / 2))
    return float((x / d**3).max())


@pytest.mark.parametrize("name", [name for name in MILLING if name.startswith("cone")])
def test_no_cone_is_bent_more_by_its_chip_than_the_default(name: str) -> None:
    # Strength of materials; the default's own chip, 0.03 mm, is common practice.
    chip, usual = (load_profile(one).feeds.chip for one in (name, DEFAULT_PROFILE))

    assert chip is not None
    assert usual is not None
    assert bending(name) * chip <= 1.03 * bending(DEFAULT_PROFILE) * usual


@pytest.mark.parametrize("name", [name for name in MILLING if name.startswith("flat")])
def test_chip_of_an_end_mill_is_a_small_share_of_its_diameter(name: str) -> None:
    # Common practice for carbide end mills below a millimetre: 1 to 3 % of the diameter.
    process = load_profile(name)

    assert process.bit is not None
    assert process.feeds.chip is not None
    assert 0.01 <= process.feeds.chip / process.bit.diameter <= 0.03 + 1e-9


@pytest.mark.parametrize("name", ["laser", "etch"])
def test_methods_without_a_spindle_keep_holes_to_the_hand(name: str) -> None:
    process = load_profile(name)

    assert process.drills.wander == 0.2  # common practice; 0.2 mm and more by hand
    assert (process.machine.registration, process.machine.backlash) == (0, 0)


def test_laser_and_etching_measure_by_their_own_words() -> None:
    laser, etch = load_profile("laser"), load_profile("etch")

    assert laser.bit is not None
    assert (laser.bit.shape, laser.reached, laser.bed_error) == ("beam", None, 0)
    assert (etch.bit, etch.cut) == (None, etch.cut_rss)
    assert etch.cut is not None
    assert etch.cut.nominal == pytest.approx(0.2)


def test_perfboard_isolates_nothing() -> None:
    process = load_profile("perfboard")

    assert (process.bit, process.cut, process.minimum_trace) == (None, None, None)


def test_perfboard_has_the_grid_of_its_trade_and_says_from_where() -> None:
    process = load_profile("perfboard")

    # IEC 60097: 2.54 mm; IPC-2222: holes 0.15 to 0.25 mm wider than leads; the rest by practice.
    assert process.grid.pitch == 2.54
    assert 0.15 <= process.grid.play <= 0.25
    assert process.grid.bend is not None
    assert process.grid.forced_bend is not None
    assert process.grid.bend < process.grid.forced_bend < process.grid.pitch / 2
    grid = {name for name, *_ in describe_keys() if name.startswith("grid.")}
    assert grid <= set(process.limits_from)
    assert process.stock.size == (100, 160)


def test_every_key_is_described() -> None:
    described = {name: (meaning, expected) for name, meaning, expected in describe_keys()}

    used = {key for name in profile_names() for key in load_profile(name).places}
    assert used <= set(described)
    assert all(meaning and expected for meaning, expected in described.values())
    assert all(re.fullmatch(r"[a-z_]+(\.[a-z_]+)?", name) for name in described)
