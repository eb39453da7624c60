from __future__ import annotations

import re
from xml.etree import ElementTree

from msgspec.structs import replace

from checker.report.svg import svg_picture
from tests.report.judging import SCRIPT, evil_board, judge, sample

NS = {"svg": "http://www.w3.org/2000/svg"}


def root(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)


def words_of(text: str) -> list[str]:
    return ["".join(one.itertext()) for one in root(text).iterfind(".//svg:text", NS)]


def picture(name: str, profile: str = "cone-30-0.1") -> str:
    judged = sample(name, profile)
    return svg_picture(judged.report, judged.measured)


def test_both_sides_stand_beside_each_other_and_say_from_where_they_are_seen() -> None:
    said = words_of(picture("boards/tide-logger"))

    assert said[:1] == ["top, as seen from above"]
    assert "bottom, as seen from below" in said


def test_the_bottom_is_mirrored() -> None:
    text = picture("boards/tide-logger")

    turned = re.findall(r"scale\((-?1) 1\)", text)
    assert turned == ["1", "-1"]


def test_verdict_and_causes_are_written_below() -> None:
    judged = sample("boards/tide-logger")

    said = words_of(svg_picture(judged.report, judged.measured))

    assert "Not makeable: tide-logger with cone-30-0.1" in said
    first = judged.report.causes[0].cause
    assert any(first[1:] in line for line in said)


def test_each_cause_with_a_place_has_its_number_on_the_board() -> None:
    judged = sample("boards/tide-logger")

    said = words_of(svg_picture(judged.report, judged.measured))

    for number, cause in enumerate(judged.report.causes, 1):
        seen = cause.findings[0].seen
        if seen.side is not None and seen.x is not None:
            assert str(number) in said


def test_places_without_a_mark_are_counted() -> None:
    judged = sample("boards/hive-scale", "flat-0.8")
    report = judged.report
    (cause, *_) = report.causes
    inner = replace(cause.findings[1], seen=replace(cause.findings[1].seen, side="inner 1"))
    many = replace(cause, findings=(cause.findings[0], *[cause.findings[1]] * 405, inner))

    told = words_of(svg_picture(replace(report, causes=(many,)), judged.measured))
    few = replace(cause, findings=cause.findings[:3])
    whole = words_of(svg_picture(replace(report, causes=(few,)), judged.measured))

    assert "6 places not marked above" in told
    assert not any("not marked" in line for line in whole)


def test_every_island_is_a_path_of_its_own() -> None:
    judged = sample("boards/tide-logger")

    found = root(svg_picture(judged.report, judged.measured))

    copper = [group for group in found.iterfind(".//svg:g", NS) if group.get("fill") == "#cf8f5b"]
    assert [len(group) for group in copper] == [
        len(layer.islands) for layer in judged.measured.board.copper
    ]


def test_names_stay_text(tmp_path: object) -> None:
    from pathlib import Path

    judged = judge(evil_board(Path(str(tmp_path))))

    text = svg_picture(judged.report, judged.measured)

    assert not root(text).findall(".//svg:script", NS)
    assert SCRIPT not in text


def test_same_board_gives_the_same_bytes() -> None:
    assert picture("boards/hive-scale") == picture("boards/hive-scale")
