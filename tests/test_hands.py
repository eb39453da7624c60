"""Two processes that judge one board say what one says, whatever becomes of the second."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from checker import hands, hearing
from checker.engine import check, reach_for, rules_asked
from checker.errors import ProfileError
from checker.hands import both_hands
from checker.hearing import heard
from checker.measure import Facts, Necks, Reach, facts_when_asked, measure
from checker.process import load_profile
from checker.read import read_board
from checker.registry import load_rules
from tests.rule_samples import board_of, process_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from checker.board import Board, Unchecked
    from checker.findings import Observation, Report, Rule
    from checker.process.model import Process

SAMPLES = Path(__file__).parents[1] / "samples"
PROCESSES = [load_profile(name) for name in ("cone-30-0.1", "laser", "perfboard")]

needs_two = pytest.mark.skipif(
    not both_hands(), reason="no second processor, or a system that does not copy processes"
)


@pytest.fixture(scope="module")
def board() -> Board:
    return read_board([SAMPLES / "boards" / "hive-scale"])


@pytest.fixture(scope="module")
def alone(board: Board) -> list[str]:
    return [spelled(check(board, process)) for process in PROCESSES]


def spelled(report: Report) -> str:
    return repr([report.verdict, report.findings, report.unchecked, report.counts, report.joined])


def together(board: Board, processes: list[Process] = PROCESSES) -> list[str]:
    facts, said = heard(board, processes, lambda _rule, _process: None)
    return [
        spelled(check(board, process, facts=facts, said=known))
        for process, known in zip(processes, said, strict=True)
    ]


@needs_two
def test_two_processes_say_what_one_says(board: Board, alone: list[str]) -> None:
    assert together(board) == alone


@needs_two
def test_the_second_takes_part(board: Board, monkeypatch: pytest.MonkeyPatch) -> None:
    """What it measured arrives: the first never measures necks."""
    first = os.getpid()

    def watched(board: Board, reach: Reach) -> Facts:
        facts = facts_when_asked(board, reach)

        def necks() -> tuple[Necks, ...]:
            if os.getpid() == first:
                raise AssertionError("necks were measured in the first process")
            return facts.necks

        return Facts(board, reach, lambda: facts.gaps, necks)

    monkeypatch.setattr(hearing, "facts_when_asked", watched)

    facts, said = heard(board, PROCESSES[:1], lambda _rule, _process: None)

    assert [len(one) for one in facts.necks] == [
        len(one) for one in measure(board, reach_for(PROCESSES[:1])).necks
    ]
    assert "thin-copper" in said[0]


def no_more_processes() -> int:
    raise BlockingIOError


def dies_at_once(fork: Callable[[], int] = os.fork) -> int:
    process = fork()
    if process == 0:
        os._exit(9)
    return process


@needs_two
@pytest.mark.parametrize("fork", [no_more_processes, dies_at_once])
def test_without_the_second_all_is_said_all_the_same(
    fork: Callable[[], int], board: Board, alone: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fork", fork)

    assert together(board) == alone


def test_only_a_board_of_some_size_is_worth_a_second(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not hands.worth_both(board)
    monkeypatch.setattr(hands, "WORTH", 10_000)
    assert hands.worth_both(board)


@needs_two
def test_more_jobs_than_the_queue_holds(
    board: Board, alone: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hands, "_MOST", 3)

    assert together(board) == alone


@needs_two
def test_a_rule_that_fails_fails_here(board: Board, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_facts: Facts, _process: Process) -> Iterable[Observation | Unchecked]:
        raise ZeroDivisionError(os.getpid())

    rules = load_rules()
    broken = {**rules, "small-pad": replace(rules["small-pad"], check=fails)}
    monkeypatch.setattr(hearing, "load_rules", lambda: broken)

    with pytest.raises(ZeroDivisionError, match=str(os.getpid())):
        together(board)


@needs_two
def test_every_rule_is_told_once(board: Board) -> None:
    told: list[tuple[str, str]] = []

    heard(board, PROCESSES, lambda rule, process: told.append((rule.name, process.name)))

    rules = load_rules()
    asked = [(r.name, one.name) for one in PROCESSES for r in rules_asked(one, rules)]
    assert sorted(told) == sorted(asked)


def test_a_fault_of_the_profile_is_told_before_anything_is_measured(
    board: Board, tmp_path: Path
) -> None:
    path = tmp_path / "wrong.yaml"
    path.write_text("based_on: cone-30-0.1\nseverity:\n  no-such-rule: note\n")
    wrong = load_profile(path)

    with pytest.raises(ProfileError, match="no-such-rule"):
        heard(board, [wrong], lambda _rule, _process: None)


@pytest.mark.parametrize("rule", load_rules().values(), ids=lambda rule: rule.name)
def test_a_rule_names_the_censuses_it_looks_at(rule: Rule) -> None:
    """Where they are not named both processes would make them: right, but slow."""
    process = process_of(rule.name)
    facts = facts_when_asked(board_of(rule.name), reach_for(process))

    list(rule.check(facts, process))

    made = {"gaps", "necks"} & vars(facts).keys()
    assert made == set(rule.asks)
