"""What a configuration file may say, and one line for each thing it may not."""

from datetime import date
from pathlib import Path

import pytest

from checker.accepted.waiver import WITHIN, Waiver
from checker.config import NAME, check_rules, config_of
from checker.errors import ConfigError
from checker.process import load_profile
from tests.config.made import board, say

WAIVER = "waivers:\n  - {rule: uncuttable-gap, reason: by hand"
WHOLE = """\
boards: [hardware/*, old/scale.zip]
profiles: [cone-30-0.1, bits/mine.yaml]
severity: {loose-strip: note}
layers: {top: copper1.gbr, ignore: ["*panel*", "*.pdf"]}
nets: {LIVE: {voltage: 230 V ac, current: 2 A}, 12V: 12 V}
stock:
  drills: [1.2 mm, 0.8]
  bits: [cone-20-0.1, bits/mine.yaml]
waivers:
  - rule: uncuttable-gap
    side: bottom
    nets: [GND, 12V]
    pins: U1.2
    at: [-12.3, 40.1 mm]
    within: 0.5 mm
    reason: bridged by hand with a knife
    until: 2027-03-01
    board: .
  - {rule: loose-strip, reason: 42}
"""


def message(repo: Path, text: str) -> str:
    """What is told of a configuration that can't be meant."""
    say(repo, text)
    with pytest.raises(ConfigError) as caught:
        config_of([repo])
    return str(caught.value)


@pytest.fixture
def bit(repo: Path) -> Path:
    """A profile of one's own."""
    path = repo / "bits/mine.yaml"
    path.parent.mkdir()
    path.write_text("based_on: cone-30-0.1\n", encoding="utf-8")
    return path


@pytest.mark.usefixtures("bit")
def test_profiles_bits_layers_and_boards(repo: Path) -> None:
    say(repo, WHOLE)

    config = config_of([repo])

    assert config.profiles == ("cone-30-0.1", Path("bits/mine.yaml"))
    assert config.bits == ("cone-20-0.1", Path("bits/mine.yaml"))
    assert config.layers == {"top": ("copper1.gbr",), "ignore": ("*panel*", "*.pdf")}
    assert [pattern.text for pattern in config.boards] == ["hardware/*", "old/scale.zip"]


@pytest.mark.usefixtures("bit")
def test_what_is_laid_over_a_profile_is_ready_for_it(repo: Path) -> None:
    say(repo, WHOLE)

    config = config_of([repo])
    process = load_profile(config.profiles[1], over=config.over)

    assert process.name == "mine"
    assert process.drills.sizes == (0.8, 1.2)
    assert process.limits_from["drills.sizes"] == f"stock.drills in {NAME}:7"
    assert (process.ratings["LIVE"].amperes, process.ratings["12V"].volts) == (2, 12)
    assert process.severity["loose-strip"].value == "note"


@pytest.mark.usefixtures("bit")
def test_waivers(repo: Path) -> None:
    say(repo, WHOLE)

    first, second = config_of([repo]).waivers

    assert first == Waiver(
        rule="uncuttable-gap",
        reason="bridged by hand with a knife",
        where=f"{NAME}:10",
        folder=repo,
        board=".",
        side="bottom",
        nets=("GND", "12V"),
        pins=("U1.2",),
        at=(-12.3, 40.1),
        within=0.5,
        until=date(2027, 3, 1),
    )
    assert second == Waiver("loose-strip", "42", f"{NAME}:19", repo)
    assert second.within == WITHIN


def test_an_inner_side_is_written_with_a_space_or_without(repo: Path) -> None:
    say(repo, WAIVER + ", side: inner 1}\n")

    assert [waiver.side for waiver in config_of([repo]).waivers] == ["inner1"]


def test_a_reason_may_take_several_lines(repo: Path) -> None:
    say(repo, "waivers:\n  - rule: tight-gap\n    reason: |\n      milled twice,\n      measured\n")

    assert [waiver.reason for waiver in config_of([repo]).waivers] == ["milled twice, measured"]


def test_blanks_within_a_name_are_part_of_it(repo: Path) -> None:
    say(repo, "layers: {top: ' top  copper.gbr '}\n")

    assert config_of([repo]).layers == {"top": ("top  copper.gbr",)}


def test_none_unsets_the_drills_of_a_profile(repo: Path) -> None:
    say(repo, "stock: {drills: none}\n")

    assert load_profile("cone-30-0.1", over=config_of([repo]).over).drills.sizes is None


def test_a_source_of_the_drills_is_kept(repo: Path) -> None:
    say(repo, "stock: {drills: {value: [1], source: my drawer}}\n")

    process = load_profile("cone-30-0.1", over=config_of([repo]).over)

    assert process.limits_from["drills.sizes"] == "my drawer"


def test_waivers_of_other_boards_are_left_out(repo: Path) -> None:
    say(
        repo,
        f"{WAIVER}, board: hardware/door}}\n"
        "  - {rule: tight-gap, reason: all of them, board: hardware/*}\n"
        "  - {rule: thin-copper, reason: everywhere}\n",
    )

    found = {
        name: [waiver.rule for waiver in config_of([board(repo / name)]).waivers]
        for name in ("hardware/door", "hardware/lamp", "door", "hardware/door/old")
    }

    assert found == {
        "hardware/door": ["uncuttable-gap", "tight-gap", "thin-copper"],
        "hardware/lamp": ["tight-gap", "thin-copper"],
        "door": ["thin-copper"],
        "hardware/door/old": ["thin-copper"],
    }


