"""Keys that are laid over a profile from outside it."""

from pathlib import Path

import pytest

from checker.errors import ProfileError
from checker.process import load_profile, profile_names
from checker.process.load import flat_nodes
from checker.process.nodes import Node, parse_nodes
from checker.severity import Severity

OVER = """\
drills: {sizes: [1.2 mm, 0.8]}
severity: {tight-gap: note}
nets: {LIVE: 230 V ac}
"""


def over(text: str) -> dict[str, Node]:
    return dict(flat_nodes(parse_nodes(text, "shop.yaml")))


def mine(folder: Path, text: str) -> Path:
    path = folder / "mine.yaml"
    path.write_text(f"based_on: cone-30-0.1\n{text}", encoding="utf-8")
    return path


def test_what_is_laid_over_wins_over_the_profile_and_its_base(tmp_path: Path) -> None:
    path = mine(tmp_path, "drills: {sizes: [3 mm], tolerance: 0.2}\nseverity: {tight-gap: error}\n")

    process = load_profile(path, over=over(OVER))

    assert process.drills.sizes == (0.8, 1.2)
    assert process.drills.tolerance == 0.2
    assert process.severity == {"tight-gap": Severity.NOTE}
    assert process.places["drills.sizes"] == "shop.yaml:1"
    assert process.places["nets.LIVE"] == "shop.yaml:3"


def test_the_source_of_a_limit_goes_with_it(tmp_path: Path) -> None:
    path = mine(tmp_path, "drills: {sizes: {value: [3 mm], source: the old box}}\n")

    assert "drills.sizes" not in load_profile(path, over=over(OVER)).limits_from


@pytest.mark.parametrize("name", profile_names())
def test_every_built_in_profile_takes_what_applies_to_it(name: str) -> None:
    process = load_profile(name, over=over(OVER))

    assert process.severity["tight-gap"] is Severity.NOTE
    assert process.ratings["LIVE"].volts == pytest.approx(230 * 2**0.5)
    assert process.drills.sizes == (None if process.method == "perfboard" else (0.8, 1.2))


@pytest.mark.parametrize("name", profile_names())
def test_what_is_laid_over_leaves_the_cut_alone(name: str) -> None:
    alone, process = load_profile(name), load_profile(name, over=over(OVER))

    assert (process.bit, process.cut, process.foot) == (alone.bit, alone.cut, alone.foot)


def test_a_measured_cut_stays_measured(tmp_path: Path) -> None:
    path = mine(tmp_path, "bit: {measured_width: 0.19 ± 0.02}\nmeasured: {date: 2026-03-31}\n")

    process = load_profile(path, over=over(OVER))

    assert process.measured
    assert process.measurement.date == "2026-03-31"


def test_a_bit_laid_over_is_no_longer_the_measured_one(tmp_path: Path) -> None:
    path = mine(tmp_path, "bit: {measured_width: 0.19 ± 0.02}\n")

    assert not load_profile(path, over=over("bit: {tip_width: 0.2}\n")).measured


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("drills: {sizes: [a]}\n", "shop.yaml:1: drills.sizes: "),
        ("drills: {sizes: {of: [1]}}\n", "shop.yaml:1: drills.sizes.of: "),
        ("severity: {tight-gap: grave}\n", "shop.yaml:1: severity.tight-gap: "),
        ("nets:\n  LIVE: [230]\n", "shop.yaml:2: nets.LIVE: "),
        ("nets:\n  LIVE: a lot\n", "shop.yaml:2: nets.LIVE: "),
    ],
)
def test_a_value_of_the_wrong_kind_is_an_error_where_it_stands(text: str, where: str) -> None:
    with pytest.raises(ProfileError) as caught:
        load_profile("cone-30-0.1", over=over(text))

    assert str(caught.value).startswith(where)
