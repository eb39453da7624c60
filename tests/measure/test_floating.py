"""Islands cut off from a pour."""

from __future__ import annotations

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Kind, Pin
from checker.measure.leftover.floating import floating_of
from tests.handmade import Copper, layer

ISLAND = shapely.box(20, 0, 23, 3)


def board(kind: Kind = Kind.POUR, island: shapely.Polygon = ISLAND, **more: object) -> Board:
    """A pour with a pad on it, and an island beside it."""
    pour = shapely.box(0, 0, 15, 10)
    made = layer(
        "top",
        [(Copper(Kind.POUR, "GND"), pour), (Copper(kind), island), (Copper(Kind.PAD), pour)],
    )
    islands, net = made.islands[:2], made.net[:2]
    made = replace(made, islands=islands, net=net)
    made.island_of[2] = 0
    return Board("b", (), (made,), **more)  # type: ignore[arg-type]


def test_an_island_with_nothing_on_it_floats() -> None:
    found = floating_of(board())

    assert (found.layer.tolist(), found.island.tolist()) == ([0], [1])
    assert found.area.tolist() == pytest.approx([9.0])
    assert found.at.tolist() == [pytest.approx([21.5, 1.5])]


@pytest.mark.parametrize("kind", [Kind.PAD, Kind.TRACE])
def test_pads_and_traces_do_not_float(kind: Kind) -> None:
    assert len(floating_of(board(kind))) == 0


def test_a_letter_drawn_as_a_region_is_too_small_to_tell() -> None:
    assert len(floating_of(board(island=shapely.box(20, 0, 21, 2)))) == 0


def test_a_hole_through_an_island_may_join_it() -> None:
    hole = Hole(((21.0, 1.0),), 0.8, None, None, "holes.drl", 1)

    assert len(floating_of(board(holes=(hole,)))) == 0


def test_a_pin_of_a_netlist_on_an_island_joins_it() -> None:
    assert len(floating_of(board(pins=(Pin("GND", "C1", "2", 21.0, 1.0, "top"),)))) == 0


def test_a_lone_pour_was_never_cut_off() -> None:
    made = layer("top", [(Copper(Kind.POUR, "GND"), ISLAND)])

    assert len(floating_of(Board("b", (), (made,)))) == 0
