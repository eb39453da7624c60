from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from checker.engine import check, reach_for
from checker.findings import Report
from checker.measure import Facts, measure
from checker.process import load_profile
from checker.read import read_board
from checker.report.html import html_page
from checker.report.html.columns import unpacked
from checker.report.json import reports_document
from tests.examples import quick
from tests.report import made

SAMPLES = Path(__file__).parents[2] / "samples"
OPEN_BOARDS = Path(__file__).parents[2].parent / "shared" / "boards"
EVIL_NET = "<script>alert(1)</script>"
GERBER = f"""%FSLAX46Y46*%
%MOMM*%
%TF.FileFunction,Copper,L1,Top*%
%ADD10R,1.0X1.0*%
%TO.N,{EVIL_NET}*%
%TO.P,"><img src=x onerror=alert(2)>,1*%
D10*
X1000000Y1000000D03*
%TO.N,</script><b>*%
X2100000Y1000000D03*
M02*
"""


@cache
def judged(folder: Path, profile: str = "cone-30-0.1") -> tuple[Report, Facts]:
    board, process = read_board([folder]), load_profile(profile)
    facts = measure(board, reach_for(process))
    return check(board, process, facts=facts), facts


@cache
def page(folder: str = "boards/tide-logger", profile: str = "cone-30-0.1") -> str:
    return html_page([judged(SAMPLES / folder, profile)], 1.0)


@cache
def evil_page(folder: Path) -> str:
    return html_page([judged(folder)], 1.0)


