"""What a hole is for: by drill, by pad, by netlist, or nobody knows."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from checker.board import Board, Pin
from checker.measure.holes.uses import Use, uses_of
from checker.read import read_board
from tests.holed import hit, holed
from tests.read.made import chain, gerber, pads, rectangle, write

if TYPE_CHECKING:
    from checker.board import Ints

SAMPLES = Path(__file__).parents[2] / "samples" / "boards"
DRILL = "M48\n{attribute}METRIC\nT1C0.6\n%\nT1\nX2.0Y2.0\nM30\n"


def board(folder: Path, pad: str, drill_function: str = "", trace: str = "") -> Board:
    """A board with one hole at 2, 2 and ``pad`` round it on both sides; a pad of J9 beside."""
    other = ["%TO.P,J9,1*%", pads((8.0, 2.0)), "%TD*%"]
    attribute = f"; #@! TA.AperFunction,{drill_function}\n" if drill_function else ""
    return read_board(
        [
            write(
                folder,
                {
                    f"b-{side}.gbr": gerber(*other, pad, trace, function=f"Copper,{role}")
                    for side, role in (("F_Cu", "L1,Top"), ("B_Cu", "L2,Bot"))
                }
                | {
                    "b-Edge.gbr": gerber(rectangle(0, 0, 10, 5), function="Profile,NP"),
                    "b.drl": DRILL.format(attribute=attribute),
                },
            )
        ]
    )


def pad(*attributes: str, function: str = "") -> str:
    """A pad of 1 mm at 2, 2."""
    aperture = [f"%TA.AperFunction,{function}*%"] * bool(function) + ["%ADD20C,1.0*%", "%TD*%"]
    return "\n".join([*aperture, *attributes, pads((2.0, 2.0), pen=20), "%TD*%"])


@pytest.mark.parametrize(
    ("copper", "drill_function", "use"),
    [
        (pad("%TO.P,J1,1*%"), "ViaDrill", Use.VIA),
        (pad(function="ViaPad"), "ComponentDrill", Use.COMPONENT),
        (pad("%TO.P,J1,1*%"), "MechanicalDrill", Use.MECHANICAL),
        (pad(function="ViaPad"), "", Use.VIA),
        (pad(function="ComponentPad"), "", Use.COMPONENT),
        (pad("%TO.P,J1,1*%"), "", Use.COMPONENT),
        (pad(function="ViaPad") + pad("%TO.P,J1,1*%", function="ComponentPad"), "", Use.VIA),
        (pad("%TO.P,U1,9*%", function="HeatsinkPad"), "", Use.VIA),
        (
            pad("%TO.P,J1,9*%", function="SMDPad,CuDef") + pad(function="ComponentPad"),
            "",
            Use.COMPONENT,
        ),
        (pad("%TO.N,GND*%"), "", Use.VIA),
        ("", "", Use.MECHANICAL),
        (pads((2.0, 2.0), pen=11), "", Use.MECHANICAL),
    ],
    ids=[
        "drill of a via before the pad's component",
        "drill of a component before the pad of a via",
        "drill of no electrical use",
        "pad of a via",
        "pad of a component",
        "pad with a pin",
        "pad of a via on that of a component",
        "pad of a flat part",
        "pad of a lead on that of a flat part",
        "pad without a component where others have one",
        "bare laminate",
        "a mark that the drill takes away",
    ],
)
def test_use_by_the_attributes(copper: str, drill_function: str, use: Use, tmp_path: Path) -> None:
    # Words of .AperFunction after the Gerber layer format, clause 5.6.10.
    assert uses_of(board(tmp_path, copper, drill_function)).use.tolist() == [use]


def test_nets_and_pins_round_a_hole(tmp_path: Path) -> None:
    uses = uses_of(board(tmp_path, pad("%TO.N,GND*%", "%TO.P,J1,2*%")))

    assert (uses.nets, uses.pins) == ((("GND",),), (("J1.2",),))
    assert uses.at.tolist() == [[2.0, 2.0]]


def without_names(whole: Board) -> Board:
    def bare(column: Ints) -> Ints:
        return np.full_like(column, -1)

    layers = [
        replace(
            layer,
            objects=replace(
                layer.objects,
                component=bare(layer.objects.component),
                pin=bare(layer.objects.pin),
                function=bare(layer.objects.function),
            ),
        )
        for layer in whole.copper
    ]
    return replace(whole, copper=tuple(layers))


def test_nobody_knows_where_no_pad_has_a_component(tmp_path: Path) -> None:
    assert uses_of(without_names(board(tmp_path, pad()))).use.tolist() == [Use.UNKNOWN]


def test_nobody_knows_a_hole_in_a_trace(tmp_path: Path) -> None:
    line = "D10*\nX1000000Y2000000D02*\nX3000000Y2000000D01*"

    assert uses_of(board(tmp_path, "", trace=line)).use.tolist() == [Use.UNKNOWN]


@pytest.mark.parametrize(
    ("component", "use", "pins"),
    [("J1", Use.COMPONENT, ("J1.2",)), (None, Use.VIA, ())],
    ids=["pin", "via"],
)
def test_a_point_of_the_netlist_in_the_hole_tells(
    component: str | None, use: Use, pins: tuple[str, ...], tmp_path: Path
) -> None:
    point = Pin("GND", component, component and "2", 2.1, 2.0, None)
    bare = replace(without_names(board(tmp_path, pad())), pins=(point,))

    uses = uses_of(bare)

    assert (uses.use.tolist(), uses.pins) == ([use], (pins,))


def test_a_flat_pin_of_the_netlist_takes_no_lead(tmp_path: Path) -> None:
    point = Pin("GND", "U1", "9", 2.1, 2.0, "top")
    bare = replace(without_names(board(tmp_path, pad())), pins=(point,))

    uses = uses_of(bare)

    assert (uses.use.tolist(), uses.pins) == ([Use.VIA], (("U1.9",),))


def test_a_lone_point_in_a_hole_without_plating_is_no_via() -> None:
    bare = holed(replace(hit(50, 30, 0.5), plated=False)).board

    assert uses_of(replace(bare, pins=(Pin("", None, None, 50, 30, None),))).use.tolist() == [
        Use.MECHANICAL
    ]


def test_a_point_of_the_netlist_beside_the_hole_tells_nothing(tmp_path: Path) -> None:
    point = Pin("GND", "J1", "2", 2.6, 2.0, None)
    bare = replace(without_names(board(tmp_path, pad())), pins=(point,))

    assert uses_of(bare).use.tolist() == [Use.UNKNOWN]


def test_board_without_holes() -> None:
    assert len(uses_of(holed().board).use) == 0
    assert uses_of(holed(hit(50, 30, 1)).board).use.tolist() == [Use.MECHANICAL]


@pytest.mark.parametrize("name", ["hive-scale", "tide-logger", "coop-door"])
def test_pads_say_the_same_as_the_drills_of_a_sample(name: str) -> None:
    whole = read_board([SAMPLES / name])
    silent = replace(whole, holes=tuple(replace(hole, function=None) for hole in whole.holes))

    assert uses_of(silent).use.tolist() == uses_of(whole).use.tolist()


@pytest.mark.parametrize(("mark", "use"), [(0.5, Use.MECHANICAL), (0.7, Use.VIA)])
def test_a_mark_in_a_fill_drawn_with_a_pen_is_a_peg(tmp_path: Path, mark: float, use: Use) -> None:
    fill = "\n".join(chain((0, 0.8 * k), (4, 0.8 * k), pen=10) for k in range(6))
    spot = f"%ADD21C,{mark}*%\n" + pads((2.0, 2.0), pen=21)

    assert uses_of(board(tmp_path, spot, trace=fill)).use.tolist() == [use]
