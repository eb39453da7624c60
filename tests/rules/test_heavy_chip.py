from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.findings import State
from checker.process.model import Process
from checker.process.shop import Feeds
from tests.handmade import PLAIN, facts, rule, seen

NAME = "heavy-chip"


def fed(feeds: Feeds) -> Process:
    return replace(PLAIN, feeds=feeds)


def test_worked_figures_of_the_trade() -> None:
    # Common practice: 100 mm/min at 10 000 rpm are 10 um a chip, 300 mm/min 30 um, one edge each.
    at = {
        feed: seen(NAME, facts(), fed(Feeds(cut=feed, spindle=10_000, chip=0.029)))
        for feed in (100.0, 300.0)
    }

    assert at[100.0] == []
    assert [one.measured for one in at[300.0]] == [pytest.approx(0.030)]


@pytest.mark.parametrize(("feed", "told"), [(300.0, 0), (301.0, 1)])
def test_limit_itself_is_allowed(feed: float, told: int) -> None:
    process = fed(Feeds(cut=feed, spindle=10_000, chip=0.03))

    assert len(seen(NAME, facts(), process)) == told


@given(st.floats(10, 3000), st.integers(1, 4), st.floats(5000, 40_000), st.floats(0.005, 0.1))
def test_remedies_work(feed: float, flutes: int, spindle: float, chip: float) -> None:
    feeds = Feeds(cut=feed, spindle=spindle, flutes=flutes, chip=chip)

    for one in seen(NAME, facts(), fed(feeds)):
        words = one.remedy.split()
        slower, faster = float(words[2]), float(words[-2])
        assert slower / (spindle * flutes) <= chip * (1 + 1e-9)
        assert feed / (faster * flutes) <= chip * (1 + 1e-9)


def test_it_is_marginal_for_the_whole_board() -> None:
    (told,) = seen(NAME, facts(), fed(Feeds(cut=400.0, spindle=8000, chip=0.03)))

    assert (told.state, told.side, told.x) == (State.MARGINAL, None, None)
    assert told.limit == 0.03


@pytest.mark.parametrize(
    "feeds",
    [
        Feeds(cut=400.0),
        Feeds(cut=400.0, spindle=8000),
        Feeds(cut=400.0, chip=0.03),
        Feeds(spindle=8000, chip=0.03),
    ],
)
def test_without_a_figure_it_says_so(feeds: Feeds) -> None:
    (told,) = rule(NAME).check(facts(), fed(feeds))

    assert isinstance(told, Unchecked)


def test_only_a_turning_bit_takes_chips() -> None:
    assert list(rule(NAME).check(facts(), replace(PLAIN, method="laser"))) == []
