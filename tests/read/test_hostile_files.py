"""Files made to hurt: each ends in a board or in one clear line, soon and in little memory."""

from __future__ import annotations

import math
import struct
import zipfile
from random import Random
from typing import TYPE_CHECKING

import pytest

from checker.errors import ReadError
from checker.read import read_board
from checker.read.excellon import MOST_LINES, NumberFormat, parse_drill
from checker.read.gerber import parse_gerber
from checker.read.jobfile import parse_job
from checker.read.machine import drill_holes
from checker.read.netlist import parse_netlist
from checker.read.package import MAX_DIRECTORY, board_format, decode, open_package
from tests.read.limited import read_within_limits
from tests.read.made import at, chain, drill, gerber, pack, pads, rectangle, two_sided, write

if TYPE_CHECKING:
    from pathlib import Path

TOP = "b-F_Cu.gbr"
FLASH = "D10*X0Y0D03*"


def refusal(text: str) -> str:
    """Why a Gerber file is refused, when it is read or when its copper is made."""
    with pytest.raises(ReadError) as caught:
        parse_gerber(text, "a.gbr").islands()
    return str(caught.value)


def scattered(n: int) -> list[tuple[float, float]]:
    """Places all over a board of 100 by 80 mm."""
    random = Random(5)
    return [(random.uniform(0, 100), random.uniform(0, 80)) for _ in range(n)]


def board(folder: Path, files: dict[str, str] | None = None) -> Path:
    """A board of two pads on each side, with other files in place of some of it."""
    return write(folder, two_sided() | (files or {}))


def strokes(n: int) -> str:
    """Separate draws from one scattered place to the next but one."""
    places = scattered(2 * n)
    pairs = zip(places[:n], places[n:], strict=True)
    return "\n".join(["D11*", *(f"{at(*a)}D02*\n{at(*b)}D01*" for a, b in pairs)])


# Gerber


def test_blocks_opened_a_million_deep() -> None:
    text = gerber("".join(f"%ABD{20 + i}*%" for i in range(1_000_000 - 100)))

    assert "blocks nested too deep; expected at most 64 levels" in refusal(text)


def test_blocks_made_of_blocks_double_each_time() -> None:
    blocks = [f"%ABD{21 + i}*%D{20 + i}*X0Y0D03*X1Y0D03*%AB*%" for i in range(60)]

    assert "expand without bound" in refusal(gerber("%ABD20*%", FLASH, "%AB*%", *blocks))


@pytest.mark.parametrize("counts", ["X1000000000", "X1000000000Y1000000000", "X999999999999"])
def test_step_and_repeat_of_a_billion(counts: str) -> None:
    text = gerber(f"%SR{counts}I0J0*%", FLASH, "%SR*%")

    assert "repeats and blocks expand without bound" in refusal(text)


@pytest.mark.parametrize(
    ("macro", "reason"),
    [
        ("$1=9x9*" + "$1=$1x$1*" * 100 + "1,1,$1,0,0", "number overflow in a macro"),
        ("1,1,1/0,0,0", "division by zero in a macro"),
        ("1,1,1" + "x1" * 600_000 + ",0,0", "macros without bound"),
        ("1,1," + "(" * 100_000 + "1,0,0", "a complete expression"),
        ("1,1,1,0,0*" * 50_000, "macro expands without bound"),
        ("6,0,0,90,0.01,0.01,1000000,0.1,100,0", "macro expands without bound"),
        ("5,1,1e9,0,0,5,0", "a whole number from 3"),
        ("4,1,1e9,0,0,1,1,0", "one point more than corners"),
        ("1,1,1e300,0,0", "0 to 10000 mm"),
        ("1,1,1,1e300,0", "0 to 10000 mm"),
    ],
)
def test_macros_that_explode(macro: str, reason: str) -> None:
    assert reason in refusal(gerber(f"%AMM*{macro}*%", "%ADD20M*%", "D20*X0Y0D03*"))


def test_one_macro_used_without_end() -> None:
    macro = f"%AMM*1,1,1{'+0' * 1000},0,0*%"
    uses = [f"%ADD{20 + i}M*%D{20 + i}*X0Y0D03*" for i in range(3000)]

    assert "macros expand without bound" in refusal(gerber(macro, *uses))


@pytest.mark.parametrize("shape", ["C,10000000", "R,1X10000001", "O,1e99X1", "P,1e7X6", "C,-1"])
def test_aperture_of_ten_kilometres(shape: str) -> None:
    assert "expected 0 to 10000 mm" in refusal(gerber(f"%ADD20{shape}*%", "D20*X0Y0D03*"))


