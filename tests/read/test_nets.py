from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from checker.board import Board
from checker.read import read_board
from checker.read.gerber import TOLERANCE
from checker.read.groups import Groups
from checker.read.nets import touching_pairs
from tests.read.made import chain, drill, gerber, pads, write


def net_of(board: Board, side: str, x: float, y: float) -> tuple[int, str | None]:
    """Number and name of the net of the island at a place."""
    (layer,) = (la for la in board.copper if la.side == side)
    (row,) = np.flatnonzero(shapely.intersects_xy(layer.islands, x, y))
    return int(layer.net[row]), layer.net_name[row]


def read(folder: Path, files: dict[str, str]) -> Board:
    return read_board([write(folder, files)])


def named(net: str, *lines: str) -> str:
    return "\n".join([f"%TO.N,{net}*%", *lines, "%TD*%"])


TOP, BOTTOM = "Copper,L1,Top", "Copper,L2,Bot"


def test_names_from_layer_attributes(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(named("VCC", pads((1, 1))), named("GND", pads((5, 1))), function=TOP),
            "b.gbr": gerber(named("VCC", pads((9, 1))), function=BOTTOM),
        },
    )

    assert board.nets_from == "layer attributes"
    assert net_of(board, "top", 1, 1) == net_of(board, "bottom", 9, 1)
    assert net_of(board, "top", 1, 1)[1] == "VCC"
    assert net_of(board, "top", 5, 1)[0] != net_of(board, "top", 1, 1)[0]


def test_unnamed_copper_takes_the_name_through_a_hole(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(named("VCC", pads((1, 1))), function=TOP),
            "b.gbr": gerber(pads((1, 1), (5, 1)), function=BOTTOM),
            "d.drl": drill("X1.0Y1.0"),
        },
    )

    assert net_of(board, "bottom", 1, 1) == net_of(board, "top", 1, 1)
    assert net_of(board, "bottom", 5, 1)[1] is None


def test_unnamed_copper_between_two_nets_takes_neither_name(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(named("A", pads((1, 1))), named("B", pads((5, 1))), function=TOP),
            "b.gbr": gerber(chain((1, 1), (5, 1), pen=10), function=BOTTOM),
            "d.drl": drill("X1.0Y1.0", "X5.0Y1.0"),
        },
    )

    assert net_of(board, "bottom", 3, 1)[1] is None
    assert net_of(board, "top", 1, 1)[0] != net_of(board, "top", 5, 1)[0]


def test_unplated_hole_joins_nothing(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(pads((1, 1)), function=TOP),
            "b.gbr": gerber(pads((1, 1)), function=BOTTOM),
            "d.drl": ";TYPE=NON_PLATED\n" + drill("X1.0Y1.0"),
        },
    )

    assert net_of(board, "top", 1, 1)[0] != net_of(board, "bottom", 1, 1)[0]


def test_nets_tied_by_drawn_copper(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(
                named("AGND", pads((1, 1))),
                named("GND", pads((5, 1))),
                chain((1, 1), (5, 1)),
                named("AGND", pads((9, 9))),
                function=TOP,
            )
        },
    )

    assert board.ties == (("AGND", "GND"),)
    assert net_of(board, "top", 9, 9) == net_of(board, "top", 1, 1)
    assert net_of(board, "top", 1, 1)[1] == "AGND + GND"
    assert [(note.source, note.text) for note in board.notes] == [
        (
            "t.gbr",
            "its copper joins the nets AGND and GND, which are taken as one; where that is not on "
            "purpose, the layout has a short",
        )
    ]


def test_copper_that_joins_many_nets_names_some(tmp_path: Path) -> None:
    lines = [named(f"N{i}", pads((i, 1))) for i in range(1, 10)]
    board = read(tmp_path, {"t.gbr": gerber(*lines, chain((1, 1), (9, 1)), function=TOP)})

    (note,) = board.notes
    assert "the nets N1, N2, N3, N4, N5, N6 and 3 more, which" in note.text


@pytest.mark.parametrize("net", ["N/C", ""])
def test_pads_without_a_net_are_nets_of_their_own(tmp_path: Path, net: str) -> None:
    """Gerber layer format, .N: N/C is a single-pad net, an empty name is no net at all."""
    top = gerber(named("A", pads((9, 9))), named(net, pads((1, 1), (5, 1))), function=TOP)
    board = read(tmp_path, {"t.gbr": top})

    assert net_of(board, "top", 1, 1)[0] != net_of(board, "top", 5, 1)[0]
    assert net_of(board, "top", 1, 1)[1] is None


def test_drawn_connectivity_through_holes(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(pads((1, 1), (5, 1), (9, 1)), function=TOP),
            "b.gbr": gerber(chain((1, 1), (5, 1)), function=BOTTOM),
            "d.drl": drill("X1.0Y1.0", "X5.0Y1.0"),
        },
    )

    assert board.nets_from == "drawn connectivity"
    assert net_of(board, "top", 1, 1) == net_of(board, "top", 5, 1)
    assert net_of(board, "top", 9, 1)[0] != net_of(board, "top", 1, 1)[0]


