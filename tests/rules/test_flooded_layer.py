"""Layers that are copper all over, and holes that meet none."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Kind, Outline, Unchecked
from checker.findings import Observation, State
from checker.measure import Facts, Reach
from checker.read import read_board
from tests.handmade import PLAIN, Copper, layer, rule, square

NAME = "flooded-layer"
SAMPLES = Path(__file__).parents[2] / "samples" / "rules" / NAME
PLACES = tuple((10.0 * i, 10.0 * j) for i in range(1, 5) for j in range(1, 3))
EDGE = Outline(shapely.multipolygons([shapely.box(0, 0, 50, 30)]), "p", "by hand")


def drilled(diameter: float = 1.0, plated: bool | None = None) -> tuple[Hole, ...]:
    return tuple(Hole((place,), diameter, plated, None, "d", 1) for place in PLACES)


def pads(size: float = 2.0) -> list[tuple[Copper, shapely.Polygon]]:
    return [(Copper(), square(x, y, size)) for x, y in PLACES]


def plane(inset: float, *, kept_off: int = 0) -> list[tuple[Copper, shapely.Polygon]]:
    """A pour that keeps off the edge, and off some of the holes."""
    area = shapely.box(inset, inset, 50 - inset, 30 - inset)
    for x, y in PLACES[:kept_off]:
        area = area.difference(square(x, y, 1.2))
    return [(Copper(Kind.POUR), area)]


def told(given: Board) -> list[Observation | Unchecked]:
    return list(rule(NAME).check(Facts(given, Reach(), (), ()), PLAIN))


def one_sided(copper: list[tuple[Copper, shapely.Polygon]], holes: tuple[Hole, ...]) -> Board:
    return Board("b", (), (layer("bottom", copper),), holes, EDGE)


def test_a_plane_without_clearances_is_told() -> None:
    (one,) = told(one_sided(plane(0.2), drilled()))

    assert isinstance(one, Observation)
    assert one.message == (
        "Copper covers 98 % of the board in one piece with 8 of 8 holes for leads, on the bottom"
    )
    assert (one.side, one.state) == ("bottom", State.NOT_MAKEABLE)


# 95 % of 50 x 30 mm is left by an inset of 0.4765 mm.
@pytest.mark.parametrize(("inset", "caught"), [(0.47, True), (0.48, False)])
def test_up_to_95_percent_it_is_a_fill_like_others(inset: float, caught: bool) -> None:
    assert bool(told(one_sided(plane(inset), drilled()))) is caught


@pytest.mark.parametrize(("kept_off", "caught"), [(0, True), (1, False), (7, False)])
def test_a_plane_with_clearances_is_none(kept_off: int, caught: bool) -> None:
    assert bool(told(one_sided(plane(0.2, kept_off=kept_off), drilled()))) is caught


def test_holes_as_small_as_vias_may_all_belong_to_a_plane() -> None:
    assert told(one_sided(plane(0.2), drilled(0.5))) == []


def test_a_plane_that_joins_one_piece_of_copper_to_itself_is_none() -> None:
    field = [(Copper(Kind.POUR), shapely.box(5, 5, 45, 25))]
    given = one_sided(plane(0.2), drilled())

    assert told(replace(given, copper=(layer("top", field), *given.copper))) == []
    assert told(replace(given, copper=(layer("top", pads()), *given.copper))) != []


def test_a_plane_that_joins_two_pieces_of_the_other_side_is_told() -> None:
    halves = [(Copper(Kind.POUR), shapely.box(x, 5, x + 20, 25)) for x in (4, 26)]
    given = one_sided(plane(0.2), drilled())

    assert len(told(replace(given, copper=(layer("top", halves), *given.copper)))) == 1


@pytest.mark.parametrize(("plated", "caught"), [(True, True), (None, True), (False, False)])
def test_holes_that_meet_no_copper_are_told_unless_unplated(
    plated: bool | None, caught: bool
) -> None:
    elsewhere = [(Copper(), square(5.0, 5.0))]

    found = told(one_sided(elsewhere, drilled(plated=plated)))

    assert [type(one) for one in found] == [Observation] * caught
    if caught:
        assert isinstance(found[0], Observation)
        assert found[0].message == "0 of 8 holes meet copper on any side"


@pytest.mark.parametrize(
    ("count", "size", "caught"), [(1, 1, 0), (2, 1, 1), (5, 1, 1), (5, 3.2, 0)]
)
def test_a_few_holes_that_all_miss_the_copper_are_marginal(
    count: int, size: float, caught: int
) -> None:
    found = told(one_sided([(Copper(), square(5.0, 5.0))], drilled(size)[:count]))

    assert [one.message for one in found if isinstance(one, Observation)] == [
        f"None of {count} holes meets copper on any side"
    ] * caught
    assert {one.state for one in found if isinstance(one, Observation)} <= {State.MARGINAL}


def test_a_few_holes_of_which_one_meets_copper_are_not_told() -> None:
    assert told(one_sided(pads()[:1], drilled()[:5])) == []


def test_holes_along_the_edge_are_perforation() -> None:
    row = tuple(Hole(((3.0 + i, 0.3),), 0.6, None, None, "d", 1) for i in range(12))

    assert told(one_sided([(Copper(), square(25.0, 15.0))], row)) == []


def test_holes_that_only_lie_mirrored_are_left_to_another_rule() -> None:
    leads = [(3.0, 2.0), (5.5, 2.0), (9.0, 14.0), (19.0, 14.0), (12.0, 5.5), (22.0, 3.0), (4.0, 11)]
    copper = [(Copper(), square(x, y)) for x, y in leads]
    holes = tuple(Hole(((50.0 - x, y),), 0.8, None, None, "d", 1) for x, y in leads)

    assert told(one_sided(copper, holes)) == []


def test_without_a_drill_file_it_is_unchecked() -> None:
    given = replace(one_sided(plane(0.2), ()), unchecked=(Unchecked("holes", "no drill file"),))

    assert told(given) == [Unchecked("copper that floods a layer", "no drill file")]


def test_the_sample_is_a_plane_without_clearances() -> None:
    (one,) = told(read_board([SAMPLES / "bad"]))

    assert isinstance(one, Observation)
    assert "covers 96 % of the board in one piece with 8 of 8 holes" in one.message