@pytest.mark.parametrize("shape", ["C,0", "R,0X0", "O,0X1", "P,0X6"])
def test_aperture_of_no_size_draws_nothing(shape: str) -> None:
    text = gerber(f"%ADD20{shape}*%", "D20*X0Y0D03*", "X1Y1D02*X5Y5D01*", FLASH)

    assert len(parse_gerber(text, "a.gbr").islands()[0]) == 1


@pytest.mark.parametrize("digits", ["1000000001", "9" * 19, "9" * 20, "9" * 5000])
def test_coordinate_beyond_a_billion(digits: str) -> None:
    text = gerber(f"D10*X{digits}000000Y0D03*")

    assert refusal(text).startswith("a.gbr:6: coordinate")


def test_very_many_draws_that_cross(tmp_path: Path) -> None:
    said = read_within_limits(board(tmp_path, {TOP: gerber(strokes(2000))}))

    assert said == f"{TOP}: objects that cross without bound; expected 80000 at most"


def test_draws_that_cross_as_often_as_may_be(tmp_path: Path) -> None:
    said = read_within_limits(board(tmp_path, {TOP: gerber(strokes(300))}))

    assert "islands" in said


@pytest.mark.parametrize("count", [60_000, pytest.param(300_000, marks=pytest.mark.long)])
def test_a_stroke_of_very_many_gentle_bends(tmp_path: Path, count: int) -> None:
    """Its outline has a few corners for each bend, not the arc of a round end."""
    share = [math.sqrt(n / count) for n in range(count)]
    spiral = [(50 + 35 * t * math.cos(630 * t), 40 + 35 * t * math.sin(630 * t)) for t in share]

    said = read_within_limits(board(tmp_path, {TOP: gerber(chain(*spiral))}))

    assert said.startswith("3 islands, 2 holes")


def test_very_many_regions_that_cross() -> None:
    slivers = [
        f"G36*{at(*a)}D02*{at(*b)}D01*{at(b[0] + 0.1, b[1])}D01*{at(*a)}D01*G37*"
        for a, b in zip(scattered(1600)[:800], scattered(1600)[800:], strict=True)
    ]

    assert "cross without bound" in refusal(gerber(*slivers))


def test_very_many_flashes_over_each_other() -> None:
    text = gerber("D10*", *(f"X{100 * i}Y0D03*" for i in range(10_000)))

    assert "overlap without bound" in refusal(text)


