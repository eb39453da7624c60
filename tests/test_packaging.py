"""The wheel holds what the source tree holds; interface and house stay as they are."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import checker
import rules

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "checker", "rules", "tests", "samples"}
# Folders of one machine, wherever they stand in a line; written so that this file holds none.
MACHINE_PATH = re.compile(rb"/(?:home|Users|root|work|tmp|var/tmp)" + rb"/\w|[A-Z]:\\Users\\")


def committed() -> list[str]:
    """Every file under version control, or that is about to be."""
    if not (ROOT / ".git").exists():
        pytest.skip("not run from a clone: there is no list of the project's own files")
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True)
    return [name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]


def wheel_files() -> set[str]:
    from hatchling.builders.wheel import WheelBuilder

    return {f.distribution_path for f in WheelBuilder(str(ROOT)).recurse_included_files()}


def test_wheel_top_level_is_two_packages() -> None:
    assert {name.partition("/")[0] for name in wheel_files()} == {"checker", "rules"}


def test_every_source_and_data_file_ships() -> None:
    source = {
        path.relative_to(ROOT).as_posix()
        for package in ("checker", "rules")
        for path in (ROOT / package).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }

    assert wheel_files() == source


def test_engine_and_rules_come_from_one_place() -> None:
    assert Path(str(checker.__file__)).parents[1] == Path(str(rules.__file__)).parents[1]


def test_top_level_is_as_fixed() -> None:
    entries = {name.partition("/")[0] for name in committed()}

    assert {entry for entry in entries if not entry.startswith(".")} == TOP_LEVEL


def test_no_file_holds_a_path_of_a_machine() -> None:
    found = [name for name in committed() if MACHINE_PATH.search((ROOT / name).read_bytes())]

    assert found == []


def test_public_interface_is_small_and_whole() -> None:
    assert len(checker.__all__) <= 18
    assert sorted(checker.__all__) == list(checker.__all__)
    assert [name for name in checker.__all__ if getattr(checker, name, None) is None] == []
    assert set(checker.__all__) <= set(dir(checker))


def test_public_names_are_what_their_modules_define() -> None:
    from checker.engine import check
    from checker.measure import measure
    from checker.process import load_profile
    from checker.read import read_board

    assert checker.check is check
    assert checker.measure is measure
    assert checker.load_profile is load_profile
    assert checker.read_board is read_board


@pytest.mark.parametrize(
    "before", ["", "import checker.measure.facts", "import checker.engine", "checker.measure"]
)
def test_measure_is_the_function_whatever_was_imported_before(before: str) -> None:
    code = f"import checker\n{before}\nfrom checker import measure\nprint(measure.__name__)"

    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert run.stdout == "measure\n"


def test_unknown_public_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'mesure'"):
        checker.mesure  # noqa: B018 - asking is the test


def test_version_is_that_of_the_distribution() -> None:
    declared = re.search(r'^version = "(.+)"$', (ROOT / "pyproject.toml").read_text(), re.MULTILINE)

    assert declared is not None
    assert checker.__version__ == declared[1]


def loaded(line: list[str], libraries: set[str]) -> str:
    """Which of some libraries a command loads."""
    code = (
        "import sys\nfrom checker.cli import main\n"
        f"main({line!r})\n"
        f"print({libraries!r} & set(sys.modules), file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stderr


@pytest.mark.parametrize("option", ["--version", "--help"])
def test_start_does_not_wait_for_heavy_libraries(option: str) -> None:
    assert loaded([option], {"numpy", "rich", "rtree", "shapely", "yaml"}) == "set()\n"


@pytest.mark.parametrize("command", [["check", "--no-cache"], ["compare"]])
def test_no_board_waits_for_libraries_that_only_calibrations_and_odds_need(
    command: list[str],
) -> None:
    """They take as long to load as a small board to judge."""
    board = str(ROOT / "samples" / "boards" / "hive-scale")

    assert loaded([*command, board], {"scipy", "numpy.random"}) == "set()\n"
