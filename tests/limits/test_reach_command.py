"""The command ``reach``: text, JSON and YAML, files, and words that are not known."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from msgspec.structs import replace
from rich.console import Console

from checker.cli import main
from checker.findings import Verdict
from checker.limits import Limits
from checker.limits.limits import Asking
from checker.process import load_profile
from checker.report.limits_document import limits_document, notes_of, yaml_text
from checker.report.limits_text import limits_text
from checker.report.text import render
from tests.handmade import PLAIN, RULES
from tests.limits.made import built_in, plain


def shown(limits: Limits, width: int = 100) -> str:
    out = io.StringIO()
    Console(file=out, width=width, color_system=None).print(limits_text(limits, 0.0))
    return out.getvalue()


def test_json_and_yaml_hold_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["reach", "cone-30-0.1", "--format", "json"])
    as_json = json.loads(capsys.readouterr().out)

    assert status == 0
    assert as_json["schema"] == "cutworthy.limits/1"
    assert yaml.safe_load(yaml_text(limits_document(built_in("cone-30-0.1")))) == as_json


def test_yaml_says_what_it_is_in_its_first_line(capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["reach", "perfboard", "--format", "yaml"])

    assert status == 0
    assert capsys.readouterr().out.startswith("schema: cutworthy.limits/1\n")


def test_document_names_the_source_of_every_row() -> None:
    told = limits_document(built_in("cone-30-0.1"))

    for table in ("lands", "leads", "traces_between_pins"):
        assert [row for row in told[table] if not row["source"]] == []


def test_document_tells_no_limit_from_none_that_passes() -> None:
    told = limits_document(plain())

    edge = next(row for row in told["lengths"] if row["name"] == "Copper to the edge")
    assert edge["least"] == {"mm": None, "mil": None, "limited": False}
    assert edge["not_set"] == ["outline.edge_clearance"]


def test_land_that_any_board_fails_like_says_where_to_look() -> None:
    usual = built_in("cone-30-0.1")
    lands = tuple(replace(one, verdict=Verdict.MARGINAL, found=()) for one in usual.lands[:1])

    text = shown(replace(usual, lands=lands))

    assert "any board, above" in text


@pytest.mark.parametrize(
    ("field", "said"), [("no_via", "No via passes:"), ("both_sides", "stands above")]
)
def test_text_says_why_there_is_no_via(field: str, said: str) -> None:
    usual = built_in("cone-30-0.1")
    found: dict[str, Any] = {"via": None, field: usual.lands[0].found}

    text = shown(replace(usual, **found))

    assert said in text


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("name", ["cone-30-0.1", "perfboard"])
def test_text_keeps_within_its_width(name: str, width: int) -> None:
    lines = shown(built_in(name), width).splitlines()

    assert max(map(len, lines)) <= width
    assert [line for line in lines if not line.isascii()] == []


def test_text_has_every_number_of_a_row_on_one_line_at_80() -> None:
    lines = shown(built_in("cone-30-0.1"), 80).splitlines()

    row = next(line for line in lines if "Trace width" in line)
    assert row.split() == ["Trace", "width", "0.25", "10", "0.25", "10", "thin-copper"]


def test_text_says_what_is_not_set() -> None:
    text = shown(plain())

    assert "Not set in the profile: " in text
    assert next(line for line in text.splitlines() if "Hole to hole" in line).split()[3:5] == [
        "not",
        "set",
    ]
    assert "No via can be told: the profile does not set joints.wire" in text


def test_text_says_first_what_speaks_against_any_board() -> None:
    usual = built_in("cone-30-0.1")
    shallow = replace(usual.process, bed_error=0.2)
    limits = replace(usual, process=shallow, always=Asking(shallow, RULES).always())

    text = shown(limits)

    assert text.index("any board, even one that asks nothing") < text.index("Trace width")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("cone-30-0.1", "spread of this profile"),
        ("etch", "no tool to fit between"),
        ("laser", "out of focus"),
        ("perfboard", "do not apply"),
    ],
)
def test_notes_say_what_a_method_minds(name: str, said: str) -> None:
    assert said in " ".join(notes_of(load_profile(name)))


def test_process_without_spread_carries_no_margin() -> None:
    assert "margin" in notes_of(PLAIN)[0]


def test_file_is_written_whole_and_its_text_ends_with_the_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "limits.txt"

    status = main(["reach", "perfboard", "--output", str(file)])

    assert status == 0
    assert capsys.readouterr().out == ""
    assert file.read_text().splitlines()[-1].startswith("cutworthy took ")


def test_profile_itself_is_never_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = tmp_path / "own.yaml"
    own.write_text("based_on: perfboard\ntitle: mine\n")

    status = main(["reach", str(own), "--output", str(own)])

    assert status == 2
    assert "is one of the files to be read" in capsys.readouterr().err
    assert own.read_text() == "based_on: perfboard\ntitle: mine\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "PROFILE"),
        (
            ["lazer"],
            "ends in .yaml; did you mean laser?",
        ),
        (["missing.yaml"], "no such file"),
        (["etch", "laser"], "reach: laser is one word too many"),
        (["etch", "--formt", "json"], "reach --formt: no such option; did you mean --format?"),
        (["etch", "--format", "html"], "--format html: not known"),
        (["etch", "--output", "no-such-folder/x"], "there is no folder"),
    ],
)
def test_fault_is_one_line_and_status_2(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    status = main(["reach", *words])

    told = capsys.readouterr()
    assert status == 2
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert said in told.err


def test_hostile_name_stays_one_line() -> None:
    usual = built_in("perfboard")
    limits = replace(usual, process=replace(usual.process, name="a\x1b[31mb\nc"))

    first = render(limits_text(limits, 0.0), None).splitlines()[0]

    assert "\x1b" not in first
    assert first.endswith("whatever the board")
