"""Every document that the samples give is valid, and holds no field that its schema leaves out."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from checker import check, compare, load_profile, measure, read_board
from checker.board import Board
from checker.cli import main
from checker.limits import limits_of
from checker.options import SCHEMAS
from checker.process import profile_names
from checker.report.comparison_json import comparison_document
from checker.report.facts_document import facts_document
from checker.report.json import dumps, reports_document
from checker.report.limits_document import limits_document
from checker.schema import schema_of
from tests.examples import quick
from tests.rule_samples import report_of

SAMPLES = Path(__file__).parents[2] / "samples"
BOARDS = ("coop-door", "hive-scale", "orchard-cam", "tide-logger")
RULES = sorted((SAMPLES / "rules").iterdir())
FILES = ("profile", "config")  # that a person writes
DOCUMENTS = [name for name in SCHEMAS if name not in FILES]


@cache
def board_of(name: str) -> Board:
    return read_board([SAMPLES / "boards" / name])


def shut(schema: Any) -> Any:
    """The schema with every field refused that it does not name."""
    if isinstance(schema, list):
        return [shut(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    inner = {key: shut(value) for key, value in schema.items()}
    if "properties" in schema and schema.get("type") == "object":
        inner["additionalProperties"] = False
    return inner


STRICT = {name: Draft7Validator(shut(schema_of(name))) for name in DOCUMENTS}


def faults(name: str, document: dict[str, Any]) -> list[str]:
    written = json.loads(dumps(document))
    return [f"{e.json_path}: {e.message[:200]}" for e in STRICT[name].iter_errors(written)]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_is_a_schema_itself(name: str) -> None:
    Draft7Validator.check_schema(schema_of(name))


@pytest.mark.parametrize("name", SCHEMAS)
def test_command_prints_each(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["schema", name])

    assert status == 0
    assert json.loads(capsys.readouterr().out) == schema_of(name)


@pytest.mark.parametrize("folder", RULES, ids=lambda path: path.name)
def test_report_on_the_sample_of_a_rule_is_valid(folder: Path) -> None:
    report = report_of(folder.name)

    assert report.findings
    assert faults("report", reports_document([report])) == []


@pytest.mark.parametrize("name", quick(BOARDS, ["coop-door", "orchard-cam"]))
def test_reports_facts_and_comparison_of_a_board_are_valid(name: str) -> None:
    board = board_of(name)
    processes = [load_profile(name) for name in ("cone-30-0.1", "flat-0.8", "etch", "perfboard")]
    reports = [check(board, process) for process in processes]

    assert faults("report", reports_document(reports)) == []
    assert faults("facts", facts_document(measure(board))) == []
    assert faults("comparison", comparison_document(compare(board, processes))) == []


def test_a_comparison_with_odds_and_relief_is_valid() -> None:
    board = board_of("coop-door")
    processes = [load_profile(name) for name in ("cone-30-0.1", "flat-0.8", "perfboard")]

    found = compare(board, processes, odds=True, relief=True)

    assert [row.relief is not None for row in found.rows].count(True) == 1
    assert faults("comparison", comparison_document(found)) == []


@pytest.mark.parametrize(
    "name",
    quick(["cone-30-0.1", "flat-0.8", "laser", "etch", "perfboard"], ["cone-30-0.1", "perfboard"]),
)
def test_limits_of_a_process_are_valid(name: str) -> None:
    assert faults("limits", limits_document(limits_of(load_profile(name)))) == []


@pytest.mark.parametrize("name", profile_names())
def test_every_built_in_profile_is_valid_in_a_report(name: str) -> None:
    report = check(board_of("coop-door"), load_profile(name))

    assert faults("report", reports_document([report])) == []


def test_a_fault_is_seen_and_a_name_that_was_added_is_not_one() -> None:
    document = reports_document([check(board_of("coop-door"), load_profile("flat-0.4"))])
    lenient = Draft7Validator(schema_of("report"))

    assert lenient.is_valid({**document, "added": 1})
    assert faults("report", {**document, "added": 1}) != []
    assert not lenient.is_valid({**document, "verdict": "perhaps"})
    assert not lenient.is_valid({**document, "board": {**document["board"], "holes": None}})
    assert not lenient.is_valid({**document, "schema": "cutworthy.report/2"})
    assert not lenient.is_valid({key: document[key] for key in document if key != "causes"})
