"""The schema of a configuration refuses what it can see, and nothing that the program takes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft7Validator

from checker.config import Config, config_of
from checker.process import load_profile
from checker.report.config_text import config_document
from checker.schema import schema_of
from tests.config import test_file as wrong
from tests.config.made import say
from tests.schema.test_document_schemas import shut

SCHEMA = schema_of("config")
VALIDATOR = Draft7Validator(SCHEMA)
DOCUMENT = Draft7Validator(shut(schema_of("configured")))

# What only the program can tell: the calendar, which files there are, bounds of what has a unit or
# is a number for some readers of YAML only, and which word stood for true.
BEYOND = {
    "profiles: cone-30-0.1.yaml\n",
    "stock: {bits: [bits/x.yaml]}\n",
    "top: yes\n",
    "nets: {LIVE: 5 kV}\n",
    f"{wrong.WAIVER}, at: [1, 1e9]}}\n",
    f"{wrong.WAIVER}, until: 2027-02-30}}\n",
}
BAD = [text for text in wrong.UNKNOWN | wrong.VALUES if text not in BEYOND]

GOOD = {
    "top": "top: true\n",
    "top-quoted": "top: 'false'\n",
    "one-of-each": "boards: hardware/*\nprofiles: flat-0.4\nlayers: {top: a.gbr}\n",
    "lists": "boards: [a, ./b/**]\nprofiles: [flat-0.4, cone-30-0.1]\nlayers: {inner2: [a, b]}\n",
    "drills": "stock: {drills: [0.8, 40 mil], bits: flat-0.4}\n",
    "drills-none": "stock: {drills: none}\n",
    "drills-sourced": "stock: {drills: {value: [1], source: box}}\n",
    "nets": "nets: {L: 230 V AC, G: 0, P: {voltage: 325 Vpk, current: 50 mA, cleared: 3}}\n",
    "severity": "severity: {tight-gap: error}\n",
    "waiver": "waivers: {rule: tight-gap, reason: 42}\n",
    "waiver-place": "waivers:\n- {rule: a, reason: b, at: [-1 mm, '-2'], within: 20 mil}\n",
    "waiver-rest": "waivers:\n- {rule: a, reason: b, side: inner 1, nets: [5, A], pins: U1.2,"
    " until: 2027-03-01, board: hardware/*}\n",
}


class _Editor(yaml.SafeLoader):
    """Types guessed as YAML 1.2 has it, where a date is text."""


_Editor.yaml_implicit_resolvers = {
    first: [(tag, sign) for tag, sign in kinds if not tag.endswith("timestamp")]
    for first, kinds in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def plain(text: str) -> Any:
    return yaml.load(text, _Editor)


def test_both_are_schemas_themselves() -> None:
    Draft7Validator.check_schema(SCHEMA)
    Draft7Validator.check_schema(schema_of("configured"))

    assert SCHEMA["$schema"] == Draft7Validator.META_SCHEMA["$schema"]


@pytest.mark.parametrize("text", GOOD.values(), ids=GOOD)
def test_what_the_program_takes_is_valid(text: str, tmp_path: Path) -> None:
    say(tmp_path, "top: true\n" * ("top" not in text) + text)

    assert config_of([tmp_path]).files
    assert list(VALIDATOR.iter_errors(plain(text))) == []


def test_so_is_all_of_it_at_once() -> None:
    assert list(VALIDATOR.iter_errors(plain(wrong.WHOLE))) == []


@pytest.mark.parametrize("text", BAD)
def test_what_the_program_refuses_is_refused(text: str) -> None:
    assert not VALIDATOR.is_valid(plain(text))


@pytest.mark.parametrize("text", sorted(BEYOND))
def test_what_only_the_program_can_tell_is_known(text: str) -> None:
    assert VALIDATOR.is_valid(plain(text))


@pytest.mark.parametrize("text", GOOD.values(), ids=GOOD)
def test_document_is_valid(text: str, tmp_path: Path) -> None:
    say(tmp_path, "top: true\n" * ("top" not in text) + text)
    config = config_of([tmp_path])
    processes = [load_profile("cone-30-0.1", over=config.over)]

    assert list(DOCUMENT.iter_errors(config_document(config, processes))) == []


def test_document_of_nothing_is_valid() -> None:
    assert DOCUMENT.is_valid(config_document(Config(), [load_profile("flat-0.4")]))
