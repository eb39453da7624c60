"""The catalogue of failures names only rules that there are, and every rule has its place in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

import rules as rules_package
from checker.registry import load_rules

CATALOGUE: list[dict[str, Any]] = yaml.safe_load(
    (Path(str(rules_package.__file__)).parent / "failures.yaml").read_text(encoding="utf-8")
)
DECIDED = [row for row in CATALOGUE if "left" not in row]


@pytest.mark.parametrize("row", CATALOGUE, ids=lambda row: row["failure"])
def test_a_failure_is_decided_in_one_way_or_left_for_a_reason(row: dict[str, Any]) -> None:
    assert set(row) <= {"failure", "rule", "reader", "left"}
    assert len(row) == 2


def test_every_rule_decides_a_failure_and_every_rule_named_exists() -> None:
    named = {name for row in CATALOGUE for name in row.get("rule", ())}

    assert named == set(load_rules())


def test_no_failure_is_told_twice() -> None:
    told = [row["failure"] for row in CATALOGUE]

    assert len(set(told)) == len(told)


def test_at_least_seventy_are_decided() -> None:
    assert len(CATALOGUE) == 104
    assert len(DECIDED) >= 70
