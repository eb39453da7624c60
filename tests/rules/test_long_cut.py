from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.measure import Facts, Reach
from checker.process.bit import Bit
from checker.process.model import Process
from checker.process.shop import Feeds
from rules._passes import passes
from tests.handmade import PLAIN, exactly, rule, seen
from tests.layouts import board_of

NAME = "long-cut"


def milling(cleared: float | None, feeds: Feeds, cut: float = 0.2) -> Process:
    none = exactly(0.0)
    bit = Bit("flat", exactly(cut), 0.0, exactly(0.1), cut, none, none)
    return replace(PLAIN, bit=bit, cut=exactly(cut), cleared_width=cleared, feeds=feeds)


def bare(*islands: shapely.Polygon) -> Facts:
    return Facts(board_of(islands), Reach(), (), ())


SQUARE = bare(shapely.box(0, 0, 100, 100))


def test_one_pass_follows_the_parallel_curve_of_the_edge() -> None:
    # Steiner's formula: the parallel curve of a convex figure at r is 2 pi r longer than its edge.
    feeds = Feeds(cut=100.0, evening=(400 + 2 * math.pi * 0.1) / 100 / 60 * 0.999)

    (told,) = seen(NAME, SQUARE, milling(None, feeds))

    assert told.message == ("Isolating cuts 0.4 m in 1 pass, 0.1 h at 100 mm/min, 0.1 h are there")


def test_time_that_is_enough_is_not_told() -> None:
    feeds = Feeds(cut=100.0, evening=(400 + 2 * math.pi * 0.1) / 100 / 60 * 1.0005)

    assert seen(NAME, SQUARE, milling(None, feeds)) == []


@pytest.mark.parametrize(
    ("cleared", "overlap", "passes"),
    [(0.2, 0.0, 1), (0.4, 0.0, 2), (0.41, 0.0, 3), (0.4, 0.5, 3), (0.3, 0.5, 2)],
)
def test_passes_clear_the_width_asked_for(cleared: float, overlap: float, passes: int) -> None:
    feeds = Feeds(cut=1.0, evening=0.05, overlap=overlap)

    (told,) = seen(NAME, SQUARE, milling(cleared, feeds))

    assert f"in {passes} pass" in told.message


def test_remedy_is_the_feed_that_is_done_in_time() -> None:
    feeds = Feeds(cut=10.0, evening=0.1)

    (told,) = seen(NAME, SQUARE, milling(None, feeds))

    # 400.6 mm in 6 minutes are 66.8 mm/min.
    assert told.remedy == "Feed at 70 mm/min where chips allow it"


def test_a_beam_makes_no_chips() -> None:
    process = replace(milling(None, Feeds(cut=10.0, evening=0.1)), method="laser")

    (told,) = seen(NAME, SQUARE, process)

    assert told.remedy == "Feed at 70 mm/min where the beam still goes through"


@pytest.mark.parametrize(
    ("spindle", "remedy"),
    [
        (7000.0, "Feed at 70 mm/min"),
        (6500.0, "Feed at 70 mm/min and turn at 7000 rpm"),
    ],
)
def test_the_remedy_keeps_to_the_chip_that_is_allowed(spindle: float, remedy: str) -> None:
    feeds = Feeds(cut=10.0, evening=0.1, spindle=spindle, chip=0.01)

    (told,) = seen(NAME, SQUARE, milling(None, feeds))

    assert told.remedy == remedy
    followed = Feeds(cut=70.0, evening=0.1, spindle=7000.0, chip=0.01)
    assert seen("heavy-chip", SQUARE, milling(None, followed)) == []


@pytest.mark.parametrize("feeds", [Feeds(cut=100.0), Feeds(evening=1.0)])
def test_without_feed_or_time_it_says_so(feeds: Feeds) -> None:
    (told,) = rule(NAME).check(SQUARE, milling(None, feeds))

    assert isinstance(told, Unchecked)
    assert "feeds." in told.why


def test_a_process_that_cuts_nothing_takes_no_time() -> None:
    assert list(rule(NAME).check(SQUARE, replace(PLAIN, cut=None, method="perfboard"))) == []


def test_where_no_pass_has_room_none_is_counted() -> None:
    # Two plates 0.15 mm apart: a cut 0.2 mm wide runs round both, 4 x 100 + 2 x 50.15 mm and
    # corners of a full turn, and not between them.
    plates = bare(shapely.box(0, 0, 50, 100), shapely.box(50.15, 0, 100.15, 100))

    (told,) = seen(NAME, plates, milling(None, Feeds(cut=100.0, evening=0.01)))

    assert "cuts 0.4 m in 1 pass" in told.message


@settings(deadline=None, max_examples=20)
@given(st.floats(0.2, 1.0), st.floats(0.2, 1.0))
def test_a_wider_clearance_never_takes_fewer_passes(one: float, other: float) -> None:
    less, more = (
        passes(SQUARE.board, milling(cleared, Feeds(overlap=0.4)))
        for cleared in sorted((one, other))
    )

    assert less is not None
    assert more is not None
    assert less.metres <= more.metres
    assert less.count <= more.count


@pytest.mark.parametrize(("above", "told"), [(0.400, True), (0.401, False)])
def test_passes_that_are_plainly_too_short_are_not_looked_at(above: float, told: bool) -> None:
    # A square of 100 mm and one pass at 0.1 mm: 400 + 2 pi 0.1 = 400.6 mm.
    found = passes(SQUARE.board, milling(None, Feeds()), above=above)

    assert (found is not None) == told


def test_a_process_without_a_bit_has_no_passes() -> None:
    assert passes(SQUARE.board, PLAIN) is None
