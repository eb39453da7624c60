"""Component layers, written as the Gerber layer format describes them (section 6.9)."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from checker.board import Board, Part
from checker.errors import ReadError
from checker.read import read_board
from checker.read.gerber import parse_gerber
from checker.read.parts import read_parts
from tests.read.made import BOARDS, at, chain, gerber, needs_boards, pads, write

HEAD = """\
%TF.FileFunction,Component,L1,Top*%
%FSLAX46Y46*%
%MOMM*%
%TA.AperFunction,ComponentMain*%
%ADD10C,0.300*%
%TA.AperFunction,ComponentOutline,Courtyard*%
%ADD11C,0.100*%
%TA.AperFunction,ComponentPin*%
%ADD12P,0.360X4X0.0*%
%ADD13C,0*%
%TA.AperFunction,ComponentOutline,Body*%
%ADD14C,0.100*%
%TA.AperFunction,ComponentOutline,Lead2Lead*%
%ADD15C,0.100*%
%TD*%
"""
BOX = ((1.0, 1.0), (3.0, 1.0), (3.0, 2.0), (1.0, 2.0), (1.0, 1.0))
WIDE = ((0.5, 0.5), (3.5, 0.5), (3.5, 2.5), (0.5, 2.5), (0.5, 0.5))


def layer(*lines: str) -> str:
    return HEAD + "\n".join(lines) + "\nM02*\n"


def part(name: str, *lines: str, mount: str = "SMD", place: tuple[float, float] = (2, 1.5)) -> str:
    said = f"%TO.C,{name}*%\n%TO.CMnt,{mount}*%\n%TO.CRot,90*%\n"
    return "\n".join([said + pads(place), *lines, "%TD*%"])


def parts_of(text: str, side: str = "top") -> tuple[list[Part], list[str]]:
    file = parse_gerber(text, "parts.gbr")
    parts, notes = read_parts(file.objects, file.mounts, side, file.name)
    return parts, [note.text for note in notes]


def board_of(folder: Path, **files: str) -> Board:
    copper = {"top.gbr": gerber(pads((2, 2)), function="Copper,L1,Top")}
    named = {name.replace("_", "-") + ".gbr": text for name, text in files.items()}
    return read_board([write(folder, copper | named)])


# The spec's own example: R301, annotated in section 6.9.2 of the Gerber layer format 2022.02.
R301 = (
    HEAD
    + """\
