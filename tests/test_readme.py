"""README keeps its word: its commands work as written, its generated parts are current."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from checker import options
from checker.config import boards_named, check_rules, config_of
from checker.process import DEFAULT_PROFILE, describe_keys, load_profile
from checker.process.keys import GROUPS
from checker.read.roles import ROLES
from checker.registry import load_rules
from tests.test_failures import CATALOGUE

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
FENCE = "```"


def table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def rules_table() -> str:
    rules = load_rules().values()
    rows = [(f"`{rule.name}`", rule.severity.value, rule.summary) for rule in rules]
    return table(("Rule", "Severity", "What it finds"), rows)


def keys_table() -> str:
    rows = [(f"`{name}`", meaning, expected) for name, meaning, expected in describe_keys()]
    return table(("Key", "What it means", "Its value"), rows)


def failures_table() -> str:
    rules = load_rules()
    rows = []
    for row in CATALOGUE:
        names = row.get("rule", [])
        pages = " ".join(rules[name].page for name in names if name in rules)
        known = [*GROUPS, *(key for key, _, _ in describe_keys())]
        named = [key for key in known if f"``{key}``" in pages]
        keys = [key for key in named if key.partition(".")[0] not in named or "." not in key]
        by = ", ".join(f"`{key}`" for key in keys) or "the files alone"
        who = ", ".join(f"`{name}`" for name in names) or ("reader" if "reader" in row else "-")
        rows.append((row["failure"], who, row.get("reader") or row.get("left") or by))
    return table(("What fails", "Rule", "What decides it, or why nothing does"), rows)


def shown(name: str) -> str:
    text = (ROOT / "tests" / "golden" / f"{name}.txt").read_text(encoding="utf-8")
    return f"{FENCE}text\n{text}{FENCE}"


def sample() -> str:
    return shown("check-coop-door-flat-0.8")


def comparison() -> str:
    return shown("compare-hive-scale")


@pytest.mark.parametrize(
    ("name", "generate"),
    [
        ("rules", rules_table),
        ("failures", failures_table),
        ("keys", keys_table),
        ("sample", sample),
        ("comparison", comparison),
    ],
)
def test_generated_part_is_current(name: str, generate: Callable[[], str]) -> None:
    readme = README.read_text(encoding="utf-8")
    head, rest = readme.split(f"<!-- {name} -->\n")
    held, tail = rest.split(f"<!-- /{name} -->\n")
    if os.environ.get("CUTWORTHY_REWRITE") == "1":
        held = f"{generate()}\n"
        new = f"{head}<!-- {name} -->\n{held}<!-- /{name} -->\n{tail}"
        README.write_text(new, encoding="utf-8", newline="\n")

    assert held == f"{generate()}\n"


def test_two_commands_do_all_the_setting_up() -> None:
    blocks = re.findall(rf"{FENCE}sh\n(.*?)\n{FENCE}", README.read_text(encoding="utf-8"))

    assert [block.count("\n") for block in blocks] == [0, 0]
    assert "pip install" in blocks[0]
    assert blocks[0].endswith("cutworthy check samples/boards/coop-door")
    assert "pip install" in blocks[1]
    assert blocks[1].endswith("python -m pytest")


def test_roles_and_default_profile_are_those_of_the_program() -> None:
    readme = README.read_text(encoding="utf-8")

    assert [role for role in ROLES if f"`{role}`" not in readme] == []
    assert f"takes\n`{DEFAULT_PROFILE}`" in readme


@pytest.mark.parametrize("command", options.parsers()[1])
def test_every_command_is_in_the_table(command: str) -> None:
    assert f"| `cutworthy {command} " in README.read_text(encoding="utf-8")


def test_example_of_a_profile_loads(tmp_path: Path) -> None:
    example = re.search(
        rf"{FENCE}yaml\n(based_on.*?){FENCE}", README.read_text(encoding="utf-8"), re.DOTALL
    )
    assert example is not None
    (tmp_path / "mine.yaml").write_text(example[1], encoding="utf-8")

    process = load_profile(tmp_path / "mine.yaml")

    assert process.measured
    assert process.cut is not None
    assert process.cut.nominal == pytest.approx(0.19)
    assert set(process.severity) <= set(load_rules())


def test_example_of_a_configuration_holds(tmp_path: Path) -> None:
    (example,) = re.findall(
        rf"{FENCE}yaml\n(boards: .*?){FENCE}", README.read_text(encoding="utf-8"), re.DOTALL
    )
    (tmp_path / ".cutworthy.yaml").write_text(example, encoding="utf-8")
    (tmp_path / "bits").mkdir()
    (tmp_path / "bits" / "mine.yaml").write_text("based_on: cone-30-0.1\n", encoding="utf-8")
    shutil.copytree(ROOT / "samples" / "boards" / "coop-door", tmp_path / "hardware" / "door")

    config = config_of([tmp_path / "hardware" / "door"])

    check_rules(config, load_rules())
    assert [path.name for path in boards_named(tmp_path)] == ["door"]
    assert [load_profile(name, over=config.over).name for name in config.profiles] == ["mine"]
    assert [waiver.reason for waiver in config.waivers] == ["opened with a knife"]


def test_example_in_python_runs(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    example = re.search(
        rf"{FENCE}python\n(.*?){FENCE}", README.read_text(encoding="utf-8"), re.DOTALL
    )
    assert example is not None
    monkeypatch.chdir(ROOT)

    exec(compile(example[1], "README.md", "exec"), {})

    assert "makeable" in capsys.readouterr().out


def test_the_licence_stands_in_full() -> None:
    readme = README.read_text(encoding="utf-8")

    assert "Permission is hereby granted, free of charge" in readme
    assert 'THE SOFTWARE IS PROVIDED "AS IS"' in readme
