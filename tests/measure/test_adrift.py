"""Poured copper that joins nothing counts to the net beside it."""

from __future__ import annotations

from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, DrawnObjects, GraphicLayer, Hole, Kind, Pin
from checker.engine import reach_for
from checker.isolation import joined_nets, parts_nets, tightest
from checker.measure import Facts, measure
from checker.measure.copper.adrift import counted_nets
from tests.handmade import exactly, flat, seen
from tests.layouts import objects_of
from tests.poured import board_with

NAME = "uncuttable-gap"
MILLED = flat(0.2, exactly(0.09))
WIDER = flat(0.4, exactly(0.09))
OVER_PADS = (shapely.box(-9, 0, -8, 1), shapely.box(2, 0, 3, 1))


def mask(*openings: Any, side: str = "top") -> GraphicLayer:
    drawn: DrawnObjects = objects_of(openings)
    return GraphicLayer("mask", side, "mask.gbr", lambda: drawn)


def hole(x: float) -> Hole:
    return Hole(((x, 1.0),), 0.8, None, None, "holes.drl", 1)


def between(
    left: float, right: float, kind: Kind = Kind.POUR, openings: Any = OVER_PADS, **more: Any
) -> Board:
    """A pour with a pad, an island 1 mm wide so far from it, and a pad so far beyond that."""
    pieces = [
        (Kind.POUR, shapely.box(-10, -5, -left, 5), 0.0),
        (Kind.PAD, shapely.box(-9, 0, -8, 1), 0.0),
        (kind, shapely.box(0, 0, 1, 2), 0.0),
        (Kind.PAD, shapely.box(1 + right, 0, 3 + right, 2), 0.0),
    ]
    known = {"graphics": (mask(*openings),), "holes": (hole(20),)} | more
    return replace(board_with(pieces), **known)


def facts_of(board: Board) -> Facts:
    return measure(board, reach_for(WIDER))


def parted(board: Board) -> list[bool]:
    """Whether the gaps left and right of the island part nets."""
    gaps = facts_of(board).gaps[0]
    found = parts_nets(board, 0, gaps.islands)
    return [bool(found[row]) for row in sorted(range(len(gaps)), key=lambda k: gaps.a[k][0])]


def test_an_island_that_runs_into_the_pour_beside_it_shorts_nothing() -> None:
    facts = facts_of(between(0.1, 0.3))

    assert seen(NAME, facts, MILLED) == []
    assert joined_nets(facts, MILLED).groups == []


def test_nets_that_meet_across_an_island_are_told_at_the_farther_one() -> None:
    facts = facts_of(between(0.1, 0.3))

    (told,) = seen(NAME, facts, WIDER)
    assert told.measured == pytest.approx(0.3, abs=0.002)
    assert "2 nets" not in told.message
    net = facts.board.copper[0].net
    assert joined_nets(facts, WIDER).groups == [sorted({net[0], net[2]})]


def test_the_room_for_a_cut_ends_where_nets_meet_across_an_island() -> None:
    assert tightest(facts_of(between(0.1, 0.3)), MILLED).fits == pytest.approx(0.3, abs=0.002)


@given(st.integers(5, 60), st.integers(5, 60), st.sampled_from([10, 20, 30, 40]))
def test_two_nets_meet_across_an_island_if_both_of_its_gaps_close(
    left: int, right: int, cut: int
) -> None:
    process = flat(cut / 100 + 0.005, exactly(0.09))
    board = between(left / 100, right / 100)
    facts = measure(board, reach_for(process))

    meet = len(joined_nets(facts, process).groups) == 1

    assert meet == (max(left, right) <= cut)


@pytest.mark.parametrize(
    "board",
    [
        between(0.1, 0.3, Kind.PAD),
        between(0.1, 0.3, Kind.TRACE),
        between(0.1, 0.3, holes=(hole(0.5),)),
        between(0.1, 0.3, holes=()),
        between(0.1, 0.3, openings=(*OVER_PADS, shapely.box(0.2, 0.2, 0.5, 0.5))),
        between(0.1, 0.3, graphics=()),
        between(0.1, 0.3, graphics=(mask(side="bottom"),)),
        between(0.1, 0.3, pins=(Pin("GND", "C1", "2", 0.5, 1.0, "top"),)),
    ],
    ids=["pad", "trace", "hole", "no drill file", "bared", "no mask", "other mask", "pin"],
)
def test_what_may_be_soldered_or_joined_is_a_net_of_its_own(board: Board) -> None:
    assert parted(board) == [True, True]
    assert counted_nets(board, 0).tolist() == board.copper[0].net.tolist()


def test_a_pin_of_the_other_side_joins_nothing_here() -> None:
    board = between(0.1, 0.3, pins=(Pin("GND", "C1", "2", 0.5, 1.0, "bottom"),))

    assert parted(board) == [False, True]


@pytest.mark.parametrize(("name", "own"), [("GND", True), ("N/C", False), (None, False)])
def test_an_island_with_the_name_of_a_net_is_that_net(name: str | None, own: bool) -> None:
    board = between(0.1, 0.3)
    (layer,) = board.copper
    names: list[str | None] = [None] * len(layer.islands)
    island = int(shapely.STRtree(layer.islands).nearest(shapely.Point(0.5, 1)))
    names[island] = name
    board = replace(board, copper=(replace(layer, net_name=tuple(names)),))

    assert parted(board) == [own, True]


def test_of_equally_near_nets_an_island_counts_to_the_larger_copper() -> None:
    assert parted(between(0.2, 0.2)) == [False, True]
