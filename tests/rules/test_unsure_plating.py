"""Holes that may be a joint between the sides or none."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Kind, Unchecked
from checker.findings import Observation, State
from checker.measure import Facts, Reach
from checker.read import read_board
from tests.handmade import PLAIN, Copper, layer, rule

NAME = "unsure-plating"
SAMPLES = Path(__file__).parents[2] / "samples" / "rules" / NAME


def field(kind: Kind = Kind.POUR, x: float = 0.0) -> list[tuple[Copper, shapely.Polygon]]:
    return [(Copper(kind, "GND"), shapely.box(x, 0, x + 10, 10))]


def board(hole: Hole, top: Kind = Kind.POUR, bottom: Kind = Kind.POUR, x: float = 0.0) -> Board:
    layers = (layer("top", field(top)), layer("bottom", field(bottom, x)))
    return Board("b", (), layers, (hole,))


def told(given: Board) -> list[Observation | Unchecked]:
    return list(rule(NAME).check(Facts(given, Reach(), (), ()), PLAIN))


HOLE = Hole(((5.0, 5.0),), 1.5, None, None, "d", 1)


def test_a_hole_through_two_fills_is_told() -> None:
    (one,) = told(board(HOLE))

    assert isinstance(one, Observation)
    assert one.message == (
        "Hole of 1.50 mm meets copper of both sides without a pad, "
        "and no file says whether it is plated: GND"
    )
    assert (one.x, one.y, one.nets, one.state) == (5.0, 5.0, ("GND",), State.REMARK)


@pytest.mark.parametrize("plated", [True, False])
def test_what_the_files_state_is_sure(plated: bool) -> None:
    assert told(board(replace(HOLE, plated=plated))) == []


def test_a_mechanical_hole_is_none_for_a_joint() -> None:
    assert told(board(replace(HOLE, function="MechanicalDrill"))) == []


@pytest.mark.parametrize(
    ("top", "bottom"), [(Kind.PAD, Kind.POUR), (Kind.POUR, Kind.PAD), (Kind.TRACE, Kind.POUR)]
)
def test_a_pad_or_a_stroke_about_the_hole_makes_it_a_joint(top: Kind, bottom: Kind) -> None:
    assert told(board(HOLE, top, bottom)) == []


# The hole's edge lies at x = 5.75; copper within 0.02 mm of it counts as reaching it.
@pytest.mark.parametrize(("x", "caught"), [(5.76, True), (5.78, False)])
def test_copper_that_keeps_off_is_no_question(x: float, caught: bool) -> None:
    assert bool(told(board(HOLE, x=x))) is caught


def test_a_board_of_one_side_joins_nothing() -> None:
    given = board(HOLE)

    assert told(replace(given, copper=given.copper[1:])) == []


def test_without_a_drill_file_it_is_unchecked_on_two_sides_alone() -> None:
    given = replace(board(HOLE), holes=(), unchecked=(Unchecked("holes", "no drill file"),))

    assert told(given) == [Unchecked("plating of holes", "no drill file")]
    assert told(replace(given, copper=given.copper[:1])) == []


def test_the_sample_has_one_such_hole() -> None:
    (one,) = told(read_board([SAMPLES / "bad"]))

    assert isinstance(one, Observation)
    assert one.message.startswith("Hole of 1.50 mm")
    assert (one.x, one.y) == (20.0, 16.0)
