from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from checker.isolation import Fate, fates, groups
from tests.handmade import PLAIN, Gap, cutting, facts

MOST_NETS = 20
PAIRS = st.lists(st.tuples(st.integers(0, MOST_NETS - 1), st.integers(0, MOST_NETS - 1)))


@given(PAIRS)
def test_groups_are_those_of_an_independent_library(pairs: list[tuple[int, int]]) -> None:
    array = np.array(pairs, dtype=np.int64).reshape(-1, 2)

    found = groups(array)

    graph = coo_array((np.ones(len(array)), tuple(array.T)), shape=(MOST_NETS, MOST_NETS))
    label = connected_components(graph, directed=False)[1]
    linked = np.unique(array)
    expected = {frozenset(linked[label[linked] == number].tolist()) for number in label[linked]}
    assert {frozenset(group) for group in found} == expected
    assert sum(map(len, found)) == len(linked)


@given(
    st.lists(st.tuples(st.floats(0.01, 1), st.floats(0, 0.1)), min_size=1, max_size=10),
    st.floats(0.02, 0.8),
    st.floats(0.02, 0.8),
    st.floats(0, 0.2),
)
def test_no_gap_fares_better_with_a_wider_cut(
    gaps: list[tuple[float, float]], width: float, other: float, more: float
) -> None:
    bite = 0.02
    board = facts(
        [
            Gap(fits, bitten={bite: fits + 2 * bite + extra}, at=(3.0 * i, 0))
            for i, (fits, extra) in enumerate(gaps)
        ],
        bites=(0.0, bite),
    )

    narrow, wide = (
        fates(board, cutting(nominal, nominal + more, bite))[0].fate
        for nominal in sorted((width, other))
    )

    assert (narrow <= wide).all()


def test_fates_are_judged_anew_for_another_process() -> None:
    board = facts([Gap(0.2)])

    found = [fates(board, cutting(width))[0].fate.tolist() for width in (0.1, 0.3, 0.1)]

    assert found == [[Fate.OPEN], [Fate.JOINED], [Fate.OPEN]]


def test_a_process_that_isolates_nothing_has_no_fates() -> None:
    assert fates(facts([Gap(0.1)]), replace(PLAIN, cut=None)) == ()


def test_a_gap_beyond_the_reach_is_open() -> None:
    board = facts([Gap(np.inf, 0.1)])

    assert fates(board, cutting(0.2))[0].fate.tolist() == [Fate.OPEN]
