"""What is told of a configuration."""

from datetime import date
from pathlib import Path

import pytest

from checker.config import NAME, Config, config_of
from checker.process import load_profile
from checker.report.config_text import config_document, config_text
from tests.config.made import board, say

WHOLE = """\
profiles: [cone-30-0.1, perfboard]
boards: ["hardware/*"]
severity: {loose-strip: note}
layers: {ignore: ["*panel*", "*.pdf"]}
nets: {LIVE: {voltage: 230 V ac, current: 2 A}, 12V: 12 V}
stock:
  drills: [0.8, 1.2 mm]
  bits: [cone-20-0.1]
waivers:
  - rule: uncuttable-gap
    side: bottom
    nets: [GND, 12V]
    pins: [U1.2]
    at: [12.3, 40.1]
    reason: bridged by hand with a knife
    until: 2027-03-01
"""
TEXT = """\
Files in force, the nearest first
   hardware/.cutworthy.yaml
   .cutworthy.yaml

profiles              cone-30-0.1, perfboard  (.cutworthy.yaml:1)
boards                hardware/*  (.cutworthy.yaml:2)
stock.bits            cone-20-0.1  (.cutworthy.yaml:8)
stock.drills          1 mm  (hardware/.cutworthy.yaml:2)
layers.ignore         *panel*, *.pdf  (.cutworthy.yaml:4)
severity.loose-strip  warning  (hardware/.cutworthy.yaml:1)
nets.LIVE             voltage 230 V ac, current 2 A  (.cutworthy.yaml:5)
nets.12V              voltage 12 V  (.cutworthy.yaml:5)

Laid over the profiles
   cone-30-0.1  drills.sizes, nets.12V, nets.LIVE, severity.loose-strip
   perfboard    nets.12V, nets.LIVE, severity.loose-strip

Waivers for this board
   uncuttable-gap (.cutworthy.yaml:10)
      bottom, nets GND and 12V, pins U1.2, within 1 mm of x 12.300 y 40.100
      bridged by hand with a knife
      until 2027-03-01, that day included
"""
BARE = """\
No file .cutworthy.yaml in the board's folder or above it

profiles      cone-30-0.1  (default)
boards        none  (default)
stock.bits    none  (default)
stock.drills  those of the profile  (default)
"""


@pytest.fixture
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Config:
    """Two files over each other."""
    repo = tmp_path.resolve()
    (repo / ".git").mkdir()
    monkeypatch.chdir(repo)
    say(repo, WHOLE)
    say(repo / "hardware", "severity: {loose-strip: warning}\nstock: {drills: 1}\n")
    return config_of([board(repo / "hardware/door")])


def test_text_tells_each_value_and_where_it_comes_from(config: Config) -> None:
    processes = [load_profile(name, over=config.over) for name in config.profiles]

    assert config_text(config, processes) == TEXT


def test_text_tells_what_holds_where_nothing_is_said() -> None:
    assert config_text(Config(), [load_profile("cone-30-0.1")]) == BARE


def test_drills_that_are_unset_are_told_as_none(config: Config, tmp_path: Path) -> None:
    say(tmp_path / "hardware", "stock: {drills: none}\n")

    text = config_text(config_of([tmp_path / "hardware"]), [])

    assert f"stock.drills          none  (hardware/{NAME}:1)\n" in text


@pytest.mark.parametrize(
    ("today", "said"),
    [("2027-03-01", "until 2027-03-01, that day"), ("2027-03-02", "until 2027-03-01 is over: it")],
)
def test_a_waiver_whose_last_day_is_over_says_so(config: Config, today: str, said: str) -> None:
    assert said in config_text(config, [], date.fromisoformat(today))


def test_document_has_the_values_as_they_are(config: Config) -> None:
    processes = [load_profile(name, over=config.over) for name in config.profiles]

    found = config_document(config, processes)

    assert found["files"] == [f"hardware/{NAME}", NAME]
    assert found["drills"] == {"sizes_mm": [1.0], "from": f"hardware/{NAME}:2"}
    assert found["nets"] == [
        {"net": "LIVE", "voltage": "230 V ac", "current": "2 A", "from": f"{NAME}:5"},
        {"net": "12V", "voltage": "12 V", "from": f"{NAME}:5"},
    ]
    assert [one["keys"] for one in found["overridden"]] == [
        ["drills.sizes", "nets.12V", "nets.LIVE", "severity.loose-strip"],
        ["nets.12V", "nets.LIVE", "severity.loose-strip"],
    ]
    assert [(one["at_mm"], one["until"]) for one in found["waivers"]] == [
        ([12.3, 40.1], "2027-03-01")
    ]


def test_names_move_no_cursor_and_add_no_lines(tmp_path: Path) -> None:
    folder = tmp_path / "a\x1b[2J\nb"
    say(folder, "profiles: flat-0.4\ntop: true\n")

    text = config_text(config_of([folder]), [])

    assert all(line.isprintable() for line in text.split("\n"))
    assert text.count("\n") == len(BARE.splitlines()) + 1
