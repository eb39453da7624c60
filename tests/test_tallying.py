"""A tally says of each cause what `check` says of its places, in the same order."""

from __future__ import annotations

from functools import cache
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Kind, Unchecked
from checker.engine import check, reach_for
from checker.findings import Observation, Rule, State, Verdict
from checker.isolation import Fate, fates
from checker.measure import Facts, Reach, measure
from checker.process import load_profile
from checker.read import read_board
from checker.severity import Severity
from checker.tallying import Tallied, tallied
from tests.built import built
from tests.examples import quick
from tests.handmade import PLAIN, RULES, Copper, Gap, cutting, facts, rule
from tests.read.made import BOARDS, needs_boards

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.findings import Cause, Report
    from checker.process.model import Process
    from checker.tallying import Count

SAMPLES = Path(__file__).parents[1] / "samples"
TALLYING = {name: one for name, one in RULES.items() if one.tally is not None}
OF_GAPS = {name: one for name, one in RULES.items() if one.of_gaps}
PROFILES = ("cone-30-0.1", "cone-60-0.2", "flat-0.8", "laser", "etch", "perfboard")


def grouped(causes: tuple[Cause, ...]) -> list[tuple[Any, ...]]:
    """The causes of a report, each by its worst place."""
    return [
        (c.cause, c.rule, c.severity, c.state, len(c.findings), c.remedy, c.findings[0].seen)
        for c in causes
    ]


def counted(causes: tuple[Count, ...]) -> list[tuple[Any, ...]]:
    return [(c.cause, c.rule, c.severity, c.state, c.count, c.remedy, c.worst) for c in causes]


def assert_same(found: Tallied, report: Report) -> None:
    assert counted(found.causes) == grouped(report.causes)
    assert (found.verdict, found.unchecked) == (report.verdict, report.unchecked)


@cache
def measured(folder: Path, profiles: tuple[str, ...] = PROFILES) -> Facts:
    board = read_board([folder])
    return measure(board, reach_for([load_profile(name) for name in profiles]))


# --- the same as check -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "profile"),
    quick(
        list(product(["hive-scale", "tide-logger"], PROFILES)),
        [*product(["hive-scale"], PROFILES), ("tide-logger", "cone-30-0.1")],
    ),
)
def test_all_rules_on_a_sample_board(name: str, profile: str) -> None:
    made, process = measured(SAMPLES / "boards" / name), load_profile(profile)

    found = tallied(made.board, process, RULES, made)

    assert_same(found, check(made.board, process, RULES, made))


@pytest.mark.parametrize("name", TALLYING)
def test_the_bad_sample_of_each_rule_with_a_tally(name: str) -> None:
    folder = SAMPLES / "rules" / name
    own = [folder / "bad" / "profile.yaml", folder / "profile.yaml"]
    process = load_profile(next(filter(Path.exists, own), "cone-30-0.1"))
    made = measure(read_board([folder / "bad"]), reach_for(process))

    found = tallied(made.board, process, RULES, made)

    assert {count.rule for count in found.causes} == {name}
    assert_same(found, check(made.board, process, RULES, made))


@needs_boards
@pytest.mark.parametrize("profile", ["cone-30-0.1", "cone-60-0.2", "etch"])
def test_tallies_on_an_open_board(profile: str) -> None:
    made = measured(BOARDS / "openbci-cyton", ("cone-30-0.1", "cone-60-0.2", "etch"))
    process = load_profile(profile)

    found = tallied(made.board, process, TALLYING, made)

    assert sum(count.count for count in found.causes) > len(found.causes)
    assert_same(found, check(made.board, process, TALLYING, made))


NAMES = st.none() | st.sampled_from(["GND", "VCC", "A1", "A2", "A10"])
PARTS = st.none() | st.sampled_from(["U1", "U2", "J10", "R3"])
COPPER = built(
    Copper,
    kind=st.none() | st.sampled_from(list(Kind)),
    net=NAMES,
    component=PARTS,
    pin=st.none() | st.sampled_from(["1", "2", "3"]),
)
PLACES = st.tuples(st.integers(0, 3).map(float), st.integers(0, 3).map(float))
SIZES = st.sampled_from([0.11, 0.15, 0.197, 0.2, 0.203, 0.21, 0.24]) | st.floats(0.05, 0.3)
GAPS = st.lists(
    built(
        Gap,
        fits=SIZES,
        distance=st.none() | st.sampled_from([0.02, 0.05]),
        a=COPPER,
        b=COPPER,
        at=PLACES,
        side=st.sampled_from(["top", "bottom"]),
    ),
    max_size=30,
)
PROCESSES = built(
    cutting,
    st.sampled_from([0.12, 0.2, 0.22]),
    st.sampled_from([0.22, 0.27]),
    st.sampled_from([0.0, 0.02]),
    st.sampled_from(["milling", "laser", "etching"]),
)


