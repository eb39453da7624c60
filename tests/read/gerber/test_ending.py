"""What the reader tells of a file's end: how fine its coordinates are, and why nothing may follow.

Digits and units are those of the Gerber layer format, 4.2.1 and 4.2.2; an inch is 25.4 mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from checker.board import FileEnd
from checker.read import read_package
from checker.read.gerber import parse_gerber
from checker.read.package import Package, SourceFile, decode, is_wide, open_package
from tests.read.made import gerber, pads

if TYPE_CHECKING:
    from pathlib import Path

MOVED = "statements withdrawn from the format move or scale its whole image"
MARK = "G04 Relief by cutworthy for a cut of {} mm*\n"


def drawn(format: str, unit: str, *, before: str = "", after: str = "") -> str:
    """A file that flashes one pad, in a number format and a unit."""
    head = f"%FS{format}*%\n%MO{unit}*%\n"
    return f"{head}{before}%ADD10C,0.1*%\nD10*\nX1Y1D03*\n{after}M02*\n"


def end(text: str) -> FileEnd:
    return parse_gerber(text, "top.gbr").end


@pytest.mark.parametrize(
    ("format", "unit", "step"),
    [
        ("LAX23Y23", "MM", 1e-3),
        ("LAX33Y33", "MM", 1e-3),
        ("LAX42Y42", "MM", 1e-2),
        ("LAX34Y34", "MM", 1e-4),
        ("LAX46Y46", "MM", 1e-6),
        ("LAX23Y23", "IN", 25.4e-3),
        ("LAX24Y24", "IN", 2.54e-3),
        ("TAX24Y24", "IN", 2.54e-3),
        ("LAX26Y26", "IN", 25.4e-6),
        ("LAX46Y46", "IN", 25.4e-6),
        ("LAX24Y23", "IN", 25.4e-3),
        ("LAX23Y24", "IN", 25.4e-3),
    ],
)
def test_the_last_digit_is_as_many_millimetres(format: str, unit: str, step: float) -> None:
    assert end(drawn(format, unit)).step == pytest.approx(step, rel=1e-12)


def test_the_unit_may_be_stated_by_a_code() -> None:
    text = drawn("LAX24Y24", "IN").replace("%MOIN*%", "G70*")

    assert end(text).step == pytest.approx(2.54e-3, rel=1e-12)


def test_a_file_of_nothing_but_comments_has_no_step() -> None:
    found = end("G04 nothing*\n%TF.Part,Single*%\nM02*\n")

    assert found == FileEnd(0.0, 0.0, "it states no unit or number format")


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("", "", ""),
        ("%SRX2Y1I5J0*%\n", "", ""),
        ("", "%TF.MD5,6ab9e892830469cdff7e3e346331d404*%\n", "it ends with a checksum of itself"),
        ("", "G04 #@! TF.MD5,6ab9e892830469cd*\n", "it ends with a checksum of itself"),
        ("", "G36*\nX0Y0D02*\nX9Y0D01*\nX9Y9D01*\nX0Y0D01*\n", "it ends inside a region"),
        ("", "%ABD12*%\n", "it ends inside an aperture block"),
        ("%OFA1.0B0*%\n", "", MOVED),
        ("%SFA2.0B2.0*%\n", "", MOVED),
    ],
)  # fmt: skip
def test_an_end_is_closed_with_its_reason(before: str, after: str, why: str) -> None:
    assert end(drawn("LAX46Y46", "MM", before=before, after=after)).closed == why


def test_an_end_tells_the_widest_cut_of_its_marks() -> None:
    marks = MARK.format("0.181") + MARK.format("0.253") + MARK.format("0.200")

    assert end(drawn("LAX46Y46", "MM", after=marks)).relieved == 0.253


def test_a_mark_without_its_width_says_nothing() -> None:
    assert end(drawn("LAX46Y46", "MM", after=MARK.format("some"))).relieved == 0.0


def test_a_layer_has_the_end_of_its_file() -> None:
    texts = {
        "bottom.gbr": drawn("LAX24Y24", "IN", before="%TF.FileFunction,Copper,L2,Bot*%\n"),
        "top.gbr": drawn(
            "LAX46Y46",
            "MM",
            before="%TF.FileFunction,Copper,L1,Top*%\n",
            after=MARK.format("0.220"),
        ),
    }
    files = tuple(SourceFile(name, "gerber", text) for name, text in texts.items())

    top, bottom = read_package(Package("board", files, ()), {}).copper

    assert [la.end.step for la in (top, bottom)] == pytest.approx([1e-6, 2.54e-3])
    assert [la.end.relieved for la in (top, bottom)] == [0.22, 0.0]


def test_a_file_of_wide_letters_is_closed(tmp_path: Path) -> None:
    text = gerber(pads((0, 0), (5, 0)), function="Copper,L1,Top")
    (tmp_path / "top.gbr").write_bytes(text.encode("utf-16"))

    board = read_package(open_package([tmp_path]), {})

    assert board.copper[0].end.closed == "it is written in letters of two bytes"


@pytest.mark.parametrize("code", ["utf-16", "utf-8", "utf-8-sig", "latin-1"])
def test_letters_are_wide_in_one_encoding_only(code: str) -> None:
    content = "G04 no*".encode(code)

    assert is_wide(content) is (code == "utf-16")
    assert decode(content) == "G04 no*"
