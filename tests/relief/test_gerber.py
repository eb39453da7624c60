"""Strokes at the end of a Gerber file: the rest word for word, in its own unit and format."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from checker.read.gerber import flatten, parse_gerber
from checker.relief.gerber import AppendError, appended, ending_of
from checker.relief.model import Channel
from tests.oracles.other_reader import image

CHANNEL = Channel(0, np.array([[1.0, -1.0], [1.0, 3.0]]), 0.25, 0, 1)
AREA = 4.0 - 2 * 0.25  # a square of 2 mm less a stroke through it
SQUARE = "{fs}%\n{mo}%\n%ADD10R,{size}X{size}*%\nD10*\nX{at}Y{at}D03*\n"
FORMATS = {
    "millimetres": SQUARE.format(fs="%FSLAX46Y46*", mo="%MOMM*", size="2.0", at="1000000"),
    "inches": SQUARE.format(fs="%FSLAX26Y26*", mo="%MOIN*", size="0.0787401575", at="00039370"),
    "trailing zeros left out": SQUARE.format(fs="%FSTAX46Y46*", mo="%MOMM*", size="2.0", at="0001"),
    "turned apertures": SQUARE.format(
        fs="%FSLAX46Y46*", mo="%MOMM*%\n%LR90*%\n%LS1.0*", size="2.0", at="1000000"
    ),
    "attributes": SQUARE.format(
        fs="%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*",
        mo="%MOMM*%\n%TO.N,A*",
        size="2.0",
        at="1000000",
    ),
    "an open repeat": SQUARE.format(
        fs="%FSLAX46Y46*", mo="%MOMM*%\n%SRX1Y2I0J10*", size="2.0", at="1000000"
    ),
}


def with_stroke(text: str) -> str:
    content = text.encode()
    return appended(content, ending_of(content, text), [CHANNEL], 0.25).decode()


def copper(text: str) -> float:
    islands, _ = flatten(parse_gerber(text, "a.gbr").objects)
    return float(shapely.area(islands).sum())


@pytest.mark.parametrize("name", FORMATS)
def test_a_stroke_takes_its_width_off_whatever_the_format(name: str) -> None:
    before = FORMATS[name] + "M02*\n"

    after = with_stroke(before)

    assert copper(before) - copper(after) == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize("name", ["millimetres", "inches", "attributes"])
def test_another_reader_finds_the_same_copper(name: str) -> None:
    after = with_stroke(FORMATS[name] + "M02*\n")

    assert image(after).area == pytest.approx(copper(after), rel=1e-4)
    assert image(after).area == pytest.approx(AREA, abs=1e-3)


@pytest.mark.parametrize("name", FORMATS)
def test_what_was_in_the_file_is_in_it_still(name: str) -> None:
    before = FORMATS[name] + "M02*\n"

    after = with_stroke(before)

    assert after.startswith(FORMATS[name])
    assert after.endswith("M02*\n")


def test_a_file_without_an_end_gets_one() -> None:
    after = with_stroke(FORMATS["millimetres"])

    assert after.endswith("M02*\n")
    assert copper(after) == pytest.approx(AREA, abs=1e-3)


def test_a_file_tells_the_widest_cut_it_was_relieved_for() -> None:
    never = FORMATS["inches"] + "M02*\n"
    once = with_stroke(never)
    twice = appended(once.encode(), ending_of(once.encode(), once), [CHANNEL], 0.2).decode()

    ends = [parse_gerber(text, "a.gbr").end for text in (never, once, twice)]

    assert [end.relieved for end in ends] == [0.0, 0.25, 0.25]


def test_lines_end_as_those_of_the_file() -> None:
    content = (FORMATS["millimetres"] + "M02*\n").replace("\n", "\r\n").encode()
    text = content.decode().replace("\r\n", "\n")

    after = appended(content, ending_of(content, text), [CHANNEL], 0.25)

    assert after.count(b"\n") == after.count(b"\r\n")


def test_nets_of_the_file_are_those_it_had() -> None:
    text = FORMATS["attributes"] + "M02*\n"

    objects = parse_gerber(with_stroke(text), "a.gbr").objects

    assert objects.name(objects.net, 0) == "A"
    assert objects.net[1] == -1
    assert not objects.dark[1]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("%FSLAX46Y46*%\n%MOMM*%\n%OFA1.0B0*%\nM02*\n", "withdrawn"),
        ("%FSLAX46Y46*%\n%MOMM*%\n%TF.MD5,00*%\nM02*\n", "checksum"),
        ("%FSLAX46Y46*%\n%MOMM*%\n%ABD12*%\nM02*\n", "aperture block"),
        ("%MOMM*%\nM02*\n", "number format"),
        ("%FSLAX23Y23*%\n%MOIN*%\nM02*\n", "steps of 0.0254 mm, too coarse"),
        ("%FSLAX42Y42*%\n%MOMM*%\nM02*\n", "steps of 0.01 mm, too coarse"),
    ],
)
def test_an_end_that_takes_no_stroke_is_refused_with_its_reason(text: str, why: str) -> None:
    with pytest.raises(AppendError, match=why):
        ending_of(text.encode(), text)


def test_four_decimals_of_an_inch_are_fine_enough() -> None:
    text = "%FSLAX24Y24*%\n%MOIN*%\nM02*\n"

    assert ending_of(text.encode(), text).digits == ((2, 4), (2, 4))