@settings(max_examples=30, deadline=None)
@given(GAPS, PROCESSES)
def test_tallies_on_any_gaps(gaps: list[Gap], process: Process) -> None:
    made = facts(gaps, bites=(0.0, 0.02))

    found = tallied(made.board, process, TALLYING, made)

    assert_same(found, check(made.board, process, TALLYING, made))


def saying(*seen: Observation | Unchecked, severity: Severity = Severity.ERROR) -> dict[str, Rule]:
    def answer(facts: Facts, process: Process) -> Iterator[Observation | Unchecked]:
        yield from seen

    return {"some-fault": Rule("some-fault", "", severity, "", answer)}


OBSERVATIONS = built(
    Observation,
    message=st.sampled_from(["Seen 1", "Seen 2"]),
    remedy=st.sampled_from(["Mend 1", "Mend 2"]),
    cause=st.sampled_from(["a cause 1", "a cause 2", "a cause 3"]),
    state=st.sampled_from(State),
    measured=st.none() | st.sampled_from([0.1, 0.2]),
    limit=st.none() | st.sampled_from([0.2, 0.0]),
    side=st.sampled_from([None, "top", "bottom"]),
    x=st.sampled_from([None, 1.0, 2.0]),
    y=st.sampled_from([None, 1.0, 2.0]),
    together=st.none() | st.just("Mend all 9"),
)
UNSEEN = built(Unchecked, what=st.sampled_from(["this", "that"]), why=st.just("no data"))


@settings(deadline=None)
@given(st.lists(OBSERVATIONS | UNSEEN, max_size=12), st.sampled_from(Severity))
def test_a_rule_without_a_tally_is_grouped(
    seen: list[Observation | Unchecked], severity: Severity
) -> None:
    made, rules = facts([Gap(1.0)]), saying(*seen, severity=severity)

    found = tallied(made.board, PLAIN, rules, made)

    assert_same(found, check(made.board, PLAIN, rules, made))


def test_a_severity_that_the_profile_sets_counts() -> None:
    process = replace(PLAIN, severity={"uncuttable-gap": Severity.NOTE})
    made = facts([Gap(0.1)])

    (count,) = tallied(made.board, process, {"uncuttable-gap": rule("uncuttable-gap")}, made).causes

    assert (count.severity, count.state) == (Severity.NOTE, State.NOT_MAKEABLE)


# --- decided by gaps ---------------------------------------------------------------------------


def test_a_gap_that_stays_shut_decides_and_no_other_rule_is_asked() -> None:
    rules = {**OF_GAPS, **saying(Observation("Seen 1", "Mend 1", "a cause", State.MARGINAL))}
    made = facts([Gap(0.1), Gap(0.15), Gap(1.0)])

    found = tallied(made.board, PLAIN, rules, made, decided_by_gaps=True)

    assert found.partly
    assert found.verdict is Verdict.NOT_MAKEABLE
    assert [(count.rule, count.count) for count in found.causes] == [("uncuttable-gap", 2)]


@pytest.mark.parametrize("fits", [0.2, 0.3])
def test_where_no_gap_stays_shut_every_rule_is_asked(fits: float) -> None:
    rules = {**OF_GAPS, **saying(Observation("Seen 1", "Mend 1", "a cause", State.MARGINAL))}
    made = facts([Gap(fits)])

    found = tallied(made.board, PLAIN, rules, made, decided_by_gaps=True)

    assert not found.partly
    assert "some-fault" in {count.rule for count in found.causes}


def test_without_the_shortcut_every_rule_is_asked() -> None:
    rules = saying(Observation("Seen 1", "Mend 1", "a cause", State.MARGINAL))
    made = facts([Gap(0.1)])

    found = tallied(made.board, PLAIN, rules, made)

    assert not found.partly
    assert len(found.causes) == 1


def test_gaps_looked_for_less_far_decide_as_those_looked_for_as_far_as_the_cut() -> None:
    board, process = read_board([SAMPLES / "boards" / "tide-logger"]), load_profile("flat-0.8")
    near, far = measure(board, Reach(0.3, 0.0)), measure(board, reach_for(process))
    shut = [int((one.fate == Fate.JOINED).sum()) for one in fates(far, process)]

    found = tallied(board, process, RULES, near, decided_by_gaps=True)

    assert found.partly
    assert found.verdict is check(board, process, RULES, far).verdict
    assert 0 < sum(c.count for c in found.causes if c.state is State.NOT_MAKEABLE) <= sum(shut)


def test_the_rules_on_gaps_are_those_that_judge_fates() -> None:
    assert set(OF_GAPS) == {"uncuttable-gap", "trimmed-gap", "tight-gap"}
    assert set(OF_GAPS) <= set(TALLYING)
