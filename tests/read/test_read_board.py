from __future__ import annotations

from pathlib import Path

import pytest

from checker.errors import ReadError
from checker.read import read_board
from tests.read.made import (
    chain,
    drill,
    gerber,
    pack,
    pads,
    rectangle,
    two_sided,
    write,
)

TOP, BOTTOM = "Copper,L1,Top", "Copper,L2,Bot"


def test_folder_archive_and_files_give_the_same_board(tmp_path: Path) -> None:
    folder = write(tmp_path / "board", two_sided())
    archive = pack(tmp_path / "board.zip", two_sided())

    boards = [read_board([folder]), read_board([archive]), read_board(sorted(folder.iterdir()))]

    assert {board.name for board in boards} == {"board"}
    for board in boards:
        assert board.sides == ("top", "bottom")
        assert [hole.path for hole in board.holes] == [((2.0, 2.0),), ((8.0, 2.0),)]
        assert board.size == pytest.approx((10, 5))
        assert dict(board.sources)["b-F_Cu.gbr"] == "top"
        assert board.notes == ()
        assert board.unchecked == ()


def test_inner_layers_lie_between_the_sides_in_order(tmp_path: Path) -> None:
    files = two_sided() | {
        "b-In1.gbr": gerber(pads((5, 3)), function="Copper,L2,Inr"),
        "b-In2.gbr": gerber(pads((5, 2)), function="Copper,L3,Inr"),
        "b-B_Cu.gbr": gerber(pads((2, 2)), function="Copper,L4,Bot"),
    }

    board = read_board([write(tmp_path, files)])

    assert board.sides == ("top", "inner 1", "inner 2", "bottom")
    assert board.copper[1].source == "b-In1.gbr"


def test_order_of_inner_layers_that_nothing_states_is_told(tmp_path: Path) -> None:
    files = {
        "b.GTL": gerber(pads((1, 1))),
        "b.G1": gerber(pads((2, 1))),
        "b.GP1": gerber(pads((3, 1))),
    }

    board = read_board([write(tmp_path, files)])

    assert board.sides == ("top", "inner 1", "inner 2")
    assert any("order of inner layers not stated: b.G1, b.GP1" in n.text for n in board.notes)


def test_layer_of_the_users_choice(tmp_path: Path) -> None:
    write(tmp_path, {"x.gbr": gerber(pads((1, 1))), "y.gbr": gerber(rectangle(0, 0, 5, 5))})

    board = read_board([tmp_path], {"bottom": "x.gbr", "outline": "y.gbr"})

    assert board.sides == ("bottom",)
    assert board.size == pytest.approx((5, 5))


@pytest.mark.parametrize("name", ["b-F_Cu.gbr", "copper-bottom.gbr"])
def test_a_lone_copper_file_that_holds_none_is_named(tmp_path: Path, name: str) -> None:
    files = {file: text for file, text in two_sided().items() if "_Cu" not in file}
    folder = write(tmp_path, files)
    (folder / name).write_bytes(bytes(range(256)) * 8)

    with pytest.raises(ReadError, match=f"^{name}: holds no layer data, and no other file is"):
        read_board([folder])


def test_a_lone_negative_layer_is_refused_as_such(tmp_path: Path) -> None:
    file = "%TF.FilePolarity,Negative*%\n" + gerber(pads((1, 1)), function="Copper,L1,Top")

    with pytest.raises(ReadError, match=r"top\.gbr: a negative layer.*export.*as positive"):
        read_board([write(tmp_path, {"top.gbr": file})])


def test_no_copper_names_what_is_there(tmp_path: Path) -> None:
    write(tmp_path, {"board.gbr": gerber(pads((1, 1))), "board.drl": drill("X1.0Y1.0")})

    with pytest.raises(ReadError, match=r"board\.drl, board\.gbr: no copper.*--layer top=FILE"):
        read_board([tmp_path])


@pytest.mark.parametrize("files", [{}, {"notes.txt": "Dear reader,\n"}])
def test_folder_without_board_files(tmp_path: Path, files: dict[str, str]) -> None:
    with pytest.raises(ReadError, match="holds no board files"):
        read_board([write(tmp_path, files)])