def test_pad_drawn_as_a_ring_is_joined_by_its_hole(tmp_path: Path) -> None:
    ring = pads((1, 1)) + "\n%LPC*%\nD11*\n" + f"%ADD13C,0.7*%\nD13*\nX{10**6}Y{10**6}D03*\n%LPD*%"
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(ring, function=TOP),
            "b.gbr": gerber(ring, function=BOTTOM),
            "d.drl": drill("X1.0Y1.0"),
        },
    )

    (top,), (bottom,) = (layer.net for layer in board.copper)
    assert top == bottom


def test_slot_joins_the_sides(tmp_path: Path) -> None:
    board = read(
        tmp_path,
        {
            "t.gbr": gerber(pads((1, 1)), function=TOP),
            "b.gbr": gerber(pads((3, 1)), function=BOTTOM),
            "d.drl": drill("X1.0Y1.0G85X3.0Y1.0"),
        },
    )

    assert net_of(board, "top", 1, 1)[0] == net_of(board, "bottom", 3, 1)[0]


NETLIST = """P  UNITS CUST 1
327VCC              U1    -1          A01X+001000Y+001000
327GND              U1    -2          A01X+005000Y+001000
317VCC              J1    -1    D0800PA00X+009000Y+001000
999
"""


def test_names_from_a_netlist(tmp_path: Path) -> None:
    layer = gerber(pads((1, 1), (5, 1), (9, 1)))
    board = read(tmp_path, {"t.gtl": layer, "b.gbl": layer + "G04 b*", "n.ipc": NETLIST})

    assert board.nets_from == "netlist file"
    assert net_of(board, "top", 1, 1) == net_of(board, "bottom", 9, 1)
    assert net_of(board, "top", 5, 1)[1] == "GND"
    assert net_of(board, "bottom", 5, 1)[1] is None  # the record says top
    assert [pin.component for pin in board.pins] == ["U1", "U1", "J1"]


def test_netlist_of_another_origin_is_not_used_and_told(tmp_path: Path) -> None:
    moved = NETLIST.replace("X+00", "X+09")
    board = read(tmp_path, {"t.gtl": gerber(pads((1, 1), (5, 1), (9, 1))), "n.ipc": moved})

    assert board.nets_from == "drawn connectivity"
    assert any("another origin" in note.text and note.source == "n.ipc" for note in board.notes)


def by_name_and_list(netlist: str) -> dict[str, str]:
    """Three pads with names of their own, and a netlist beside them."""
    layer = (named("vcc", pads((1, 1), (9, 1))), named("gnd", pads((5, 1), (7, 1))))
    return {"t.gbr": gerber(*layer, function=TOP), "n.ipc": netlist}


def test_netlist_with_other_names_for_the_same_nets_is_no_dispute(tmp_path: Path) -> None:
    assert read(tmp_path, by_name_and_list(NETLIST)).notes == ()


def test_netlist_that_tells_of_other_nets_than_the_layers_is_told(tmp_path: Path) -> None:
    wrong = NETLIST.replace("999", "327VCC              U1    -3          A01X+007000Y+001000\n999")

    board = read(tmp_path, by_name_and_list(wrong))

    assert net_of(board, "top", 7, 1)[1] == "gnd"
    assert [(note.source, note.text) for note in board.notes] == [
        (
            "n.ipc",
            "1 of 4 points lie on copper of another net, the first U1.3 at 7.000, 1.000: VCC in "
            "the netlist, gnd in the layer; the layer's word holds",
        )
    ]


def test_a_name_that_both_know_counts_more_than_most_points(tmp_path: Path) -> None:
    files = by_name_and_list(NETLIST.replace("VCC", "gnd").replace("GND", "gnd"))

    (note,) = read(tmp_path, files).notes

    assert "2 of 3 points" in note.text
    assert "U1.1 at 1.000, 1.000: gnd in the netlist, vcc in the layer" in note.text


def test_islands_nearer_than_the_tolerance_touch(tmp_path: Path) -> None:
    x = 2 + 1.5 * TOLERANCE  # rectangular pads 1 mm wide, their straight sides as far apart as that
    board = read(tmp_path, {"t.gtl": gerber(pads((1, 1), (x, 1), (4, 1), pen=12))})

    (layer,) = board.copper
    assert len(layer.islands) == 3
    assert net_of(board, "top", 1, 1) == net_of(board, "top", x, 1)
    assert net_of(board, "top", 4, 1)[0] != net_of(board, "top", 1, 1)[0]


boxes = st.lists(
    st.tuples(*[st.integers(0, 60)] * 2, st.integers(1, 9), st.integers(1, 9)),
    min_size=1,
    max_size=12,
)


@given(boxes, st.sampled_from([0.5, 1.0, 2.5]))
def test_touching_pairs_against_all_distances(
    made: list[tuple[int, int, int, int]], distance: float
) -> None:
    """Against the distance of every pair, for the islands of random boxes."""
    drawn = shapely.union_all([shapely.box(x, y, x + w, y + h) for x, y, w, h in made])
    islands = shapely.get_parts(shapely.segmentize(drawn, 0.9))

    found = set(zip(*(side.tolist() for side in touching_pairs(islands, distance)), strict=True))

    assert found == {
        (i, j)
        for i in range(len(islands))
        for j in range(i + 1, len(islands))
        if islands[i].distance(islands[j]) <= distance
    }


def test_groups_take_their_least_number_as_label() -> None:
    groups = Groups(6)
    groups.join(np.array([5, 3, 4]), np.array([3, 1, 4]))

    assert groups.labels().tolist() == [0, 1, 2, 1, 4, 1]
