from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path

import pytest
from msgspec import Struct

from checker.report import text
from checker.report.progress import progress
from tests.examples import quick
from tests.report import made

ROOT = Path(__file__).parents[2]
BOARD = str(ROOT / "samples" / "boards" / "coop-door")
COLOUR = re.compile(rb"\x1b\[[\d;]*(?:3\d|9\d|4\d)[\d;]*m")
posix = pytest.mark.skipif(os.name != "posix", reason="pseudo terminals are a thing of POSIX")


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def shown(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, **settings: str) -> str:
    """What two steps leave on standard error."""
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    for name, value in {"TERM": "xterm", **settings}.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "stderr", stream)

    with progress(2) as tell:
        tell("Reading a board")
        tell("Judging [bold]\x1b[31m\nit")

    return stream.getvalue()


def test_steps_are_told_on_a_terminal_and_taken_back(monkeypatch: pytest.MonkeyPatch) -> None:
    told = shown(monkeypatch, Terminal())

    assert r"Judging [bold]\x1b[31m\nit" in told
    assert told.endswith("\x1b[2K")  # the line is erased
    assert "\x1b[?25h" in told  # and the cursor shown again


@pytest.mark.parametrize("term", ["dumb", "unknown", "DUMB"])
def test_nothing_is_told_to_a_terminal_that_cannot_take_it_back(
    term: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert shown(monkeypatch, Terminal(), TERM=term) == ""


@pytest.mark.parametrize("name", ["FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE"])
def test_nothing_is_told_to_a_pipe_whatever_the_settings(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert shown(monkeypatch, io.StringIO(), **{name: "1"}) == ""


def test_an_old_console_of_windows_gets_no_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rich.console.detect_legacy_windows", lambda: True)

    told = shown(monkeypatch, Terminal())
    report = text.render(text.reports_text([made.report(made.board())], 0.1), Terminal())

    assert told == ""
    assert "\x1b" not in report


NONE: Mapping[str, str] = {}


class Ended(Struct, frozen=True):
    """What a command wrote to its terminal, and to the pipe beside it."""

    status: int
    terminal: bytes
    piped: bytes


def in_terminal(
    *line: str, both: bool, columns: int = 80, settings: Mapping[str, str] = NONE
) -> Ended:
    """A command whose standard error is a terminal, or ``both`` streams."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES", "TERM")
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "checker", *line],
        cwd=ROOT,
        env={**kept, "TERM": "xterm", **settings},
        stdin=subprocess.DEVNULL,
        stdout=theirs if both else subprocess.PIPE,
        stderr=theirs,
    )
    os.close(theirs)
    piped = b""
    seen: list[bytes] = []
    reader = threading.Thread(target=_drain, args=(ours, seen))
    reader.start()
    if process.stdout is not None:
        piped = process.stdout.read()
        process.stdout.close()
    status = process.wait()
    reader.join()
    os.close(ours)
    return Ended(status, b"".join(seen), piped)


def _drain(terminal: int, seen: list[bytes]) -> None:
    """Read until the other end is closed, which Linux tells by an error."""
    while True:
        try:
            part = os.read(terminal, 65536)
        except OSError:
            return
        if not part:
            return
        seen.append(part)


@posix
def test_progress_goes_to_the_terminal_and_never_into_the_report() -> None:
    ended = in_terminal("check", BOARD, "--format", "json", both=False)

    assert ended.status == 0
    assert b"Reading coop-door" in ended.terminal
    assert ended.piped.startswith(b'{\n "schema": "cutworthy.report/1"')
    assert b"\x1b" not in ended.piped


@posix
def test_report_follows_the_erased_progress_with_colour() -> None:
    ended = in_terminal("check", BOARD, both=True)

    progress, _, report = ended.terminal.rpartition(b"\x1b[2K")
    assert b"Reading coop-door" in progress
    assert COLOUR.search(report)
    assert b"Makeable" in report
    assert b"Reading" not in report


@posix
@pytest.mark.parametrize(
    "settings", [{"NO_COLOR": "1"}, {"TERM": "dumb"}], ids=["NO_COLOR", "dumb terminal"]
)
def test_no_colour_where_none_is_wanted(settings: dict[str, str]) -> None:
    ended = in_terminal("check", BOARD, both=True, settings=settings)

    assert COLOUR.search(ended.terminal) is None
    assert b"Makeable: coop-door" in ended.terminal


@posix
@pytest.mark.parametrize(
    ("columns", "told", "most", "term"),
    quick(
        [
            (*width, term)
            for width in [(50, None, 50), (200, None, 120), (80, "60", 60)]
            for term in ("xterm", "dumb")
        ],
        [(50, None, 50, "xterm"), (200, None, 120, "dumb"), (80, "60", 60, "xterm")],
    ),
)
def test_lines_fit_the_width_of_the_terminal(
    columns: int, told: str | None, most: int, term: str
) -> None:
    settings = {"TERM": term} if told is None else {"TERM": term, "COLUMNS": told}

    ended = in_terminal("check", BOARD, both=True, columns=columns, settings=settings)

    report = ended.terminal.rpartition(b"\x1b[2K")[2]
    bare = re.sub(rb"\x1b\[[\d;?]*[A-Za-z]", b"", report).decode()
    assert most - 15 < max(map(len, bare.splitlines())) <= most


@posix
def test_a_picture_is_not_thrown_at_a_terminal() -> None:
    ended = in_terminal("check", BOARD, "--format", "png", both=True)

    assert ended.status == 2
    assert ended.terminal == (
        b"cutworthy: --format png: is no text for a terminal; add --output\r\n"
    )
