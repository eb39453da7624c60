"""Room round soldered pads and lone pads against the plain distance of shapes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, CopperLayer, GraphicLayer, Hole, Kind, Pin
from checker.measure.leftover.crowding import ERROR, bare_pads_of, crowding_of, soldered_of
from tests.coppered import Drawn, coppered
from tests.handmade import Copper, layer, square
from tests.layouts import objects_of

REACH = 0.5


def scattered(seed: int) -> CopperLayer:
    """Pads and tracks of a few nets, none over another."""
    random = np.random.default_rng(seed)
    copper: list[tuple[Copper, shapely.Polygon]] = []
    while len(copper) < 60:
        kind = Kind.PAD if random.random() < 0.6 else Kind.TRACE
        x, y = random.uniform(0, 12, 2)
        form = shapely.box(x, y, x + random.uniform(0.3, 1.5), y + random.uniform(0.3, 1.5))
        if all(form.distance(other) > 0.02 for _, other in copper):
            part = f"U{len(copper)}" if kind is Kind.PAD else None
            copper.append((Copper(kind, f"N{random.integers(25)}", part, "1"), form))
    return layer("top", copper)


@pytest.mark.parametrize("seed", range(5))
def test_every_pad_has_its_row_for_each_near_island_of_another_net(seed: int) -> None:
    made = scattered(seed)
    kinds, shapes, nets = made.objects.kind, made.islands, made.net
    pads = np.flatnonzero(kinds == Kind.PAD)

    found = crowding_of(Board("b", (), (made,)), REACH)

    expected = {
        (min(pad, other), max(pad, other)) if kinds[other] == Kind.PAD else (pad, other): gap
        for pad in pads.tolist()
        for other in range(len(shapes))
        if nets[pad] != nets[other] and (gap := shapes[pad].distance(shapes[other])) <= REACH
    }
    rows = dict(
        zip(
            zip(found.pad.tolist(), found.island.tolist(), strict=True), found.distance, strict=True
        )
    )
    assert rows.keys() == expected.keys()
    assert [rows[key] for key in expected] == pytest.approx(list(expected.values()), abs=ERROR)
    assert np.array_equal(found.facing >= 0, kinds[found.island] == Kind.PAD)


def test_two_pads_that_face_each_other_are_one_row_halfway_between() -> None:
    made = layer(
        "top",
        [(Copper(Kind.PAD, "A", "U1", "1"), square(0, 0)),
         (Copper(Kind.PAD, "B", "U1", "2"), square(0.7, 0))],
    )  # fmt: skip

    found = crowding_of(Board("b", (), (made,)), REACH)

    assert found.at.tolist() == [pytest.approx([0.35, 0])]
    assert found.distance.tolist() == pytest.approx([0.2])


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (1, 2, 0)])
def test_a_pad_between_two_of_one_island_faces_both(order: tuple[int, ...]) -> None:
    pads = [
        Drawn(square(0, 0), "A", Kind.PAD, "U1.1"),
        Drawn(square(0.7, 0), "B", Kind.PAD, "U1.2"),
        Drawn(square(1.4, 0), "A", Kind.PAD, "U1.3"),
    ]
    tie = Drawn(shapely.box(-0.25, -2, 1.65, -1).union(shapely.box(-0.25, -2, -0.2, 0))
                .union(shapely.box(1.6, -2, 1.65, 0)), "A", Kind.TRACE)  # fmt: skip

    found = crowding_of(coppered(top=[*(pads[k] for k in order), tie]).board, REACH)

    assert sorted(map(tuple, found.at.tolist())) == [
        pytest.approx((0.35, 0)),
        pytest.approx((1.05, 0)),
    ]


def named(functions: list[str | None]) -> CopperLayer:
    """Pads in a row with these functions."""
    made = layer("top", [(Copper(), square(3 * i, 0)) for i in range(len(functions))])
    names = tuple(dict.fromkeys(name for name in functions if name))
    index = np.array([names.index(name) if name else -1 for name in functions])
    return replace(made, objects=replace(made.objects, function=index, names=names))


def test_functions_tell_which_pads_are_soldered() -> None:
    # Values of .AperFunction: Gerber layer format specification, table of aperture attributes.
    functions = ["ViaPad", "ComponentPad", "SMDPad", "FiducialPad", "HeatsinkPad", "TestPad", None]

    assert soldered_of(Board("b", (), (named(functions),)))[0].tolist() == [1, 2, 4]


def test_pins_of_a_netlist_tell_where_functions_do_not() -> None:
    made = named([None, None, None])
    pins = (Pin("A", "U1", "1", 3.1, 0.1, "top"), Pin("B", None, None, 6.0, 0.0, "top"))

    assert soldered_of(Board("b", (), (made,), pins=pins))[0].tolist() == [1]


def test_without_either_every_pad_counts() -> None:
    assert soldered_of(Board("b", (), (named([None, None]),)))[0].tolist() == [0, 1]


def test_the_copper_of_a_lone_pad_is_that_beside_its_hole() -> None:
    disc = shapely.Point(0, 0).buffer(0.85, 64)
    made = layer("bottom", [(Copper(component="J1", pin="1"), disc)])
    hole = Hole(((0.0, 0.0),), 1.0, None, None, "holes.drl", 1)

    found = bare_pads_of(Board("b", (), (made,), holes=(hole,)))

    assert found.area.tolist() == pytest.approx([math.pi * (0.85**2 - 0.5**2)], abs=0.005)
    assert found.hole.tolist() == [1.0]


def test_a_pad_with_a_trace_on_it_is_not_alone() -> None:
    pad, other = square(0, 0), square(5, 0)
    made = layer("top", [(Copper(component="R1", pin="1"), pad), (Copper(Kind.TRACE), other)])
    joined = shapely.union(pad, shapely.box(0, -0.1, 5, 0.1))
    islands = np.array([joined], object)
    made = replace(made, islands=islands, island_of=np.array([0, 0]), net=np.array([1]))

    assert len(bare_pads_of(Board("b", (), (made,)))) == 0


def test_solder_may_bridge_to_poured_copper_that_joins_nothing_but_that_net() -> None:
    """An island 0.1 mm from the pad counts to its net, one nearer to another net does not."""
    openings = objects_of([square(0, 0)])
    made = layer(
        "top",
        [(Copper(Kind.PAD), square(0, 0)),
         (Copper(Kind.POUR), square(0.6, 0)),
         (Copper(Kind.POUR), square(0, -0.7)),
         (Copper(Kind.TRACE), square(0, -1.25))],
    )  # fmt: skip
    board = Board(
        "b",
        (),
        (made,),
        holes=(Hole(((9.0, 9.0),), 1.0, None, None, "holes.drl", 1),),
        graphics=(GraphicLayer("mask", "top", "mask.gbr", lambda: openings),),
    )

    assert crowding_of(board, 0.3).island.tolist() == [2]