def test_copper_that_is_cut_off_is_refused_with_its_line(tmp_path: Path) -> None:
    text = gerber(pads((1, 1), (5, 5)), function=TOP)
    write(tmp_path, {"t.gbr": text[: text.rindex("D03*") - 4]})

    with pytest.raises(ReadError, match=r"^t\.gbr:\d+: file ends"):
        read_board([tmp_path])


def test_copper_without_a_unit_is_refused(tmp_path: Path) -> None:
    write(tmp_path, {"t.gtl": gerber(pads((1, 1))).replace("%MOMM*%\n", "")})

    with pytest.raises(ReadError, match=r"t\.gtl.*unit"):
        read_board([tmp_path])


def test_drill_file_without_tools_is_refused_with_the_way_out(tmp_path: Path) -> None:
    files = two_sided() | {"b.drl": "M48\nMETRIC\n%\nT1\nX2.0Y2.0\nM30\n"}

    with pytest.raises(ReadError, match=r"b\.drl:5: tool 1 has no size"):
        read_board([write(tmp_path, files)])
    board = read_board([tmp_path], {"ignore": "b.drl"})

    assert board.unchecked[0].what == "holes"


def test_unreadable_mask_is_not_checked_and_the_board_still_is(tmp_path: Path) -> None:
    files = two_sided() | {"b-F_Mask.gbr": "%TF.FileFunction,Soldermask,Top*%\n%FSLAX46Y46*%\nX1Y"}

    board = read_board([write(tmp_path, files)])

    assert board.graphics == ()
    assert board.unchecked[0].what == "mask of b-F_Mask.gbr"


def test_masks_and_legends_are_kept(tmp_path: Path) -> None:
    files = two_sided() | {
        "b-F_Mask.gbr": gerber(pads((2, 2)), function="Soldermask,Top"),
        "b-B_Silkscreen.gbr": gerber(chain((1, 1), (2, 1)), function="Legend,Bot"),
    }

    board = read_board([write(tmp_path, files)])

    assert [(g.role, g.side, len(g.objects)) for g in board.graphics] == [
        ("mask", "top", 1),
        ("legend", "bottom", 1),
    ]


def test_layer_that_draws_nothing_is_no_layer(tmp_path: Path) -> None:
    files = two_sided() | {"b-F_Cu.gbr": gerber(function=TOP)}

    board = read_board([write(tmp_path, files)])

    assert board.sides == ("bottom",)
    assert ("b-F_Cu.gbr", "not used") in board.sources
    assert any("draws no copper" in note.text for note in board.notes)


def test_missing_drill_file_and_edge_are_not_checked(tmp_path: Path) -> None:
    board = read_board([write(tmp_path, {"t.gtl": gerber(pads((1, 1)))})])

    assert [gap.what for gap in board.unchecked] == ["holes", "board edge"]


def test_drill_file_that_drills_nothing_leaves_the_holes_unchecked(tmp_path: Path) -> None:
    board = read_board([write(tmp_path, {"t.gtl": gerber(pads((1, 1))), "t.drl": drill("")})])

    assert ("holes", "the drill files drill nothing") in {
        (one.what, one.why) for one in board.unchecked
    }


def test_unidentified_file_closed_round_the_copper_is_taken_as_the_edge_and_told(
    tmp_path: Path,
) -> None:
    files = {"t.gtl": gerber(pads((1, 1))), "group3.gbr": gerber(rectangle(0, 0, 5, 5))}

    board = read_board([write(tmp_path, files)])

    assert board.outline is not None
    assert any("taken as the board's edge" in note.text for note in board.notes)
    assert "group3.gbr" not in {one.what for one in board.unchecked}


def test_unidentified_file_counts_as_not_checked(tmp_path: Path) -> None:
    files = {"t.gtl": gerber(pads((1, 1))), "group3.gbr": gerber(pads((2, 2)))}

    board = read_board([write(tmp_path, files)])

    assert {one.what: one.why for one in board.unchecked}["group3.gbr"] == (
        "not identified and left out; name it with --layer ROLE=FILE"
    )


