"""What can be reached without a vertex, against a search that never enters it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.measure.necks.beyond import most_beyond

if TYPE_CHECKING:
    from collections.abc import Sequence

Edge = tuple[int, int]
MOST = 9
EDGES = st.lists(st.tuples(st.integers(0, MOST), st.integers(1, MOST)), max_size=16).map(
    lambda pairs: [(a, (a + step) % (MOST + 1)) for a, step in pairs]
)
VALUES = st.lists(st.integers(0, 20), min_size=MOST + 1, max_size=MOST + 1)


def searched(edges: Sequence[Edge], value: Sequence[int], start: int, without: int) -> int:
    seen, todo = {start}, [start]
    while todo:
        here = todo.pop()
        for a, b in [*edges, *(edge[::-1] for edge in edges)]:
            if a == here and b != without and b not in seen:
                seen.add(b)
                todo.append(b)
    return max(value[vertex] for vertex in seen)


@given(edges=EDGES, value=VALUES)
@settings(max_examples=60, deadline=None)
def test_most_beyond_an_edge_is_what_a_search_finds(edges: list[Edge], value: list[int]) -> None:
    a, b = np.array(edges, dtype=np.int64).reshape(-1, 2).T

    found = most_beyond(a, b, np.array(value, dtype=float))

    assert found.tolist() == [searched(edges, value, there, here) for here, there in edges]


def test_a_long_chain_is_no_matter_of_recursion() -> None:
    count = 20_000
    value = np.arange(count, dtype=float)

    found = most_beyond(np.arange(1, count), np.arange(count - 1), value)

    assert found.tolist() == list(range(count - 1))
