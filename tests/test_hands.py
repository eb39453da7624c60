"""Two processes that judge one board say what one says, whatever becomes of the second."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from checker import hands, hearing
from checker.comparison import compare
from checker.engine import check, reach_for, rules_asked
from checker.errors import ProfileError
from checker.hands import Hands
from checker.hearing import Hearing, heard
from checker.many import Job, answer
from checker.measure import Facts, Gaps, Necks, Reach, facts_when_asked, gaps_of, measure
from checker.measure.holes.drilling import drilling_of
from checker.measure.leftover.pieces import _leftover as leftover_copper
from checker.process import load_profile
from checker.process.vary import at_depth
from checker.read import read_board
from checker.read.package import open_package
from checker.registry import load_rules
from checker.report.comparison_json import comparison_document
from checker.tallying import tally_of
from tests.rule_samples import board_of, process_of
from tests.second import dies_amidst_its_answer, dies_later, each_failure, needs_two

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from checker.board import Board, Unchecked
    from checker.findings import Observation, Report, Rule
    from checker.process.model import Process

SAMPLES = Path(__file__).parents[1] / "samples"
PROCESSES = [load_profile(name) for name in ("cone-30-0.1", "laser", "perfboard")]


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


def is_open(end: int) -> bool:
    try:
        os.fstat(end)
    except OSError:
        return False
    return True


@needs_two
@each_failure
def test_without_the_second_all_is_said_all_the_same(
    fork: Callable[[], int], board: Board, alone: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fork", fork)

    assert together(board) == alone


@needs_two
@pytest.mark.parametrize("had", [0, 1, 2])
def test_without_pipes_all_is_said_all_the_same(
    had: int, board: Board, alone: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = [os.pipe() for _ in range(had)]
    ends = [end for pipe in opened for end in pipe]
    pipes = iter(opened)

    def one_more() -> tuple[int, int]:
        try:
            return next(pipes)
        except StopIteration:
            raise OSError(errno.EMFILE, "too many open files") from None

    monkeypatch.setattr(os, "pipe", one_more)

    assert together(board) == alone
    assert [end for end in ends if is_open(end)] == []


def compared(board: Board, both: bool) -> str:
    """What is said of a board by bits of all fates and other methods."""
    names = ("flat-0.4", "cone-30-0.1", "cone-60-0.2", "laser", "perfboard", "etch")
    deep = replace(at_depth(load_profile("cone-60-0.1"), 0.3), name="too deep")
    processes = [deep, *map(load_profile, names)]
    return json.dumps(comparison_document(compare(board, processes, both=both)))


@pytest.fixture(scope="module")
def compared_alone(board: Board) -> str:
    return compared(board, both=False)


@needs_two
def test_two_processes_compare_as_one_does(
    board: Board, compared_alone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hands, "WORTH", 1)  # as if the board were large enough

    assert compared(board, both=True) == compared_alone


@needs_two
@each_failure
def test_without_the_second_a_comparison_says_the_same(
    fork: Callable[[], int],
    board: Board,
    compared_alone: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(hands, "WORTH", 1)
    monkeypatch.setattr(os, "fork", fork)

    assert compared(board, both=True) == compared_alone


@needs_two
def test_a_job_goes_where_it_was_done_before() -> None:
    def who(job: str, matter: int) -> tuple[int, int]:
        return os.getpid(), matter

    with Hands(who, ["a", "b", "c", "d"], there=["d"]) as both:
        rounds = [both.ask(matter, ["a", "b", "c", "d"]) for matter in range(3)]

    assert rounds[0]["d"] != (os.getpid(), 0)
    assert [{job: (pid, 0) for job, (pid, _) in found.items()} for found in rounds] == [
        rounds[0]
    ] * 3
    assert [{matter for _, matter in found.values()} for found in rounds] == [{0}, {1}, {2}]


@needs_two
def test_what_is_not_wanted_any_more_is_not_answered() -> None:
    done: list[str] = []

    def answer(job: str, _matter: int) -> None:
        done.append(job)

    with Hands(answer, ["a", "b"]) as both:
        found = both.ask(0, ["a", "b"], first=lambda: None, wanted=lambda job: job == "b")

    assert found.keys() == {"b"}
    assert "a" not in done


@needs_two
def test_a_board_mentions_the_same_relief_whoever_plans_it() -> None:
    job = Job(
        open_package([SAMPLES / "boards" / "tide-logger"]),
        (load_profile("cone-30-0.1"),),
        relieved=True,
    )

    alone, together = answer(job), answer(job, meanwhile=lambda: None)

    assert together.reports[0].relief == alone.reports[0].relief is not None


@needs_two
def test_one_process_alone_does_first_what_is_first() -> None:
    done: list[str] = []

    def answer(job: str, _matter: int) -> None:
        done.append(job)

    with Hands(answer, ["a", "b"], there=["a"], both=False) as one:
        one.ask(0, ["a", "b"], first=lambda: done.append("first"))

    assert done == ["first", "a", "b"]


def test_only_a_board_of_some_size_is_worth_a_second(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert hands.worth_both(board)
    monkeypatch.setattr(hands, "WORTH", 100_000)
    assert not hands.worth_both(board)


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


MEASURED = {"leftover": leftover_copper, "drilling": drilling_of}


@pytest.mark.parametrize("rule", load_rules().values(), ids=lambda rule: rule.name)
def test_a_rule_names_the_dear_facts_it_looks_at(rule: Rule) -> None:
    """Where they are not named both processes would measure them: right, but slow."""
    process = process_of(rule.name)
    facts = facts_when_asked(board_of(rule.name), reach_for(process))
    for fact in MEASURED.values():
        fact.cache_clear()

    list(rule.check(facts, process))

    made = {"gaps", "necks"} & vars(facts).keys()
    made |= {name for name, fact in MEASURED.items() if fact.cache_info().currsize}
    assert made == set(rule.asks)


def gaps_of_both(board: Board, reach: Reach) -> tuple[Gaps, ...]:
    with Hearing(facts_when_asked(board, reach), {}, tally_of, both=True) as hearing:
        return hearing.gaps(reach)()


@needs_two
def test_gaps_measured_by_two_processes_are_those_of_one(board: Board) -> None:
    reach = Reach(cut=0.6)
    alone, together = facts_when_asked(board, reach).gaps, gaps_of_both(board, reach)

    assert sum(map(len, together)) > 0
    for one, other in zip(alone, together, strict=True):
        assert other.islands.tolist() == one.islands.tolist()
        assert other.distance.tolist() == one.distance.tolist()
        assert other.widest_cut[0.0].tolist() == one.widest_cut[0.0].tolist()
        assert other.object_a.tolist() == one.object_a.tolist()


@needs_two
def test_each_process_measures_the_gaps_of_one_layer(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    here: list[str] = []

    def watched(board: Board, reach: Reach, number: int) -> Gaps:
        here.append(board.copper[number].side)
        return gaps_of(board, reach, number)

    monkeypatch.setattr(hearing, "gaps_of", watched)

    both = gaps_of_both(board, Reach(cut=0.6))

    assert len(both) == 2
    assert len(here) == 1


@needs_two
@each_failure
def test_without_the_second_gaps_are_the_same(
    fork: Callable[[], int], board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = facts_when_asked(board, Reach(cut=0.6)).gaps
    monkeypatch.setattr(os, "fork", fork)

    together = gaps_of_both(board, Reach(cut=0.6))

    assert [len(one) for one in together] == [len(one) for one in alone]
    assert sum(map(len, together)) > 0


@needs_two
def test_what_was_begun_ahead_waits_for_nobody() -> None:
    """An answer larger than a pipe, which nobody has read yet, keeps nothing up."""

    def answer(job: str, matter: int) -> tuple[int, bytes]:
        return os.getpid(), bytes(matter)

    with Hands(answer, ["a", "b"], there=["b"]) as both:
        large = both.ahead("a", 1_000_000)
        small = both.ask(1, ["b"])

    who, much = large()
    assert small["b"] == (who, bytes(1))
    assert who != os.getpid()
    assert len(much) == 1_000_000


@needs_two
def test_what_was_begun_ahead_is_told_before_and_after_other_answers() -> None:
    def answer(job: str, matter: int) -> tuple[str, int]:
        return job, matter

    with Hands(answer, ["a", "b"], there=["b"]) as both:
        first, second = both.ahead("a", 1), both.ahead("a", 2)
        assert first() == ("a", 1)
        assert both.ask(3, ["b"]) == {"b": ("b", 3)}
        assert second() == ("a", 2)


@needs_two
def test_a_question_larger_than_a_pipe_waits_for_nobody() -> None:
    """Who asks goes on while the other still does what it was asked before."""
    began, begin = os.pipe()

    def answer(_job: str, matter: bytes) -> int:
        os.read(began, 1) if matter == b"wait" else None
        return len(matter)

    with Hands(answer, ["a", "b"], there=["b"]) as both:
        first = both.ahead("a", b"wait")
        second = both.ahead("b", bytes(1_000_000))
        os.write(begin, b"x")  # reached only if the large one was not waited for

        assert (first(), second()) == (4, 1_000_000)
    os.close(began)
    os.close(begin)


@needs_two
@pytest.mark.parametrize(("fork", "answers"), [(dies_later, 1), (dies_amidst_its_answer, 0)])
def test_a_second_process_fails_when_it_is_said_to(
    fork: Callable[[], int], answers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fork", fork)

    both: Hands[str, None, int] = Hands(lambda *_: os.getpid(), ["where"], there=["where"])
    with both:
        done = [both.ask(None, ["where"])["where"] for _ in range(3)]

    assert [by == os.getpid() for by in done] == [False] * answers + [True] * (3 - answers)
