from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Kind
from checker.findings import State
from checker.process.model import Process
from tests.handmade import PLAIN, Copper, Gap, cutting, facts, rule, seen

NAME = "trimmed-gap"
ALL = ("uncuttable-gap", "trimmed-gap", "tight-gap")
WIDTH = st.floats(0.01, 1.0)


@pytest.mark.parametrize(
    ("bitten", "rules"),
    [
        (0.1949, ["uncuttable-gap"]),
        (0.1951, ["uncuttable-gap"]),
        (0.2049, ["uncuttable-gap"]),
        (0.2051, ["trimmed-gap"]),
    ],
    ids=["below", "just below", "just above", "above"],
)
def test_a_place_is_trimmed_only_where_the_bite_surely_opens_it(
    bitten: float, rules: list[str]
) -> None:
    board = facts([Gap(0.17, bitten={0.02: bitten})], bites=(0.0, 0.02))

    assert [name for name in ALL if seen(name, board, cutting(0.2, bite=0.02))] == rules


def test_a_place_that_opens_without_a_bite_is_not_trimmed() -> None:
    board = facts([Gap(0.2)], bites=(0.0, 0.02))

    assert seen(NAME, board, cutting(0.2, bite=0.02)) == []


def test_without_a_bite_nothing_is_trimmed() -> None:
    board = facts([Gap(0.17)], bites=(0.0, 0.02))

    assert seen(NAME, board, cutting(0.2)) == []


@given(st.lists(WIDTH, max_size=8), WIDTH, WIDTH, st.floats(0, 0.1), st.floats(0, 0.1))
def test_a_wider_cut_never_leaves_fewer_places_at_fault(
    fits: list[float], width: float, other: float, more: float, bite: float
) -> None:
    gaps = [Gap(one, at=(3.0 * i, 0.0)) for i, one in enumerate(fits)]
    board = facts(gaps, bites=sorted({0.0, bite}))
    narrow, wide = (cutting(w, w + more, bite) for w in sorted((width, other)))

    def faults(process: Process) -> list[float | None]:
        return [one.x for name in ALL for one in seen(name, board, process)]

    assert set(faults(narrow)) <= set(faults(wide))
    assert len(set(faults(wide))) == len(faults(wide))


def test_the_bite_told_is_half_of_what_the_gap_lacks() -> None:
    # A cut of width w through a gap g takes (w - g) / 2 from either side: sum of lengths.
    a, b = Copper(Kind.PAD, "VCC", "U1", "3"), Copper(Kind.TRACE, "CLK")
    board = facts([Gap(0.17, a=a, b=b)], bites=(0.0, 0.02))

    (found,) = seen(NAME, board, cutting(0.2, bite=0.02))

    assert found.message == (
        "Gap 0.170 mm, the bit cuts 0.200 mm: it opens by biting up to 0.015 mm into U1.3 (VCC) "
        "and the trace CLK"
    )
    assert found.state is State.MARGINAL


def test_where_nothing_is_cut_no_gap_is_at_fault() -> None:
    assert list(rule(NAME).check(facts([Gap(0.01)]), replace(PLAIN, cut=None))) == []