def test_cut_out_in_the_middle_of_copper_that_goes_round_it(tmp_path: Path) -> None:
    edge = gerber(rectangle(0, 0, 10, 10), rectangle(4.5, 4.5, 5.5, 5.5), function="Profile,NP")
    files = {"t.gtl": gerber(rectangle(3, 3, 7, 7)), "edge.gbr": edge}

    board = read_board([write(tmp_path, files)])

    assert board.outline is not None
    assert board.outline.area.area == pytest.approx(99)
    assert "cut-outs of edge.gbr" not in {one.what for one in board.unchecked}


def test_closed_line_round_copper_leaves_cut_outs_unchecked(tmp_path: Path) -> None:
    edge = gerber(rectangle(0, 0, 10, 10), rectangle(4, 4, 6, 6), function="Profile,NP")
    files = {"t.gtl": gerber(pads((1, 1), (9, 9), (5, 5))), "edge.gbr": edge}

    board = read_board([write(tmp_path, files)])

    assert {one.what: one.why for one in board.unchecked}["cut-outs of edge.gbr"] == (
        "1 closed line round copper inside the edge, at 5.000, 5.000, taken as no cut-out"
    )


def test_edge_routed_in_the_unplated_drill_file(tmp_path: Path) -> None:
    routed = ["X2.0Y2.0", "G00X0Y0", "M15", "G01X10.0", "Y5.0", "X0", "Y0", "M17"]
    files = {"t.gtl": gerber(pads((2, 2), (8, 2))), "b.drl": drill(*routed)}

    board = read_board([write(tmp_path, files)])

    assert board.outline is not None
    assert board.outline.area.area == pytest.approx(50)
    assert board.outline.source == "b.drl"
    assert len(board.holes) == 1


def test_drill_wider_than_any_drill_is_a_cut_out(tmp_path: Path) -> None:
    files = {
        "t.gtl": gerber(pads((2, 2), (98, 2))),
        "b.gko": gerber(rectangle(0, 0, 100, 60)),
        "b.drl": drill("X50.0Y30.0", tools="T1C40.0"),
    }

    board = read_board([write(tmp_path, files)])

    assert board.holes == ()
    assert board.outline is not None
    assert board.outline.area.area == pytest.approx(6000 - 3.14159 * 400, rel=1e-3)


def test_hole_that_two_files_name_is_one_hole(tmp_path: Path) -> None:
    files = two_sided() | {"b-via.drl": drill("X2.0Y2.0", "X5.0Y2.0")}

    board = read_board([write(tmp_path, files)])

    assert len(board.holes) == 3
    assert any(note.text == "in another file too, read once: 1 hole" for note in board.notes)


def test_of_two_files_that_name_one_hole_either_may_tell_its_use(tmp_path: Path) -> None:
    via = drill("X2.0Y2.0")
    files = two_sided() | {"b-via.drl": f";Layer: PTH_Through_Via\n{via}"}

    board = read_board([write(tmp_path, files)])

    assert [hole.function for hole in board.holes] == ["ViaDrill", None]


# Gerber layer format: a drill file may be a Gerber file; flashes are holes, draws are slots.
@pytest.mark.parametrize(
    ("function", "plated"), [("Plated,1,2,PTH", True), ("NonPlated,1,2,NPTH", False)]
)
def test_drill_file_in_gerber_format(tmp_path: Path, function: str, plated: bool) -> None:
    drawn = gerber(
        pads((2, 2)), pads((5, 2), pen=12), chain((7, 2), (9, 2), pen=10), function=function
    )
    files = two_sided() | {"b.drl": drawn}

    board = read_board([write(tmp_path, files)])

    round_hole, oblong, slot = board.holes
    assert round_hole.path == ((2.0, 2.0),)
    assert round_hole.diameter == pytest.approx(1.0, abs=0.002)
    assert oblong.path == ((5.0, 1.5), (5.0, 2.5))
    assert oblong.diameter == pytest.approx(1.0)
    assert (slot.path, slot.diameter) == (((7.0, 2.0), (9.0, 2.0)), 1.0)
    assert {hole.plated for hole in board.holes} == {plated}


