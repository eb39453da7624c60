"""The schema for editors never refuses what the loader takes, and refuses what it can see.

Files are read as an editor reads them, with their types guessed, and judged by an independent
validator.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft7Validator

from checker.cli import main
from checker.errors import ProfileError
from checker.process import load_profile, profile_names
from checker.process.keys import GROUPS, KEYS, SEVERITIES, Key
from checker.schema import schema_of
from tests.process import test_profile_errors as wrong
from tests.process.test_load import milling

ROOT = Path(__file__).parents[2]
SCHEMA = schema_of("profile")
VALIDATOR = Draft7Validator(SCHEMA)

# What only the program can tell: it shows once profiles are laid over each other, in values that
# don't fit each other, in the text of a quantity, or in what YAML does not keep.
BEYOND = {
    "angle-of-a-line",
    "another-shape-inherits-no-size",
    "bit-for-etching",
    "chip-nought",
    "cone-wider-than-its-body",
    "cutter-of-inches",
    "depth-converted-twice",
    "depth-of-a-universe",
    "depth-spread-of-all-of-it",
    "depth-spread-of-more-than-it",
    "depth-that-does-not-reach-through-the-foil",
    "divided-by-nought",
    "drills-left-out",
    "ends-out-of-order",
    "escape-in-a-title",
    "feed-of-metres",
    "foil-that-the-depth-does-not-reach-through",
    "not-for-etching",
    "not-for-the-method",
    "not-for-the-shape",
    "ring-of-um",
    "rise-of-a-furnace",
    "runout-that-no-collet-has",
    "sd-of-another-unit",
    "sd-too-wide",
    "share-of-more-than-all",
    "spindle-that-stands",
    "spread-a-little-too-wide",
    "spread-of-another-unit",
    "spread-too-wide",
    "time-as-a-clock-shows-it",
    "tip-of-30-mm",
    "tip-ten-thousandth",
    "tip-wider-than-its-body",
    "twice-sd-wider-than-value",
}
BASED = wrong.BASED
BAD = {name: text for name, (text, _) in wrong.KEYS.items()} | {
    name: f"{wrong.BASED}{text}\n" for name, (text, _) in (wrong.QUANTITIES | wrong.LIMITS).items()
}

GOOD = {
    "units": BASED + "minimum_trace: 12 mil\nfoil: 1/2 oz\nweb: 0.4mm\nring: ' 0.1 mm '\n",
    "spreads": BASED
    + "bit: {runout: 0.02 +- 0.01, depth: 4 mil sd 5 %, tip_width: 0.1 mm ± 10 um}\n",
    "long-forms": BASED + "foil: {value: 35 um, sd: 1 um, source: 2}\nweb: {value: none}\n",
    "ends": BASED + "bit: {depth: {least: 0.1, nominal: 0.12 mm, most: 0.13, source: dial}}\n",
    "measured": BASED + "bit: {measured_width: {value: 0.2, sd: 0.01}}\n",
    "words": BASED + "title: no\nlaminate: 1.6\n",
    "none": BASED + "minimum_trace: none\npad_clearance: null\ndrills: {sizes: none}\n",
    "lists": BASED
    + "drills: {sizes: {value: [0.8, 40 mil], source: box}}\nstock: {size: [60, 90]}\n",
    "one-drill": BASED + "drills: {sizes: 0.8 mm}\n",
    "times": BASED + "feeds: {evening: 90 min, overlap: 40 %, cut: 3 mm/s, life: 20 m}\n",
    "nets": BASED + "nets: {L: 230 V AC, G: 0, N: -12 V, P: {voltage: 325 Vpk, current: 50 mA}}\n",
    "severity": BASED + "severity: {tight-gap: error}\n",
    "empty-group": BASED + "drills: {}\n",
    "etching": "method: etching\nfoil: 1 oz\nminimum_gap: 0.2\n",
    "laser": "method: laser\nfoil: 35 um\nbit: {shape: beam, spot: 0.05, overcut: 0 ± 0}\n",
    "perfboard": "method: perfboard\ngrid: {pitch: 0.1 in}\n",
}


def plain(text: str) -> Any:
    return yaml.safe_load(text)


def is_loaded(folder: Path, text: str) -> bool:
    (folder / "mine.yaml").write_text(text, encoding="utf-8")
    try:
        load_profile(folder / "mine.yaml")
    except ProfileError:
        return False
    return True


def test_is_a_schema_itself() -> None:
    Draft7Validator.check_schema(SCHEMA)

    assert SCHEMA["$schema"] == Draft7Validator.META_SCHEMA["$schema"]


@pytest.mark.parametrize("name", profile_names())
def test_built_in_profile_is_valid(name: str) -> None:
    text = (ROOT / "rules" / "profiles" / f"{name}.yaml").read_text(encoding="utf-8")

    VALIDATOR.validate(plain(text))


def test_example_of_the_readme_is_valid() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```yaml\n(.*?)```", readme, re.DOTALL)
    profiles = [block for block in blocks if block.startswith(("based_on", "nets"))]

    assert len(profiles) == 2
    for block in profiles:
        VALIDATOR.validate({"based_on": "cone-30-0.1", **plain(block)})


@pytest.mark.parametrize("text", GOOD.values(), ids=GOOD)
def test_what_the_loader_takes_is_valid(tmp_path: Path, text: str) -> None:
    assert is_loaded(tmp_path, text)
    VALIDATOR.validate(plain(text))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=20)
@given(milling)
def test_any_profile_that_the_loader_takes_is_valid(
    tmp_path: Path, document: dict[str, object]
) -> None:
    text = yaml.safe_dump(document, allow_unicode=True)

    assert is_loaded(tmp_path, text)
    VALIDATOR.validate(plain(text))


BASES = {"milling": "cone-30-0.1", "laser": "laser", "etching": "etch", "perfboard": "perfboard"}
QUANTITY = (
    r"[+-]?(0|[1-9][0-9]{0,3})?(\.[0-9]{0,3})?(e-?[0-9])?( ?/ ?[1-9])? ?"
    r"(mm|mil|um|µm|in|oz|deg|°|%|mm2|rpm|mm/min|mm/s|m|h|min|s|K|V ac|mA)?"
    r"( ?(±|\+-|\+/-|sd) ?[0-9]?\.?[0-9]{1,2} ?(%|mm|um|mil)?)?"
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(
    key=st.sampled_from([key for key in KEYS.values() if key.name != "based_on"]),
    text=st.from_regex(QUANTITY, fullmatch=True) | st.sampled_from(["none", "a", *SEVERITIES]),
    form=st.sampled_from(["{}", "'{}'", "{{value: {}}}", "[{}]", "[{}, 1 mm]", "{{value: [{}]}}"]),
)
def test_any_value_that_the_loader_takes_is_valid(
    tmp_path: Path, key: Key, text: str, form: str
) -> None:
    value = form.format(text)
    entry = f"{key.group}: {{{key.word}: {value}}}" if key.group else f"{key.word}: {value}"
    base = "laser" if key.shapes == ("beam",) else BASES[key.methods[0]]
    profile = f"based_on: {base}\n{entry}\n"

    assert not is_loaded(tmp_path, profile) or VALIDATOR.is_valid(plain(profile))


@pytest.mark.parametrize("name", BAD)
def test_what_is_wrong_is_seen_unless_only_the_program_can(tmp_path: Path, name: str) -> None:
    assert not is_loaded(tmp_path, BAD[name])
    assert VALIDATOR.is_valid(plain(BAD[name])) == (name in BEYOND)


def test_all_that_only_the_program_can_tell_is_tried() -> None:
    assert set(BAD) >= BEYOND


@pytest.mark.parametrize("key", KEYS.values(), ids=lambda key: key.name)
def test_every_key_is_described_and_its_misspelling_refused(key: Key) -> None:
    fields = SCHEMA["properties"]
    home = fields[key.group]["properties"] if key.group else fields
    bad = {key.word + "x": 1}

    assert home[key.word]["description"].casefold().startswith(key.meaning.casefold())
    assert not VALIDATOR.is_valid({"based_on": "etch", **({key.group: bad} if key.group else bad)})


def test_every_group_is_there() -> None:
    assert set(GROUPS) <= set(SCHEMA["properties"])


def test_command_prints_it(capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["schema", "profile"])

    assert status == 0
    assert json.loads(capsys.readouterr().out) == SCHEMA


def test_unknown_schema_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["schema", "profil"])

    assert status == 2
    assert capsys.readouterr().err == (
        "cutworthy: schema profil: not known; did you mean profile?\n"
    )