def test_very_many_clear_flashes_over_dark_ones() -> None:
    places = [(0.05 * (i % 60), 0.05 * (i // 60)) for i in range(900)]
    text = gerber(pads(*places), "%LPC*%", pads(*places))

    assert "clear objects over dark ones without bound" in refusal(text)


@pytest.mark.parametrize("count", [20_000, pytest.param(90_000, marks=pytest.mark.long)])
def test_very_many_tiny_flashes(tmp_path: Path, count: int) -> None:
    places = [(0.3 * (i % 300), 0.3 * (i // 300)) for i in range(count)]

    said = read_within_limits(board(tmp_path, {TOP: gerber(pads(*places, pen=11))}))

    assert said.startswith(f"{count + 2} islands")


def test_a_million_tiny_flashes(tmp_path: Path) -> None:
    text = gerber("D11*", "X1Y1D03*\n" * 1_000_000)

    said = read_within_limits(board(tmp_path, {TOP: text}))

    assert said.endswith("statements; expected at most 1000000")


@pytest.mark.parametrize("word", ["%", "G04", "X1Y1", "%TF.x"])
def test_a_megabyte_of_one_word_without_an_end(tmp_path: Path, word: str) -> None:
    text = gerber(word * (1_000_000 // len(word)))

    assert len(read_within_limits(board(tmp_path, {TOP: text}))) < 300


# Drill files


def test_a_million_holes(tmp_path: Path) -> None:
    text = drill(*["X1.0Y1.0"] * 1_000_000)

    said = read_within_limits(board(tmp_path, {"b.drl": text}))

    assert said == f"b.drl: 1000006 lines; expected at most {MOST_LINES}"


@pytest.mark.parametrize("count", [20_000, pytest.param(190_000, marks=pytest.mark.long)])
def test_very_many_holes(tmp_path: Path, count: int) -> None:
    lines = [f"X{0.3 * (i % 1000):.1f}Y{0.3 * (i // 1000):.1f}" for i in range(count)]

    said = read_within_limits(board(tmp_path, {"b.drl": drill(*lines)}))

    assert f"{count} holes" in said


@pytest.mark.parametrize("repeat", ["R999999999X0.01", "R" + "9" * 40 + "X1"])
def test_a_hole_repeated_without_end(repeat: str) -> None:
    with pytest.raises(ReadError, match="more than 200000 holes"):
        drill_holes(parse_drill(drill(repeat), "d"), NumberFormat(1.0, 3, 3))


def test_a_repeat_without_units_is_not_tried_out_in_full(tmp_path: Path) -> None:
    text = "M48\nT1C0.5\n%\nT1\n" + "R9999X01\n" * 2 + "M30\n"

    said = read_within_limits(board(tmp_path, {"b.drl": text}))

    assert "19998 holes" in said


@pytest.mark.parametrize("radius", ["A0.0001", "I0J0", "A9000.0", "I40000.0J0"])
def test_an_arc_of_any_radius_has_few_chords(radius: str) -> None:
    text = drill("G00X0.0Y0.0", "M15", f"G02X5.0Y5.0{radius}", "M16")

    (slot,) = drill_holes(parse_drill(text, "d"), NumberFormat(1.0, 3, 3))

    assert len(slot.path) <= 2_001


@pytest.mark.parametrize("radius", ["A1" + "0" * 30 + ".0", "I1" + "0" * 30 + ".0J0"])
def test_an_arc_beyond_numbers_is_refused_or_straight(radius: str) -> None:
    text = drill("G00X0.0Y0.0", "M15", f"G02X5.0Y5.0{radius}", "M16")

    with pytest.raises(ReadError, match="a hole of"):
        drill_holes(parse_drill(text, "d"), NumberFormat(1.0, 3, 3))


def test_a_routed_path_that_crosses_itself_without_end(tmp_path: Path) -> None:
    way = [f"G01X{x:.3f}Y{y:.3f}" for x, y in scattered(3000)]
    text = drill("G00X0.0Y0.0", "M15", *way, "G01X0.0Y0.0", "M16")

    said = read_within_limits(board(tmp_path, {"b.drl": text}))

    assert "a routed path that crosses itself without bound" in said


def test_very_many_routed_paths_that_cross_each_other(tmp_path: Path) -> None:
    places = [f"X{x:.3f}Y{y:.3f}" for x, y in scattered(4000)]
    ways = [f"G00{a}\nM15\nG01{b}\nM16" for a, b in zip(places[:2000], places[2000:], strict=True)]

    said = read_within_limits(board(tmp_path, {"b.drl": drill(*ways)}))

    assert "2000 holes" in said


def test_holes_that_stand_on_each_other_in_two_files(tmp_path: Path) -> None:
    text = drill(*["X2.0Y2.0"] * 3000)

    said = read_within_limits(board(tmp_path, {"b.drl": text, "c.drl": text}))

    assert said.endswith("holes that stand on each other without bound")


# The edge


def test_an_edge_of_very_many_lines_that_cross(tmp_path: Path) -> None:
    said = read_within_limits(
        board(tmp_path, {"b-Edge.gbr": gerber(strokes(1000), function="Profile,NP")})
    )

    assert "its lines cross more than 4000 times" in said


def test_an_edge_shorter_than_the_grid_is_none(tmp_path: Path) -> None:
    text = gerber("D11*X0Y0D02*X3Y0D01*", function="Profile,NP")

    found = read_board([board(tmp_path, {"b-Edge.gbr": text})])

    assert found.outline is None


# Netlists, job files


def test_a_netlist_of_a_million_lines(tmp_path: Path) -> None:
    text = "P  UNITS CUST 1\n" + "317A\n" * 1_000_000

    said = read_within_limits(board(tmp_path, {"n.ipc": text}))

    assert said.startswith("n.ipc: 1000001 lines; expected at most 200000")


@pytest.mark.parametrize("digits", ["9" * 30, "9" * 400, "9" * 5000])
def test_a_netlist_with_places_beyond_numbers(digits: str) -> None:
    line = f"317GND              U1    -1    D0800PA00X+{digits}Y-{digits}"

    netlist = parse_netlist(f"P  UNITS CUST 1\n{line}\n", "n")

    assert netlist.points == ()
    assert [note.text for note in netlist.notes] == ["record without a place; left out"]


@pytest.mark.parametrize(
    "text",
    [
        '{"GeneralSpecs": ' + "[" * 400_000 + "]" * 400_000 + "}",
        '{"a":' * 150_000 + "1" + "}" * 150_000,
        '{"GeneralSpecs": [' + "{}," * 2_000_000 + "{}]}",
    ],
)
def test_a_job_file_nested_without_end(text: str) -> None:
    assert "not read" in parse_job(text, "j").notes[0].text


# Formats and texts


@pytest.mark.parametrize(
    "text",
    ["\n" * 1_000_000 + "x", "%" + "\n" * 1_000_000, "%\n" * 500_000, "X1Y1\n" * 300_000,
     "T1C1 " + " " * 1_000_000 + "x", ";" * 1_000_000, "G04" * 300_000, "{" + " " * 1_000_000],
)  # fmt: skip
def test_telling_a_format_takes_no_longer_than_the_text(text: str) -> None:
    assert board_format(text) == ""


def test_layer_order_beyond_numbers_is_none(tmp_path: Path) -> None:
    text = gerber(f"G04 Layer_Physical_Order={'9' * 5000}*", FLASH, function="Copper,L1,Top")

    assert read_board([board(tmp_path, {TOP: text})]).copper[0].side == "top"


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n"])
def test_line_ends_of_other_systems(tmp_path: Path, ends: str) -> None:
    files = {name: text.replace("\n", ends) for name, text in two_sided().items()}

    found = read_board([write(tmp_path, files)])

    assert (len(found.copper), len(found.holes)) == (2, 2)


@pytest.mark.parametrize(
    "content",
    [b"\xff\xfe", b"\xff\xfea", b"\xfe\xff\xd8\x00", b"\xef\xbb\xbf", b"\x80\x81", b"\xc3"],
)
def test_broken_encodings_are_text_all_the_same(content: bytes) -> None:
    assert isinstance(decode(content), str)


# Archives


def test_bomb_is_not_unpacked_beyond_its_bound(tmp_path: Path) -> None:
    path = tmp_path / "b.zip"
    with (
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("top.gtl", "w", force_zip64=True) as stream,
    ):
        stream.write(gerber(FLASH).encode())
        for _ in range(64):
            stream.write(bytes(1 << 20))

    assert "packed suspiciously tight" in read_within_limits(path)


def test_list_of_files_beyond_all_bounds(tmp_path: Path) -> None:
    path = tmp_path / "b.zip"
    entry = b"PK\x01\x02" + bytes(42)
    count = MAX_DIRECTORY // len(entry) + 2
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, count * len(entry), 0, 0)
    path.write_bytes(entry * count + end)

    with pytest.raises(ReadError, match="its list of files takes more than 4 MB"):
        open_package([path])


def renamed(path: Path, old: bytes, new: bytes) -> Path:
    """The archive with a name of its members changed, in both places where it stands."""
    path.write_bytes(path.read_bytes().replace(old, new))
    return path


def test_name_that_is_no_text(tmp_path: Path) -> None:
    path = pack(tmp_path / "b.zip", {"\u00e4.gbr": gerber(FLASH)})

    with pytest.raises(ReadError, match="the archive is damaged"):
        open_package([renamed(path, "\u00e4".encode(), b"\x80\x80")])


def test_name_of_nothing_is_passed_over(tmp_path: Path) -> None:
    path = pack(tmp_path / "b.zip", {"x": "", **two_sided()})
    with zipfile.ZipFile(path, "a") as archive:
        info = zipfile.ZipInfo("y")
        info.filename = ""
        archive.writestr(info, "")

    assert {file.name for file in open_package([path]).files} == {"x", *two_sided()}


def test_names_that_differ_in_capitals_alone_are_two_files(tmp_path: Path) -> None:
    path = pack(tmp_path / "b.zip", {"TOP.GTL": gerber(FLASH), "top.gtl": gerber(pads((1, 1)))})

    with pytest.raises(ReadError, match="looks like the top copper too"):
        read_board([path])


# All of it


def test_reading_writes_nothing(tmp_path: Path) -> None:
    path = pack(tmp_path / "b.zip", {"../out.gbr": gerber(FLASH), **two_sided()})
    before = sorted(tmp_path.parent.rglob("*"))

    read_board([path])

    assert sorted(tmp_path.parent.rglob("*")) == before


def test_rectangle_is_the_edge_of_the_board_used_here(tmp_path: Path) -> None:
    files = {"b-Edge.gbr": gerber(rectangle(0, 0, 10, 5), function="Profile,NP")}

    assert read_within_limits(board(tmp_path, files)) == "4 islands, 2 holes, 0 pins"
