from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from html.parser import HTMLParser

import pytest
from msgspec.structs import replace

from checker.coupon import coupon_of, layers, sheet
from checker.coupon.readings import fields, template
from checker.process import load_profile
from checker.report import words
from tests.coupon.made import built_in

every = pytest.mark.parametrize("name", ["cone-30-0.1", "flat-0.8", "laser", "etch"])
VOID = {"meta", "input"}
SHAPES = {"path", "circle", "rect"}
EVIL = """</title></style><script>alert(1)</script>"'><img src=x onerror=alert(2)>{{ 7 * 7 }}"""


class Tree(HTMLParser):
    """Keeps elements and text, and complains where tags do not close in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if len(dict(attrs)) < len(attrs):
            self.faults.append(f"{tag} has an attribute twice")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in VOID | SHAPES:
            self.faults.append(f"{tag} closes itself")

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@cache
def page(name: str) -> str:
    return sheet(built_in(name))


def tree(text: str) -> Tree:
    parser = Tree()
    parser.feed(text)
    parser.close()
    return parser


def inputs(text: str) -> list[str]:
    return [str(attrs["name"]) for tag, attrs in tree(text).found if tag == "input"]


def steps(text: str) -> list[tuple[str, str]]:
    return re.findall(r"<tr><td>([\w.-]+)</td><td>([^<]*)</td><td>", text)


@every
def test_tags_close_in_order(name: str) -> None:
    found = tree(page(name))

    assert found.faults == []
    assert found.open == []


@every
def test_every_reading_has_one_field_with_a_label_of_its_own(name: str) -> None:
    labels = [attrs["aria-label"] for tag, attrs in tree(page(name)).found if tag == "input"]

    assert sorted(inputs(page(name))) == sorted(field.name for field in fields(built_in(name)))
    assert len(set(labels)) == len(labels)


@every
def test_every_file_is_listed_once_in_the_order_of_cutting(name: str) -> None:
    files = [file for file, _ in steps(page(name))]

    assert sorted(files) == sorted(layers(built_in(name)))
    assert files[-1] == "profile.gbr"


def test_each_groove_is_listed_with_its_depth() -> None:
    found = dict(steps(page("cone-30-0.1")))

    assert found["groove-0.08.gbr"] == "0.08 mm"
    assert found["groove-0.20.gbr"] == "0.20 mm"
    assert found["copper-top.gbr"] == "0.09 mm"
    assert found["holes.drl"] == "through"


@every
def test_usual_cautions_are_there(name: str) -> None:
    text = "".join(tree(page(name)).text)

    for caution in words.cautions(built_in(name).process.method):
        assert caution in text


def test_what_is_expected_is_what_a_check_says() -> None:
    text = page("cone-30-0.1")  # cuts 0.168 mm wide, trusts traces of 0.25 mm

    assert "expected to open: from 0.20 mm" in text
    assert "expected to survive: from 0.25 mm" in text


@every
def test_template_for_the_script_is_that_of_the_file(name: str) -> None:
    found = re.search(r'<pre class="template"[^>]*>\n(.*?)</pre>', page(name), re.DOTALL)

    assert found is not None
    assert "".join(tree(found[1]).text) == template(built_in(name))


def test_numbers_on_the_drawing_are_those_of_the_list() -> None:
    text = page("cone-30-0.1")

    drawn = set(re.findall(r'<text y="0.4">(\d+)</text>', text))
    listed = re.findall(r"<li><b>(\d+)</b>", text)

    assert drawn == set(listed)
    assert listed == [str(number) for number in range(1, len(listed) + 1)]


def test_hostile_title_stays_text() -> None:
    process = replace(load_profile("cone-30-0.1"), name=EVIL[:60], title=EVIL)

    text = sheet(coupon_of(process))

    found = tree(text)
    tags = [tag for tag, _ in found.found]
    assert found.faults == []
    assert (tags.count("script"), tags.count("style"), "img" in tags) == (1, 1, False)
    assert "49" not in re.findall(r"<h1>.*?</h1>", text)[0]
    assert EVIL[:60] in "".join(found.text)


@every
def test_page_runs_its_own_script_and_style_and_fetches_nothing(name: str) -> None:
    text = page(name)
    (policy,) = (
        str(attrs["content"])
        for tag, attrs in tree(text).found
        if tag == "meta" and attrs.get("http-equiv") == "Content-Security-Policy"
    )

    assert policy.startswith("default-src 'none';")
    for tag in ("script", "style"):
        (body,) = re.findall(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    fetched = [tag for tag, attrs in tree(text).found if attrs.keys() & {"src", "href", "srcset"}]
    assert fetched == []
    assert not re.search(r"url\(|@import|fetch\(", text)


@pytest.mark.parametrize("name", ["cone-30-0.1", "laser", "etch"])
def test_same_coupon_gives_the_same_bytes(name: str) -> None:
    assert sheet(coupon_of(load_profile(name))) == page(name)
