from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from checker import cli


def fault(capsys: pytest.CaptureFixture[str]) -> str:
    """What was said on standard error: exactly one line, and nothing on standard output."""
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.startswith("cutworthy: ")
    return err


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        (["chek", "board"], "did you mean check?"),
        (["check", "board", "--proflie", "laser"], "did you mean --profile?"),
        (["check", "board", "--profil=laser"], "did you mean --profile?"),
        (["check", "board", "--format", "jsn"], "did you mean json?"),
        (["check", "board", "--fail-on", "warn"], "did you mean warning?"),
        (["measure", "board", "--recah", "1"], "did you mean --reach?"),
        (["explain", "--ruls"], "known here: --help"),
    ],
)
def test_unknown_word_names_the_nearest_known_one(
    line: list[str], advice: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(line) == cli.FAILED

    assert advice in fault(capsys)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ([], "COMMAND"),
        (["check"], "BOARD"),
        (["check", "board", "--profile"], "expected one argument"),
        (["profiles", "laser", "etch"], "etch is one word too many"),
        (["check", "board", "--layer", "top"], "top is not ROLE=FILE"),
        (["measure", "board", "--reach", "-1"], "expected millimetres"),
        (["measure", "board", "--reach", "nan"], "expected millimetres"),
        (["measure", "board", "--reach", "1000"], "up to 5"),
    ],
)
def test_fault_of_the_line_is_one_line_that_says_what_is_expected(
    line: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(line) == cli.FAILED

    assert said in fault(capsys)


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (KeyboardInterrupt(), "stopped before the end"),
        (MemoryError(), "more memory than there is"),
        (RecursionError(), "nested too deeply"),
        (PermissionError(13, "Permission denied", "board"), "board: Permission denied"),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ValueError("one\ntwo\x1b[31m"), r"(ValueError: one\ntwo\x1b[31m)"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_whatever_happens_is_one_line_and_status_2(
    error: BaseException,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def explode(*_: object) -> int:
        raise error

    monkeypatch.setattr(cli, "_explain", explode)
    monkeypatch.delenv("CUTWORTHY_DEBUG", raising=False)

    assert cli.main(["explain"]) == cli.FAILED

    assert said in fault(capsys)


def test_our_own_fault_asks_for_a_report_with_the_version(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli, "_explain", lambda _: 1 // 0)
    monkeypatch.delenv("CUTWORTHY_DEBUG", raising=False)

    assert cli.main(["explain"]) == cli.FAILED

    assert re.search(r"a fault of version \d+\.\d+.*please report it", fault(capsys))


def test_our_own_fault_shows_its_traceback_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "_explain", lambda _: 1 // 0)
    monkeypatch.setenv("CUTWORTHY_DEBUG", "1")

    with pytest.raises(ZeroDivisionError):
        cli.main(["explain"])


def test_version_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == cli.CLEAN

    assert re.fullmatch(r"cutworthy \d+\.\d+\.\d+\S*\n", capsys.readouterr().out)


@pytest.mark.parametrize("command", ["check", "measure", "profiles", "explain"])
def test_help_of_every_command_fits_80_columns(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")

    assert cli.main([command, "--help"]) == cli.CLEAN

    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def run(*line: str, cwd: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a shell starts it."""
    return subprocess.run(
        [sys.executable, "-m", "checker", *line],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )
