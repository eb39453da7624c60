from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import gerbonara
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.findings import Finding, State
from checker.read.gerber import GerberFile, parse_gerber
from checker.report.gerber import gerber
from tests.report import made
from tests.report.judging import EVIL, SAMPLES, evil_board, judge, sample

UM = 0.001
SCENES = [
    ("rules/uncuttable-gap/bad", "cone-30-0.1"),
    ("boards/coop-door", "flat-0.8"),
    ("boards/hive-scale", "flat-0.4"),
]
places = pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene[0])
mm = st.floats(-999, 999)


def ours(text: str) -> GerberFile:
    return parse_gerber(text, "findings.gbr")


def theirs(text: str) -> list[Any]:
    return list(gerbonara.GerberFile.from_string(text).objects)


def place(found: Finding) -> tuple[float, float]:
    assert found.seen.x is not None
    assert found.seen.y is not None
    return found.seen.x, found.seen.y


def flashes(text: str) -> dict[str, tuple[float, float]]:
    """Finding id -> place of its mark, as the other reader has them."""
    return {
        one.attrs["CutworthyId"][0]: (one.x, one.y)
        for one in theirs(text)
        if isinstance(one, gerbonara.graphic_objects.Flash)
    }


def lines(text: str) -> list[Any]:
    return [one for one in theirs(text) if isinstance(one, gerbonara.graphic_objects.Line)]


@places
def test_our_own_reader_finds_nothing_odd(scene: tuple[str, str]) -> None:
    read = ours(gerber(sample(*scene).report))

    assert read.notes == ()
    assert read.attributes["FileFunction"] == ("Other", "Findings")
    assert read.attributes["FilePolarity"] == ("Positive",)
    assert read.unit == "mm"


@places
def test_another_reader_has_every_mark_within_1_um_of_its_place(scene: tuple[str, str]) -> None:
    found = sample(*scene).report.findings

    marks = flashes(gerber(sample(*scene).report))

    assert list(marks) == [one.id for one in found]
    assert [one.id for one in found if np.hypot(*np.subtract(marks[one.id], place(one))) > UM] == []


@places
def test_our_own_reader_has_them_there_too(scene: tuple[str, str]) -> None:
    found = sample(*scene).report.findings
    objects = ours(gerber(sample(*scene).report)).objects

    flashed = [one for one in objects.spine if isinstance(one, shapely.Point)]

    assert np.abs(shapely.get_coordinates(flashed) - [place(one) for one in found]).max() < UM


@given(x=mm, y=mm)
def test_any_place_is_met(x: float, y: float) -> None:
    text = gerber(made.report(made.board(), (made.finding(1, x=x, y=y),)))

    assert flashes(text)["uncuttable-gap-1"] == pytest.approx((x, y), abs=UM)


@pytest.mark.parametrize(
    ("state", "corners"),
    [(State.NOT_MAKEABLE, 4), (State.MARGINAL, 3), (State.REMARK, 8)],
    ids=lambda value: str(value),
)
def test_shape_of_a_frame_tells_the_state(state: State, corners: int) -> None:
    text = gerber(made.report(made.board(), (made.finding(1, state=state),)))

    middle = np.array([1.125, 0.5])
    ends = {(round(one.x1, 4), round(one.y1, 4)) for one in lines(text)}
    near = [end for end in ends if np.hypot(*(np.array(end) - middle)) < 0.8]
    assert len(near) == corners


def test_number_is_that_of_the_cause_in_the_text() -> None:
    report = sample("boards/coop-door", "flat-0.8").report
    third = report.causes[2].findings[0]

    digit = [
        one
        for one in lines(gerber(report))
        if one.attrs["CutworthyId"][0] == third.id and min(one.x1, one.x2) > place(third)[0] + 0.65
    ]

    # The five strokes of a 3: all but the two on the left.
    ends = {(one.x1, one.y1, one.x2, one.y2) for one in digit}
    left = min(x for x, *_ in ends)
    assert len(ends) == 5
    assert [end for end in ends if end[0] == end[2] == left] == []


def test_what_concerns_the_whole_board_stands_below_it() -> None:
    nowhere = made.finding(1, x=None, y=None, side=None)
    other = replace(nowhere, id="other")

    marks = flashes(gerber(made.report(made.board(), (nowhere, other))))

    (first, second) = marks.values()
    assert first[1] == second[1] < 0.0
    assert second[0] > first[0]


def test_attributes_tell_the_finding() -> None:
    found: Finding = sample("rules/uncuttable-gap/bad").report.findings[0]

    told = theirs(gerber(sample("rules/uncuttable-gap/bad").report))[0].attrs

    assert told["CutworthyRule"] == ("uncuttable-gap",)
    assert told["CutworthySide"] == ("bottom",)
    assert (told["CutworthySeverity"], told["CutworthyState"]) == (("error",), ("not-makeable",))
    assert plain(told["CutworthyMessage"][0]) == found.seen.message


def plain(field: str) -> str:
    """A field with its codes read, 3.4.3 of the format."""
    return re.sub(r"\\u([0-9A-F]{4})", lambda code: chr(int(code[1], 16)), field)


def test_names_that_try_to_do_harm_end_no_attribute(tmp_path: Path) -> None:
    judged = judge(evil_board(tmp_path))

    text = gerber(judged.report)

    told = theirs(text)[0].attrs["CutworthyMessage"][0]
    assert len(flashes(text)) == len(judged.report.findings)
    assert EVIL in plain(told)
    assert text.isascii()
    assert ours(text).notes == ()


def test_a_layer_of_findings_beside_the_board_changes_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "bad"
    folder.mkdir()
    source = SAMPLES / "rules" / "uncuttable-gap" / "bad"
    for path in source.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    alone = judge(folder).report
    (folder / "findings-bottom-copper.gbr").write_text(gerber(alone))

    again = judge(folder).report

    assert dict(again.board.sources)["findings-bottom-copper.gbr"] == "not used"
    assert again.findings == alone.findings
