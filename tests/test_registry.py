from __future__ import annotations

import sys
from pathlib import Path

import pytest

from checker.errors import RulePackageError
from checker.registry import load_rules

PAGE = '"""A fault.\n\nWhy\n---\nBecause.\n"""\n'
RULE = (
    PAGE
    + "from checker.findings import rule\n\n@rule()\ndef check(facts, process):\n    return []\n"
)


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An importable folder ``extra_rules``, forgotten afterwards."""
    monkeypatch.syspath_prepend(tmp_path)
    for name in [name for name in sys.modules if name.split(".")[0] == "extra_rules"]:
        monkeypatch.delitem(sys.modules, name)
    folder = tmp_path / "extra_rules"
    folder.mkdir()
    return folder


def written(package: Path, **modules: str) -> None:
    for name, text in modules.items():
        (package / f"{name}.py").write_text(text, encoding="utf-8")


def test_missing_package_is_named() -> None:
    with pytest.raises(RulePackageError, match="'nowhere_rules': is not installed"):
        load_rules(["nowhere_rules"])


def test_a_module_that_merely_has_the_name_is_refused_without_running_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "stranger.py").write_text("raise SystemExit('ran')", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)

    with pytest.raises(RulePackageError, match=r"stranger\.py is not a rule package"):
        load_rules(["stranger"])


def test_a_package_that_merely_has_the_name_is_refused_without_running_it(package: Path) -> None:
    written(package, __init__="raise SystemExit('ran')")

    with pytest.raises(RulePackageError, match="is not a rule package"):
        load_rules(["extra_rules"])


def test_a_folder_without_code_is_refused(package: Path) -> None:
    with pytest.raises(RulePackageError, match=f"{package.name}.*is not a rule package"):
        load_rules(["extra_rules"])


def test_another_version_is_refused_and_named(package: Path) -> None:
    written(package, __init__="RULE_API = 2", some_fault=RULE)

    with pytest.raises(RulePackageError, match=r"its RULE_API is 2; expected .* RULE_API = 1"):
        load_rules(["extra_rules"])


@pytest.mark.parametrize("declaration", ["RULE_API = 1", "RULE_API: int = 1"])
def test_rules_of_another_package_join_the_built_in_ones(package: Path, declaration: str) -> None:
    written(package, __init__=declaration, some_fault=RULE, _helper="1 / 0")

    rules = load_rules(["rules", "extra_rules"])

    assert set(rules) == set(load_rules()) | {"some-fault"}
    assert rules["some-fault"].summary == "A fault."


def test_a_name_in_two_packages_is_refused_and_both_homes_are_told(package: Path) -> None:
    written(package, __init__="RULE_API = 1", uncuttable_gap=RULE)

    with pytest.raises(
        RulePackageError, match=r"extra_rules\.uncuttable_gap.*twice.*rules\.uncuttable_gap"
    ):
        load_rules(["rules", "extra_rules"])


def test_a_package_named_twice_counts_once() -> None:
    assert load_rules(["rules", "rules"]) == load_rules()


def test_a_broken_module_is_told_in_one_line(package: Path) -> None:
    written(package, __init__="RULE_API = 1", broken="import nothing_of_that_name")

    with pytest.raises(RulePackageError, match=r"extra_rules\.broken: cannot be imported") as told:
        load_rules(["extra_rules"])

    assert "\n" not in str(told.value)
