"""Files of another scale than the others, and boards of odd sizes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Outline
from checker.findings import Observation, State
from checker.measure import Facts, Reach
from checker.read import read_board
from tests.handmade import PLAIN, Copper, layer, rule, square
from tests.read.made import chain, drill, gerber, pads, rectangle, write

if TYPE_CHECKING:
    from collections.abc import Sequence

NAME = "misread-size"
SAMPLES = Path(__file__).parents[2] / "samples" / "rules" / NAME
MM_PER_INCH = 25.4  # exact, by definition of the inch
LEADS = ((3.0, 2.0), (5.54, 2.0), (9.0, 14.0), (19.16, 14.0), (12.0, 5.5), (22.0, 3.0), (4.0, 11.0))


def board(
    pad: float = 1.8, drilled: float = 0.8, scale: float = 1.0, of_holes: float = 1.0
) -> Board:
    """Pads and holes, all scaled, and the holes once more."""
    copper = [(Copper(), square(x * scale, y * scale, pad * scale)) for x, y in LEADS]
    k = scale * of_holes
    holes = tuple(Hole(((x * k, y * k),), drilled * scale, None, None, "d", 1) for x, y in LEADS)
    return Board("b", (), (layer("bottom", copper),), holes)


def told(given: Board) -> list[Observation]:
    found = rule(NAME).check(Facts(given, Reach(), (), ()), PLAIN)
    return [one for one in found if isinstance(one, Observation)]


def test_files_of_one_scale_say_nothing() -> None:
    assert told(board()) == []


@pytest.mark.parametrize(
    ("of_holes", "by"),
    [(1 / MM_PER_INCH, "25.4"), (MM_PER_INCH, "0.03937"), (0.1, "10"), (10, "0.1")],
)
def test_holes_of_another_scale_are_told_with_the_factor(of_holes: float, by: str) -> None:
    (one,) = told(board(of_holes=of_holes))

    assert one.message.endswith(f"7 would if the holes were scaled by {by}")
    assert one.remedy == (
        f"Scale the bottom or the holes by {by}, or export it again with its unit stated"
    )
    assert one.state is State.NOT_MAKEABLE


@pytest.mark.parametrize(("factor", "by"), [(1 / MM_PER_INCH, "25.4"), (0.1, "10"), (0.099, "10")])
def test_an_edge_too_small_for_the_copper(factor: float, by: str) -> None:
    area = shapely.multipolygons([shapely.box(0, 0, 25 * factor, 16 * factor)])

    (one,) = told(replace(board(), stray_outline=Outline(area, "p", "by hand")))

    assert one.message.startswith(f"Edge of {25 * factor:.4g} x {16 * factor:.4g} mm, where one of")
    assert one.remedy.startswith(f"Scale the edge by {by}")


@pytest.mark.parametrize(
    ("scale", "by"),
    [(1 / MM_PER_INCH, "25.4"), (MM_PER_INCH, "0.03937"), (0.04, "25.4"), (20, "0.03937")],
)
def test_a_whole_board_of_odd_sizes_is_told_with_the_factor_that_mends_it(
    scale: float, by: str
) -> None:
    (one,) = told(board(scale=scale))

    assert one.message.endswith(f"usual after scaling by {by}")
    assert one.state is State.NOT_MAKEABLE


def test_one_odd_size_alone_is_a_remark() -> None:
    # A board of 305 x 195 mm with common holes, whose pads are as wide as coins.
    (one,) = told(board(pad=4, drilled=1.5, scale=305 / (22 - 3 + 4)))

    assert "board of" not in one.message
    assert one.message.startswith("Board of")


def test_a_large_board_with_common_lines_and_holes_is_no_misread_one() -> None:
    copper = [(Copper(), square(18 * x, 18 * y, 1.8)) for x, y in LEADS]
    holes = tuple(Hole(((18 * x, 18 * y),), 0.8, None, None, "d", 1) for x, y in LEADS)
    area = shapely.multipolygons([shapely.box(0, 0, 420, 310)])
    large = Board("b", (), (layer("bottom", copper),), holes, Outline(area, "p", "by hand"))

    assert told(large) == []


@pytest.mark.parametrize("width", [0.06, 0.1, 4.9])
def test_fine_and_wide_lines_alone_say_nothing(width: float) -> None:
    assert told(board(pad=width)) == []


# What the reader makes of number formats that do not fit, told by the rule or by the reader.

WRONG_FORMATS = {
    "inch said, mm meant": ("%MOMM*%", "%MOIN*%"),
    "five decimals said, six meant": ("%FSLAX46Y46*%", "%FSLAX45Y45*%"),
}


def package(bottom: str, drilled: str) -> dict[str, str]:
    edge = gerber(rectangle(0, 0, 25, 16), function="Profile,NP")
    return {"b-B_Cu.gbr": bottom, "b.drl": drilled, "b-Edge.gbr": edge}


def leads() -> Sequence[str]:
    return [f"X{x}Y{y}" for x, y in LEADS]


COPPER = gerber(pads(*LEADS), chain((3, 2), (9, 14)), function="Copper,L1,Bot")


def test_files_as_they_should_be(tmp_path: Path) -> None:
    assert told(read_board([write(tmp_path, package(COPPER, drill(*leads())))])) == []


@pytest.mark.parametrize("fault", WRONG_FORMATS)
def test_copper_in_a_wrong_format(tmp_path: Path, fault: str) -> None:
    bottom = COPPER.replace(*WRONG_FORMATS[fault])

    found = told(read_board([write(tmp_path, package(bottom, drill(*leads())))]))

    assert any("7 would if the holes were scaled by" in one.message for one in found)


@pytest.mark.parametrize(
    ("head", "by"), [("INCH,TZ", "0.03937"), ("METRIC,TZ,000.00", "")], ids=["inch", "decimals"]
)
def test_a_drill_header_counts_only_for_what_has_no_decimal_point(
    tmp_path: Path, head: str, by: str
) -> None:
    found = told(read_board([write(tmp_path, package(COPPER, drill(*leads(), head=head)))]))

    assert [one.message.rpartition(" by ")[2] for one in found] == ([by] if by else [])


def test_whole_numbers_of_a_wrong_format_are_read_as_the_header_says_and_told(
    tmp_path: Path,
) -> None:
    whole = [f"X{round(1000 * x):06}Y{round(1000 * y):06}" for x, y in LEADS]
    files = package(COPPER, drill(*whole, head="METRIC,TZ,0000.00"))

    given = read_board([write(tmp_path, files)])
    (one,) = told(given)

    assert one.message.endswith("scaled by 0.1")
    assert any("as its header says" in note.text for note in given.notes)


def test_whole_numbers_of_an_unstated_format_are_read_as_they_fit(tmp_path: Path) -> None:
    whole = [f"X{round(10000 * x / 25.4):06}Y{round(10000 * y / 25.4):06}" for x, y in LEADS]

    given = read_board([write(tmp_path, package(COPPER, drill(*whole, head="VER,1")))])

    assert told(given) == []
    assert any("number format not stated: read as inch" in note.text for note in given.notes)


def test_the_sample_has_an_edge_ten_times_too_large() -> None:
    (one,) = told(read_board([SAMPLES / "bad"]))

    assert one.message == "Edge of 600 x 240 mm, where one of 60 x 24 mm fits the copper"
    assert one.remedy.startswith("Scale the edge by 0.1,")
