from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.alike import alike, size_classes, spoken, worst_rows
from checker.causes import group
from checker.findings import Finding, Observation, State
from checker.severity import Severity

SIZES = st.lists(st.floats(0.01, 2.0), min_size=1, max_size=60).map(np.array)


@given(SIZES, st.randoms())
def test_classes_do_not_depend_on_order(sizes, random) -> None:  # type: ignore[no-untyped-def]
    order = np.array(random.sample(range(len(sizes)), len(sizes)))

    shuffled = size_classes(sizes[order])

    assert (shuffled == size_classes(sizes)[order]).all()


@given(st.lists(st.integers(0, 3), min_size=1, max_size=60).map(np.array))
def test_every_row_is_in_one_group_of_its_pattern(patterns) -> None:  # type: ignore[no-untyped-def]
    found = list(alike(patterns, np.linspace(0.1, 0.9, len(patterns))))

    assert sorted(np.concatenate([rows for _, rows in found]).tolist()) == [*range(len(patterns))]
    assert all((patterns[rows] == pattern).all() for pattern, rows in found)


def test_a_clearance_typed_in_is_told_from_what_was_drawn_by_hand() -> None:
    typed = 0.2 + 0.002 * np.sin(np.arange(50))
    by_hand = np.array([0.11, 0.14, 0.17, 0.24, 0.29])

    classes = size_classes(np.concatenate([by_hand, typed]))

    assert set(classes[5:]) == {0}
    assert set(classes[:5]) == {1}


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ([0.2], "0.20 mm"),
        ([0.199, 0.2, 0.204], "0.20 mm"),
        ([0.11, 0.24, 0.2], "0.11 to 0.24 mm"),
        ([0.0, 0.004], "less than 0.01 mm"),
        ([0.004, 0.24, 0.2], "up to 0.24 mm"),
    ],
)
def test_sizes_in_words(sizes: list[float], words: str) -> None:
    assert spoken(np.array(sizes)) == words


def finding(cause: str, state: State, measured: float | None, rule: str = "a-fault") -> Finding:
    seen = Observation("", f"by {measured}", cause, state, measured, 1.0)
    return Finding("", rule, Severity.ERROR, seen)


def test_causes_and_their_places_come_worst_first() -> None:
    causes = group(
        [
            finding("mild", State.MARGINAL, 0.1),
            finding("bad", State.NOT_MAKEABLE, 0.9),
            finding("worse", State.NOT_MAKEABLE, 0.8),
            finding("worse", State.MARGINAL, 0.2),
            finding("worse", State.NOT_MAKEABLE, 0.5),
            finding("whole", State.NOT_MAKEABLE, None),
        ]
    )

    assert [cause.cause for cause in causes] == ["worse", "bad", "whole", "mild"]
    assert [one.seen.measured for one in causes[0].findings] == [0.5, 0.8, 0.2]
    assert causes[0].remedy == "by 0.5"


def test_two_rules_never_share_a_cause() -> None:
    one, other = (finding("same", State.MARGINAL, 0.5, rule) for rule in ("a-fault", "b-fault"))

    assert [cause.rule for cause in group([other, one])] == ["a-fault", "b-fault"]


def test_rounding_does_not_decide_which_of_equal_places_is_worst() -> None:
    places = np.array([[35.27, 19.2041116521], [32.73, 19.2041116525]])

    worst = worst_rows(np.array([0.67, 0.67]), 0.82, np.array([1, 1]), places)

    assert worst.tolist() == [1]