UNKNOWN = {
    "boardz: [x]\n": "boardz: unknown key; did you mean boards?",
    "bit: {depth: 1}\n": "bit: unknown key; a profile says that",
    "minimum_trace: 1\n": "minimum_trace: unknown key; a profile says that",
    "stock: {drill: [1]}\n": "stock.drill: unknown key; did you mean drills?",
    "stock: [1]\n": "stock: a list; expected keys and values",
    "waivers: [tight-gap]\n": "waivers: 'tight-gap'; expected keys and values",
    f"{WAIVER}, sides: top}}\n": "waivers.sides: unknown key; did you mean side?",
    "layers: {tip: a.gbr}\n": "layers.tip: is no role; did you mean top?",
    "layers: {Top: a.gbr}\n": "layers.Top: is no role; did you mean top?",
    "layers:\n": "layers: nothing stands here; expected keys and values",
    "profiles: [cone-31-0.1]\n": "ends in .yaml; did you mean cone-30-0.1?",
    "profiles: cone-30-0.1.yaml\n": "no such file 'cone-30-0.1.yaml'; the built-in profile is",
    "stock: {bits: [bits/x.yaml]}\n": "stock.bits: no such file 'bits/x.yaml'",
}
VALUES = {
    "top: yes\n": "top: is neither; expected true or false",
    "profiles: []\n": "profiles: an empty list; expected 1 to 500",
    "profiles:\n": "profiles: nothing stands here; expected text",
    "profiles: [[a]]\n": "profiles: a list; expected text",
    "profiles: {a: b}\n": "profiles: keys and values; expected text",
    f"profiles: [{'cone-30-0.1, ' * 501}]\n": "profiles: a list of 501; expected 1 to 500",
    f"profiles: {'x' * 201}\n": "is longer than 200 characters",
    "severity: {loose-strip: mild}\n": "severity.loose-strip: 'mild'; expected error, warning",
    "severity: {Loose Strip: note}\n": "severity: 'Loose Strip' is not a rule's name",
    "severity: note\n": "severity: 'note'; expected rule names and severities",
    "nets: {LIVE: 5 kV}\n": "nets.LIVE: 5 kV is not plausible",
    "nets: {LIVE: {volts: 5}}\n": "nets.LIVE.volts: unknown key; did you mean voltage?",
    "stock: {drills: [0.8 m]}\n": "stock.drills: 'm' is not a unit known here",
    "stock: {drills: [a]}\n": "stock.drills: 'a' is not a number",
    "stock: {drills: {values: [1]}}\n": "stock.drills.values: unknown key; did you mean value?",
    "waivers:\n  - {rule: tight-gap}\n": "waivers: reason is missing; expected why it will do",
    "waivers: {reason: a}\n": "waivers: rule is missing; expected one such as uncuttable-gap",
    "waivers:\n  - {rule: tight-gap, reason: ' '}\n": "waivers.reason: nothing stands here",
    "waivers:\n  - {rule: Tight Gap, reason: a}\n": "waivers.rule: 'Tight Gap'; expected a rule's",
    f"{WAIVER}, side: left}}\n": "waivers.side: 'left'; expected top, bottom or inner1",
    f"{WAIVER}, pins: [U1]}}\n": "waivers.pins: 'U1'; expected a part and its pin such as U1.2",
    f"{WAIVER}, at: 12}}\n": "waivers.at: is no place; expected x and y in mm such as [12.3, 40.1]",
    f"{WAIVER}, at: [1, 2, 3]}}\n": "waivers.at: is no place",
    f"{WAIVER}, at: [1, b]}}\n": "waivers.at: 'b' is not a number",
    f"{WAIVER}, at: [1, 1e9]}}\n": "waivers.at: 1e+09 mm is not plausible",
    f"{WAIVER}, at: [1, nan]}}\n": "waivers.at: 'nan' is not a number",
    f"{WAIVER}, within: 1}}\n": "waivers.within: within of which place?; say at:",
    f"{WAIVER}, at: [1, 1], within: 0}}\n": "waivers.within: 0 mm is not plausible",
    f"{WAIVER}, until: 1.3.2027}}\n": "waivers.until: '1.3.2027' is no date; expected a date such",
    f"{WAIVER}, until: 2027-02-30}}\n": "waivers.until: '2027-02-30' is no date",
    f"{WAIVER}, board: ../door}}\n": "waivers.board: ../door: leads out of the folder",
}


@pytest.mark.parametrize(("text", "told"), (UNKNOWN | VALUES).items())
def test_what_cannot_be_meant_is_one_line_that_says_where(repo: Path, text: str, told: str) -> None:
    line = message(repo, text)

    assert line.startswith(f"{NAME}:{text.count(chr(10))}: ")
    assert told in line


def test_a_rule_that_is_not_there_is_told_with_the_nearest(repo: Path) -> None:
    say(repo, "severity: {tight-gab: note}\n")

    with pytest.raises(ConfigError) as caught:
        check_rules(config_of([repo]), ["thin-copper", "tight-gap"])

    assert str(caught.value) == (
        f"{NAME}:1: severity: 'tight-gab' is no rule; did you mean tight-gap?"
    )


def test_so_is_one_of_a_waiver(repo: Path) -> None:
    say(repo, f"{WAIVER}}}\n")

    with pytest.raises(ConfigError) as caught:
        check_rules(config_of([repo]), ["thin-copper"])

    assert str(caught.value).startswith(f"{NAME}:2: waivers.rule: 'uncuttable-gap' is no rule")


def test_rules_that_are_there_are_no_fault(repo: Path) -> None:
    say(repo, f"severity: {{tight-gap: note}}\n{WAIVER}}}\n")

    check_rules(config_of([repo]), ["tight-gap", "uncuttable-gap"])
