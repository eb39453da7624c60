"""Whatever the format, the findings are the same, and no name in them does harm."""

from __future__ import annotations

import base64
import json
import re
import zlib
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from checker.findings import Report
from checker.options import FORMATS, SEVERITIES
from checker.report.documents import Run, document
from checker.report.judged import Judged
from tests.report import made
from tests.report.judging import EVIL, SCRIPT, evil_board, judge, sample

# An id as the engine stamps it: ten hexadecimal digits, numbered where two would be one.
ID = r"[0-9a-f]{10}(?:-\d+)?"
SCENES = [
    ("boards/hive-scale", "flat-0.8"),  # hundreds of findings of every severity
    ("rules/excess-layers/bad", "cone-30-0.1"),  # one of the whole board
    ("rules/uncuttable-gap/good", "cone-30-0.1"),  # none
]


def text_of(judged: Judged, form: str) -> str:
    answer = document(Run((judged,), SEVERITIES[:1], 1, 0.5, every=True), form, None)
    assert isinstance(answer, str)
    return answer


def in_json(text: str) -> list[str]:
    return [found["id"] for found in json.loads(text)["findings"]]


def in_sarif(text: str) -> list[str]:
    return [
        found["partialFingerprints"]["findingId/v1"]
        for found in json.loads(text)["runs"][0]["results"]
    ]


def in_junit(text: str) -> list[str]:
    cases = ET.fromstring(text).iterfind(".//testcase/*")
    return [one for case in cases for one in re.findall(rf"\[({ID})\]\n", case.text or "")]


def in_concise(text: str) -> list[str]:
    return re.findall(rf" \(({ID})\)$", text, re.MULTILINE)


def in_github(text: str) -> list[str]:
    return re.findall(rf"^::\w+ file=.*,title=[a-z-]+ \(({ID})\)::", text, re.MULTILINE)


def in_gerber(text: str) -> list[str]:
    return re.findall(rf"^%TOCutworthyId,({ID})\*%$", text, re.MULTILINE)


def in_html(text: str) -> list[str]:
    """Those that the page's script shows; those written out are some of them, or all."""
    written = re.findall(rf'<li id="f0-({ID})">', text)
    (packed,) = re.findall(r'<script type="text/plain" id="data-0">(.*?)</script>', text)
    told: list[str] = json.loads(zlib.decompress(base64.b64decode(packed)))["findings"]["id"]
    assert set(written) <= set(told)
    return told


READERS: dict[str, Callable[[str], list[str]]] = {
    "json": in_json,
    "sarif": in_sarif,
    "junit": in_junit,
    "concise": in_concise,
    "github": in_github,
    "gerber": in_gerber,
    "html": in_html,
}


@pytest.mark.parametrize("form", READERS)
@pytest.mark.parametrize(
    "scene",
    [
        ("boards/coop-door", "flat-0.8"),  # some of every severity
        # hundreds
        pytest.param(("boards/hive-scale", "flat-0.8"), marks=pytest.mark.long),
        *SCENES[1:],
    ],
    ids=lambda scene: scene[0],
)
def test_every_finding_is_in_every_format_once(scene: tuple[str, str], form: str) -> None:
    judged = sample(*scene)

    told = READERS[form](text_of(judged, form))

    assert sorted(told) == sorted(found.id for found in judged.report.findings)


class Elements(HTMLParser):
    """Every element and attribute, and the text outside of scripts and styles."""

    def __init__(self) -> None:
        super().__init__()
        self.scripts, self.text, self.names = 0, "", set[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.scripts += tag == "script"
        self.names |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.text += data


def elements(markup: str) -> Elements:
    parser = Elements()
    parser.feed(markup)
    parser.close()
    return parser


@pytest.mark.parametrize("form", ["html", "svg"])
def test_a_name_adds_no_element_and_no_handler_to_a_page(form: str, tmp_path: Path) -> None:
    usual = elements(text_of(sample("rules/uncuttable-gap/bad"), form))

    hostile = elements(text_of(judge(evil_board(tmp_path)), form))

    assert hostile.scripts == usual.scripts
    assert hostile.names == usual.names
    assert not any(name.startswith("on") for name in hostile.names)


def test_a_name_is_text_on_the_page(tmp_path: Path) -> None:
    assert SCRIPT in elements(text_of(judge(evil_board(tmp_path)), "html")).text


@pytest.mark.parametrize("form", [form for form in FORMATS if form != "png"])
def test_no_control_character_gets_into_any_format(form: str) -> None:
    harm = f"{made.EVIL}{EVIL}\x00\r\x9b\u2028"
    board = made.board(harm, (harm, None))
    found = made.finding(1, message=f"Gap 0.1 mm at {harm}", nets=(harm,), remedy=harm, cause=harm)
    report: Report = made.report(board, (found,))

    text = text_of(Judged(report, made.facts(board), (Path("bo\x1b\nard"),)), form)

    odd = {letter for letter in text if not letter.isprintable()} - {"\n", "\u2003"}  # a wide space
    assert odd == set()
