"""A rule asked once for all processes that look the same to it says what it says to each."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from checker.engine import reach_for
from checker.findings import Rule
from checker.measure import Facts, measure
from checker.once import Once
from checker.process import load_profile, profile_names
from checker.read import read_board
from checker.registry import load_rules
from checker.tallying import tally_of
from tests.handmade import facts

if TYPE_CHECKING:
    from checker.process.model import Process

BOARD = Path(__file__).parents[1] / "samples" / "boards" / "hive-scale"
PROCESSES = [load_profile(name) for name in profile_names()]
each_rule = pytest.mark.parametrize("rule", load_rules().values(), ids=lambda rule: rule.name)


@pytest.fixture(scope="module")
def measured() -> Facts:
    return measure(read_board([BOARD]), reach_for(PROCESSES))


class Counting:
    """Says how thick the foil is, and how often it was asked."""

    def __init__(self) -> None:
        self.asked = 0

    def __call__(self, rule: Rule, facts: Facts, process: Process) -> float:
        self.asked += 1
        return process.foil.nominal


@each_rule
def test_every_rule_says_the_same_to_every_process(rule: Rule, measured: Facts) -> None:
    once = Once(tally_of)
    asked = [process for process in PROCESSES if process.method in rule.methods]

    said = [once(rule, measured, process) for process in asked]

    assert said == [tally_of(rule, measured, process) for process in asked]


def test_processes_that_look_the_same_are_answered_at_once() -> None:
    count, (rule, *_) = Counting(), load_rules().values()
    once, board = Once(count), facts([])
    other = replace(PROCESSES[0], name="other", bite=0.1)

    said = [once(rule, board, process) for process in (PROCESSES[0], other)]

    assert said == [PROCESSES[0].foil.nominal] * 2
    assert count.asked == 1


def test_a_process_that_looks_different_is_asked_anew() -> None:
    count, (rule, *_) = Counting(), load_rules().values()
    once, board = Once(count), facts([])
    thick = replace(PROCESSES[0], foil=replace(PROCESSES[0].foil, nominal=0.07))

    said = [once(rule, board, process) for process in (PROCESSES[0], thick)]

    assert said == [PROCESSES[0].foil.nominal, 0.07]


def test_rules_and_facts_have_answers_of_their_own() -> None:
    count, (rule, other, *_) = Counting(), load_rules().values()
    once, board = Once(count), facts([])

    for asked, of in ((rule, board), (other, board), (rule, facts([]))):
        once(asked, of, PROCESSES[0])

    assert count.asked == 3