def test_drawing_of_holes_is_not_read_as_holes(tmp_path: Path) -> None:
    drawing = gerber(*(chain((x, 1), (x + 0.5, 2)) for x in range(8)))
    files = two_sided() | {"b-holes.gbr": drawing}

    board = read_board([write(tmp_path, files)])

    assert len(board.holes) == 2
    assert ("b-holes.gbr", "not used") in board.sources


@pytest.mark.parametrize("name", ["b-In1.gbr", "b.gp1"])
def test_negative_plane_leaves_copper_where_it_is_bare(tmp_path: Path, name: str) -> None:
    drawn = gerber(pads((2, 2)))
    if name.endswith("gbr"):
        drawn = "%TF.FileFunction,Copper,L2,Inr,Plane*%\n%TF.FilePolarity,Negative*%\n" + drawn
    files = two_sided() | {name: drawn}

    board = read_board([write(tmp_path, files)])

    assert board.sides == ("top", "inner 1", "bottom")
    (plane,) = board.copper[1].islands
    assert plane.area == pytest.approx(50 - 3.14159 / 4, abs=0.01)
    assert any("a negative layer" in note.text for note in board.notes)


def test_job_file_that_counts_more_layers(tmp_path: Path) -> None:
    job = '{"GeneralSpecs": {"LayerNumber": 4, "Size": {"X": 5, "Y": 10}}}'
    board = read_board([write(tmp_path, two_sided() | {"b.gbrjob": job})])

    assert board.unchecked[0].what == "2 copper layers"
    assert board.notes == ()  # the size agrees, turned by a quarter


def test_job_file_of_another_size_is_told(tmp_path: Path) -> None:
    job = '{"GeneralSpecs": {"LayerNumber": 2, "Size": {"X": 50, "Y": 80}}}'
    board = read_board([write(tmp_path, two_sided() | {"b.gbrjob": job})])

    assert "says the board is 50 x 80 mm, the edge is 10.00 x 5.00 mm" in board.notes[0].text


def test_plating_that_file_and_name_tell_apart(tmp_path: Path) -> None:
    files = two_sided() | {"b.drl": "", "b-NPTH.drl": ";TYPE=PLATED\n" + drill("X2.0Y2.0")}

    board = read_board([write(tmp_path, files)])

    assert board.holes[0].plated is True
    assert any("the file's word holds" in note.text for note in board.notes)


def test_two_reads_are_the_same(tmp_path: Path) -> None:
    folder = write(tmp_path, two_sided())

    first, second = read_board([folder]), read_board([folder])

    assert first.notes == second.notes
    assert first.holes == second.holes
    for one, other in zip(first.copper, second.copper, strict=True):
        assert [island.wkb for island in one.islands] == [island.wkb for island in other.islands]
        assert one.net.tolist() == other.net.tolist()


def test_layer_whose_file_holds_something_else_is_told(tmp_path: Path) -> None:
    folder = write(tmp_path, two_sided() | {"b-F_Mask.gbr": "garbage", "top notes.txt": "garbage"})

    board = read_board([folder])

    (left_out,) = board.unchecked
    assert left_out.what == "mask-top of b-F_Mask.gbr"
    assert left_out.why == "the file holds no layer or drill data"


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("b-F_Cu.gbr", "", r"b-F_Cu\.gbr: is empty; expected the top copper"),
        ("b-F_Cu.gbr", "garbage", r"b-F_Cu\.gbr: holds no layer or drill data; expected the top"),
        ("b.drl", "garbage", r"b\.drl: holds no layer or drill data; expected a drill file"),
    ],
)
def test_a_file_that_should_hold_copper_or_holes_is_not_passed_over(
    tmp_path: Path, name: str, text: str, message: str
) -> None:
    folder = write(tmp_path / "a", two_sided() | {name: text})
    gone = write(tmp_path / "b", {k: v for k, v in two_sided().items() if k != name})

    with pytest.raises(ReadError, match=f"^{message}.*export it.*--layer ignore=FILE"):
        read_board([folder])
    assert read_board([folder], {"ignore": name}).unchecked == read_board([gone]).unchecked


