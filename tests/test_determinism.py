"""The same board gives the same bytes, whatever the process, its seed of hashes, locale or zone."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from checker.options import FORMATS

ROOT = Path(__file__).parents[1]
BOARD = "samples/rules/uncuttable-gap/bad"
SURROUNDINGS = {
    "plain locale": {"PYTHONHASHSEED": "1", "LC_ALL": "C", "PYTHONUTF8": "0", "TZ": "UTC"},
    "far east": {"PYTHONHASHSEED": "random", "LC_ALL": "C.UTF-8", "TZ": "Asia/Tokyo"},
    # Where this locale is not installed the process has the plain one.
    "Turkish": {"PYTHONHASHSEED": "random", "LC_ALL": "tr_TR.UTF-8", "TZ": "Europe/Istanbul"},
}
_TOOK = re.compile(rb"cutworthy took [\d.]+ s")  # what is meant to differ
_PROGRAM = f"""
import sys
from checker.cli import main
for name in {FORMATS!r}:
    target = sys.argv[1] + "/out." + name
    main(["check", {BOARD!r}, "--no-cache", "--no-config", "--format", name, "--output", target])
"""


def _written(surroundings: dict[str, str], folder: Path) -> dict[str, bytes]:
    """What a process of its own writes in each format, without the time that it took."""
    kept = {k: v for k, v in os.environ.items() if k not in ("LC_ALL", "LANG", "TZ")}
    done = subprocess.run(
        [sys.executable, "-c", _PROGRAM, str(folder)],
        cwd=ROOT,
        env={**kept, **surroundings},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode(errors="replace")
    return {name: _TOOK.sub(b"", (folder / f"out.{name}").read_bytes()) for name in FORMATS}


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return _written({"PYTHONHASHSEED": "0"}, tmp_path_factory.mktemp("first"))


@pytest.mark.parametrize("surroundings", SURROUNDINGS.values(), ids=SURROUNDINGS)
def test_every_format_is_the_same_to_the_byte(
    surroundings: dict[str, str], expected: dict[str, bytes], tmp_path: Path
) -> None:
    written = _written(surroundings, tmp_path)

    assert [name for name in FORMATS if written[name] != expected[name]] == []


def test_what_is_compared_holds_findings(expected: dict[str, bytes]) -> None:
    silent = [name for name in FORMATS if b"uncuttable-gap" not in expected[name]]

    assert silent == ["svg", "png"]  # pictures of it