D10*
%TO.C,R301*%
%TO.CFtp,R_0805_2012Metric*%
%TO.CVal,4K7*%
%TO.CMnt,SMD*%
%TO.CRot,-90*%
X218250000Y-73000000D03*
D11*
X219250000Y-71310000D02*
X217250000Y-71310000D01*
X217250000Y-74690000D01*
X219250000Y-74690000D01*
X219250000Y-71310000D01*
D12*
%TO.P,R301,1*%
X218250000Y-72045000D03*
D13*
%TO.P,R301,2*%
X218250000Y-73955000D03*
%TD*%
M02*
"""
)


def test_the_example_of_the_format() -> None:
    (found,), notes = parts_of(R301)

    assert notes == []
    assert (found.name, found.side, found.mount) == ("R301", "top", "surface")
    assert (found.x, found.y) == pytest.approx((218.25, -73.0))
    assert found.body is None
    assert found.courtyard is not None
    assert found.courtyard.bounds == pytest.approx((217.25, -74.69, 219.25, -71.31))


@pytest.mark.parametrize(
    ("said", "mount"),
    [
        ("TH", "through hole"),
        ("Pressfit", "through hole"),
        ("SMD", "surface"),
        ("smd", "surface"),
        ("Other", "other"),
    ],
)
def test_how_it_is_mounted(said: str, mount: str) -> None:
    (found,), _ = parts_of(layer(part("U1", mount=said)))

    assert found.mount == mount


def test_mount_is_unknown_where_the_layer_does_not_say() -> None:
    (found,), _ = parts_of(layer("%TO.C,U1*%", pads((2, 2))))

    assert found.mount is None


def test_the_centre_line_is_the_outline_not_the_pen() -> None:
    (found,), _ = parts_of(layer(part("U1", chain(*BOX, pen=14))))

    assert found.body is not None
    assert found.body.equals(Polygon(BOX))


def test_a_region_is_an_outline_too() -> None:
    function = "%TA.AperFunction,ComponentOutline,Body*%"
    corners = "\n".join([f"{at(*BOX[0])}D02*", *(f"{at(*p)}D01*" for p in BOX[1:])])
    (found,), _ = parts_of(layer(part("U1", function, "G36*", corners, "G37*")))

    assert found.body is not None
    assert found.body.equals(Polygon(BOX))


@pytest.mark.parametrize(
    ("kinds", "body", "room"),
    [((14, 11), BOX, WIDE), ((11,), None, WIDE), ((15,), None, WIDE), ((14,), BOX, None)],
    ids=["both", "courtyard", "over its leads", "body"],
)
def test_kinds_of_outline(
    kinds: tuple[int, ...], body: object, room: tuple[tuple[float, float], ...] | None
) -> None:
    lines = [chain(*(BOX if pen == 14 else WIDE), pen=pen) for pen in kinds]
    (found,), notes = parts_of(layer(part("U1", *lines)))

    assert notes == []
    assert (found.body is None) == (body is None)
    assert (found.courtyard is None) == (room is None)
    assert room is None or (found.courtyard and found.courtyard.equals(Polygon(room)))
    assert found.cover is not None


def test_an_arc_is_followed() -> None:
    circle = f"D14*\nG75*\n{at(3, 2)}D02*\nG03*\n{at(3, 2)}I-1000000J0D01*\nG01*"
    (found,), _ = parts_of(layer(part("C1", circle)))

    assert found.body is not None
    assert found.body.area == pytest.approx(3.14159, abs=0.01)


@pytest.mark.parametrize(
    "lines",
    [
        [chain(*BOX[:-1], pen=14)],
        [chain(*pair, pen=14) for pair in ((BOX[0], BOX[1]), (BOX[2], BOX[3]))],
        [chain(BOX[0], BOX[2], BOX[1], BOX[3], BOX[0], pen=14)],
    ],
    ids=["open", "loose lines", "crossing itself"],
)
def test_a_broken_outline_is_taken_by_its_hull_and_said(lines: list[str]) -> None:
    (found,), notes = parts_of(layer(part("U7", *lines)))

    assert found.body is not None
    assert found.body.equals(Polygon(BOX))
    assert notes == ["outline of U7 is no closed line: its hull is taken"]


def test_an_outline_without_area_is_none() -> None:
    (found,), notes = parts_of(layer(part("U7", chain((1, 1), (2, 1), pen=14))))

    assert found.body is None
    assert len(notes) == 1


def test_many_broken_outlines_make_one_short_note() -> None:
    text = layer(*(part(f"U{n}", chain(*BOX[:3], pen=14)) for n in range(40)))
    found, notes = parts_of(text)

    assert len(found) == 40
    assert notes == [
        "outline of U0, U1, U2, U3, U4 and 35 more is no closed line: its hull is taken"
    ]


def test_a_part_without_a_main_flash_lies_in_the_middle_of_its_outline() -> None:
    (found,), _ = parts_of(layer("%TO.C,X1*%", chain(*BOX, pen=11)))

    assert (found.x, found.y) == pytest.approx((2.0, 1.5))


def test_what_names_no_component_is_left_out_and_said() -> None:
    found, notes = parts_of(layer(pads((1, 1)), chain(*BOX, pen=14), part("R1")))

    assert [one.name for one in found] == ["R1"]
    assert notes == ["left out what names no component: 2 of its flashes and outlines"]


def test_what_clears_is_no_part() -> None:
    found, _ = parts_of(layer("%LPC*%", part("R1", chain(*BOX, pen=14))))

    assert found == []


def test_a_panel_holds_each_part_as_often_as_it_is_repeated() -> None:
    one = part("R1", chain(*BOX, pen=14))
    found, _ = parts_of(layer("%SRX3Y1I10.0J0*%", one, "%SR*%"))

    assert [one.x for one in found] == pytest.approx([2.0, 12.0, 22.0])
    assert [one.body.bounds[0] for one in found if one.body] == pytest.approx([1.0, 11.0, 21.0])


@given(st.permutations([14, 11, 15]))
def test_order_of_the_outlines_does_not_matter(pens: list[int]) -> None:
    lines = [chain(*(BOX if pen == 14 else WIDE), pen=pen) for pen in pens]
    (found,), _ = parts_of(layer(part("U1", *lines)))

    assert found.body is not None
    assert found.courtyard is not None
    assert (found.body.area, found.courtyard.area) == pytest.approx((2.0, 6.0))


# On boards


def test_a_board_without_a_component_layer_knows_no_parts(tmp_path: Path) -> None:
    assert board_of(tmp_path).parts is None


def test_both_sides_are_read_by_their_file_function(tmp_path: Path) -> None:
    bottom = layer(part("R2")).replace("L1,Top", "L2,Bot")
    board = board_of(tmp_path, a=layer(part("R1")), b=bottom)

    assert board.parts is not None
    assert {(one.name, one.side) for one in board.parts} == {("R1", "top"), ("R2", "bottom")}
    assert ("a.gbr", "parts-top") in board.sources
    assert ("b.gbr", "parts-bottom") in board.sources
    assert board.notes == ()


def test_an_empty_component_layer_says_that_there_are_no_parts(tmp_path: Path) -> None:
    assert board_of(tmp_path, a=layer()).parts == ()


def test_the_name_or_the_command_line_may_say_what_it_is(tmp_path: Path) -> None:
    plain = layer(part("R1")).replace("%TF.FileFunction,Component,L1,Top*%\n", "")
    board = board_of(tmp_path, x_components_bottom=plain)

    assert board.parts is not None
    assert [one.side for one in board.parts] == ["bottom"]
    again = read_board([tmp_path], layers={"parts-top": "x-components-bottom.gbr"})
    assert again.parts is not None
    assert [one.side for one in again.parts] == ["top"]


def test_a_drawing_that_is_named_so_is_not_used_and_said(tmp_path: Path) -> None:
    board = board_of(tmp_path, components_top=gerber(chain(*BOX)))

    assert board.parts is None
    assert ("components-top.gbr", "not used") in board.sources
    assert [note.text for note in board.notes] == ["names no part: not a component layer"]


def test_a_broken_component_layer_leaves_the_parts_unchecked(tmp_path: Path) -> None:
    board = board_of(tmp_path, a=layer(part("R1")).replace("M02*", "X1000"))

    assert board.parts is None
    assert "parts of a.gbr" in [one.what for one in board.unchecked]


def test_endless_repeats_leave_the_parts_unchecked(tmp_path: Path) -> None:
    heavy = layer("%SRX60000Y60000I1.0J1.0*%", part("R1", chain(*BOX, pen=14)), "%SR*%")
    board = board_of(tmp_path, a=heavy)

    assert board.parts is None
    assert "parts of a.gbr" in [one.what for one in board.unchecked]


def test_an_unknown_role_is_refused_and_the_known_ones_are_named(tmp_path: Path) -> None:
    write(tmp_path, {"a.gbr": gerber(pads((1, 1)))})

    with pytest.raises(ReadError, match="parts-top, parts-bottom"):
        read_board([tmp_path], layers={"components": "a.gbr"})


@needs_boards
def test_an_exporters_own_component_layers() -> None:
    board = read_board([BOARDS / "librepcb-test"])

    assert board.parts is not None
    by_name = {(one.name, one.side): one for one in board.parts}
    assert {("D1", "top"), ("D2", "bottom")} <= set(by_name)
    assert by_name["D1", "top"].mount == "through hole"
    assert by_name["D1", "top"].courtyard is not None
    assert by_name["D1", "top"].body is None