@pytest.mark.parametrize(
    ("name", "what"), [("b-F_Cu.gbr", "the top copper"), ("b.drl", "a drill file")]
)
def test_a_link_in_place_of_copper_or_holes_is_not_passed_over(
    tmp_path: Path, name: str, what: str
) -> None:
    folder = write(tmp_path / "board", two_sided())
    (folder / name).rename(tmp_path / name)
    (folder / name).symlink_to(tmp_path / name)

    with pytest.raises(ReadError, match=rf"{name}: a link; not followed; expected {what}; put the"):
        read_board([folder])


def test_a_link_beside_the_file_that_it_leads_to_is_left_alone(tmp_path: Path) -> None:
    folder = write(tmp_path, two_sided())
    (folder / "new-F_Cu.gbr").symlink_to("b-F_Cu.gbr")
    (folder / "new.drl").symlink_to("b.drl")

    board = read_board([folder])

    assert board.sides == ("top", "bottom")
    assert [left.what for left in board.unchecked] == ["new-F_Cu.gbr", "new.drl"]


def test_an_empty_drill_file_is_told(tmp_path: Path) -> None:
    files = two_sided() | {"b.drl": drill("X1.0Y1.0"), "b-NPTH.drl": ""}

    board = read_board([write(tmp_path, files)])

    assert [one.what for one in board.unchecked] == ["unplated-drill of b-NPTH.drl"]


def test_copper_that_may_be_cut_off_is_not_taken_for_all_of_it(tmp_path: Path) -> None:
    files = two_sided()
    files["b-F_Cu.gbr"] = files["b-F_Cu.gbr"].replace("M02*\n", "")

    (left_out,) = read_board([write(tmp_path, files)]).unchecked

    assert left_out.what == "the rest of b-F_Cu.gbr"
    assert left_out.why.startswith("no end of program (M02): the file may be cut off")


def test_holes_that_may_be_cut_off_are_not_taken_for_all_of_them(tmp_path: Path) -> None:
    files = two_sided() | {"b.drl": drill("X1.0Y1.0").replace("M30\n", "")}

    (left_out,) = read_board([write(tmp_path, files)]).unchecked

    assert left_out.what == "the rest of b.drl"
    assert left_out.why.startswith("no end of program (M30): the file may be cut off")


def test_statements_that_are_not_understood_may_draw_copper(tmp_path: Path) -> None:
    files = two_sided()
    files["b-F_Cu.gbr"] = files["b-F_Cu.gbr"].replace("M02*", "G99*\nhello world*\nM02*")

    (left_out,) = read_board([write(tmp_path, files)]).unchecked

    assert left_out.what == "the rest of b-F_Cu.gbr"
    assert left_out.why.startswith("2 statements not understood, the first in line ")


def test_traces_without_width_are_told(tmp_path: Path) -> None:
    files = two_sided()
    lines = "%ADD20C,0*%\nD20*\nX1000000Y1000000D02*\nX2000000Y1000000D01*\nX3000000D01*\nM02*"
    files["b-F_Cu.gbr"] = files["b-F_Cu.gbr"].replace("M02*", lines)

    (left_out,) = read_board([write(tmp_path, files)]).unchecked

    assert left_out.what == "the rest of b-F_Cu.gbr"
    assert left_out.why.startswith("traces or pads drawn with no width, the first in line 13: no")


def test_a_layer_that_is_not_there_is_counted(tmp_path: Path) -> None:
    files = two_sided() | {"b.gbrjob": '{"GeneralSpecs": {"LayerNumber": 3}}'}

    (left_out,) = read_board([write(tmp_path, files)]).unchecked

    assert left_out.what == "1 copper layer"
    assert left_out.why == "b.gbrjob counts 3 copper layers, 2 are there"


@pytest.mark.parametrize(("name", "kind"), [("b.gbrjob", "job file"), ("b.ipc", "netlist")])
@pytest.mark.parametrize("text", ["", "garbage", "[" * 9999])
def test_a_job_file_or_netlist_that_is_none_is_told(
    tmp_path: Path, name: str, kind: str, text: str
) -> None:
    board = read_board([write(tmp_path, two_sided() | {name: text})])

    assert [note.text for note in board.notes if note.source == name] == [
        f"holds no {kind}; not used"
    ]
