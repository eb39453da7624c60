"""What a maker sees for each sample board; `CUTWORTHY_REWRITE=1` writes the texts anew."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from checker import cli

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).parent
BOARDS = ["coop-door", "hive-scale", "tide-logger", "orchard-cam"]


@pytest.mark.parametrize("board", BOARDS)
def test_text_of_a_sample_board(
    board: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    expected = GOLDEN / f"check-{board}.txt"
    monkeypatch.chdir(ROOT)

    status = cli.main(["check", f"samples/boards/{board}"])
    shown = re.sub(r"took [\d.]+ s", "took ... s", capsys.readouterr().out)
    if os.environ.get("CUTWORTHY_REWRITE") == "1":
        expected.write_text(shown, encoding="utf-8", newline="\n")

    assert shown == expected.read_text(encoding="utf-8")
    assert status in (cli.CLEAN, cli.FOUND)