@pytest.fixture(scope="module")
def evil(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A board whose nets, pins and path try to be more than text."""
    folder = tmp_path_factory.mktemp("evil") / """it's a "board" & <i>more"""
    folder.mkdir()
    (folder / "top'\"<b>.gtl").write_text(GERBER)
    return folder


class Elements(HTMLParser):
    """Every element with its attributes, and the text of the page."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def data_of(text: str, number: int = 0) -> dict[str, Any]:
    packed = re.search(rf'id="data-{number}">([^<]*)<', text)
    assert packed
    return unpacked(packed[1])


def test_ids_are_those_of_the_json_report() -> None:
    report, _ = judged(SAMPLES / "boards/tide-logger")

    ids = data_of(page())["findings"]["id"]

    assert sorted(ids) == sorted(one["id"] for one in reports_document([report])["findings"])


def test_every_finding_of_a_small_board_is_written_out_for_readers_without_script() -> None:
    report, _ = judged(SAMPLES / "rules/thin-ring/bad")

    rows = re.findall(r'<li id="f0-([^"]+)"', page("rules/thin-ring/bad"))

    assert sorted(rows) == sorted(found.id for found in report.findings)


def test_a_large_board_shows_the_worst_places_of_each_cause_without_script() -> None:
    report, _ = judged(SAMPLES / "boards/tide-logger")

    rows = set(re.findall(r'<li id="f0-([^"]+)"', page()))

    assert rows == {found.id for cause in report.causes for found in cause.findings[:5]}


def test_nets_and_paths_stay_text(evil: Path) -> None:
    text = evil_page(evil)

    tags = [tag for tag, _ in Elements(text).found]
    assert EVIL_NET not in text
    assert unescape(text).count(EVIL_NET)
    assert EVIL_NET in data_of(text)["nets"]
    assert "img" not in tags
    assert "i" not in tags
    assert tags.count("script") == 2
    assert 'it\'s a "board" & <i>more' in unescape(text)


def test_no_attribute_is_opened_by_a_name(evil: Path) -> None:
    attributes = {name for _, found in Elements(evil_page(evil)).found for name in found}

    assert not {name for name in attributes if name.startswith("on") or name == "style"}


def test_policy_admits_this_style_and_this_script_alone() -> None:
    text = page()

    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', text)
    assert policy
    rules = dict(rule.strip().split(" ", 1) for rule in unescape(policy[1]).split(";"))
    assert rules["default-src"] == "'none'"
    for name, tag in (("style-src", "style"), ("script-src", "script")):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        assert inside
        digest = base64.b64encode(hashlib.sha256(inside[1].encode()).digest()).decode()
        assert rules[name] == f"'sha256-{digest}'"


def test_nothing_is_fetched_from_anywhere() -> None:
    text = page()

    outside = {
        value
        for _, found in Elements(text).found
        for name, value in found.items()
        if name in ("href", "src", "srcset", "action", "data") and not (value or "").startswith("#")
    }
    assert not outside
    addresses = re.findall(r"https?://[^\s\"'<)]+", text)
    assert set(addresses) <= {"http://www.w3.org/2000/svg"}  # a name, never fetched
    assert "@import" not in text
    assert not re.search(r"url\((?!#)", text)


def test_same_board_gives_the_same_bytes_but_for_the_seconds() -> None:
    pair = judged(SAMPLES / "rules/uncuttable-gap/bad")

    first, second = html_page([pair], 1.0), html_page([pair], 2.0)

    assert first.replace("1.00 s -->", "") == second.replace("2.00 s -->", "")


def test_every_link_leads_to_something_on_the_page() -> None:
    text = page()

    elements = Elements(text).found
    ids = {found["id"] for _, found in elements if "id" in found}
    links = {(found["href"] or "")[1:] for _, found in elements if "href" in found}
    assert links <= ids


def test_several_reports_share_an_index_and_the_geometry_of_one_board() -> None:
    folder = SAMPLES / "rules/uncuttable-gap/bad"
    board = read_board([folder])
    processes = [load_profile(name) for name in ("cone-30-0.1", "flat-0.4")]
    facts = measure(board, reach_for(processes))

    text = html_page([(check(board, process, facts=facts), facts) for process in processes], 1.0)

    for number, process in enumerate(processes):
        assert f'<a href="#report-{number}">{process.name}</a>' in text
    assert len(re.findall(r'<g class="copper" id=', text)) == len(board.copper)
    assert data_of(text, 1)["stops"] != data_of(text, 0)["stops"]


def test_places_are_counted_worst_first_and_as_people_say_it() -> None:
    text = page("boards/hive-scale", "flat-0.4")

    assert re.search(r"places: \d+ not makeable, \d+ marginal, \d+ remarks", text)


def test_every_cause_with_a_place_has_its_crop_and_gaps_have_the_disc_of_the_cut() -> None:
    report, _ = judged(SAMPLES / "boards/tide-logger")
    text = page()

    placed = [c for c in report.causes if any(f.seen.x is not None for f in c.findings)]
    of_gaps = [c for c in report.causes if c.rule.endswith("-gap") and c.rule != "voltage-gap"]
    assert text.count('<figure class="crop">') == len(placed)
    assert report.process.cut is not None
    radius = round(500 * report.process.cut.nominal)
    discs = re.findall(r'<circle class="cutter" cx="\d+" cy="\d+" r="(\d+)"', text)
    assert discs == [str(radius)] * len(of_gaps)


def test_a_crop_is_told_the_place_that_it_shows() -> None:
    whole, placed = made.finding(1, x=None, y=None, side=None), made.finding(2)
    facts = made.facts(made.board())

    text = html_page([(made.report(made.board(), (whole, placed)), facts)], 0.5)

    assert "<figcaption>top 1.125, 0.500; " in text


def test_a_process_that_cuts_nothing_has_a_page_without_settings() -> None:
    text = html_page([judged(SAMPLES / "rules/uncuttable-gap/bad", "perfboard")], 1.0)

    assert "stops" not in data_of(text)
    assert "not checked" in text.lower()


@pytest.mark.parametrize(
    ("board", "most"), quick([("pwm555", 0.5e6), ("openbci-cyton", 1.5e6)], [("pwm555", 0.5e6)])
)
def test_a_page_stays_small(board: str, most: float) -> None:
    if not (OPEN_BOARDS / board).is_dir():
        pytest.skip("the open boards are not beside the checkout")

    text = html_page([judged(OPEN_BOARDS / board)], 1.0)

    assert len(text.encode()) < most


@pytest.mark.long
def test_the_largest_page_stays_small() -> None:
    if not OPEN_BOARDS.is_dir():
        pytest.skip("the open boards are not beside the checkout")

    text = html_page([judged(OPEN_BOARDS / "limesdr-altium")], 1.0)

    assert len(text.encode()) < 15e6
