"""What a maker sees for each sample board; `CUTWORTHY_REWRITE=1` writes the texts anew."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from checker import cli

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).parent
CHECKS = {
    "coop-door": ["coop-door"],
    "coop-door-flat-0.8": ["coop-door", "--profile", "flat-0.8"],
    "hive-scale": ["hive-scale"],
    "tide-logger": ["tide-logger"],
    "orchard-cam": ["orchard-cam"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_text_of_a_sample_board(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    board, *options = CHECKS[name]
    expected = GOLDEN / f"check-{name}.txt"
    monkeypatch.chdir(ROOT)

    status = cli.main(["check", f"samples/boards/{board}", *options])
    shown = re.sub(r"took [\d.]+ s", "took ... s", capsys.readouterr().out)
    if os.environ.get("CUTWORTHY_REWRITE") == "1" and status != cli.FAILED:
        expected.write_text(shown, encoding="utf-8", newline="\n")

    assert shown == expected.read_text(encoding="utf-8")
    assert status in (cli.CLEAN, cli.FOUND)
