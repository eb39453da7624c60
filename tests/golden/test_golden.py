"""What a maker sees for the sample boards; `CUTWORTHY_REWRITE=1` writes the texts anew."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from checker import cli
from checker.console import CLEAN, FAILED, FOUND

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).parent
BOARDS = "samples/boards"
COMMANDS = {
    "check-coop-door": ["check", f"{BOARDS}/coop-door"],
    "check-coop-door-flat-0.8": ["check", f"{BOARDS}/coop-door", "--profile", "flat-0.8"],
    "check-coop-door-perfboard": ["check", f"{BOARDS}/coop-door", "--profile", "perfboard"],
    "check-hive-scale": ["check", f"{BOARDS}/hive-scale"],
    "check-tide-logger": ["check", f"{BOARDS}/tide-logger"],
    "check-orchard-cam": ["check", f"{BOARDS}/orchard-cam"],
    "compare-hive-scale": [
        "compare", f"{BOARDS}/hive-scale",
        "-p", "cone-20-0.1", "-p", "cone-60-0.1", "-p", "cone-60-0.2", "-p", "flat-0.4",
    ],
    "compare-tide-logger": ["compare", f"{BOARDS}/tide-logger"],
    "reach-cone-30-0.1": ["reach", "cone-30-0.1"],
}  # fmt: skip


@pytest.mark.parametrize("name", COMMANDS)
def test_text_of_a_command(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    expected = GOLDEN / f"{name}.txt"
    monkeypatch.chdir(ROOT)

    status = cli.main(COMMANDS[name])
    shown = re.sub(r"took [\d.]+ s", "took ... s", capsys.readouterr().out)
    if os.environ.get("CUTWORTHY_REWRITE") == "1" and status != FAILED:
        expected.write_text(shown, encoding="utf-8", newline="\n")

    assert shown == expected.read_text(encoding="utf-8")
    assert status in (CLEAN, FOUND)
