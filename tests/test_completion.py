"""The shells themselves complete the line; those that are not installed are skipped, and say so."""

from __future__ import annotations

import os
import select
import shutil
import subprocess
from pathlib import Path

import pytest

from checker.cli import main
from checker.completion import script
from checker.options import SCHEMAS, SEVERITIES, SHELLS, parsers
from checker.process import profile_names
from checker.registry import load_rules

COMMANDS = set(parsers()[1])
CASES = {
    "commands": ("cutworthy ", COMMANDS),
    "command": ("cutworthy che", {"check"}),
    "options": ("cutworthy check --f", {"--format", "--fail-on"}),
    "choices": ("cutworthy check --fail-on ", set(SEVERITIES)),
    "profiles": ("cutworthy check board -p flat", {n for n in profile_names() if "flat" in n}),
    "rules": ("cutworthy explain tight", {n for n in load_rules() if n.startswith("tight")}),
    "schemas": ("cutworthy schema ", set(SCHEMAS)),
    "roles": ("cutworthy check --layer mask", {"mask-top=", "mask-bottom="}),
    "of-the-command": ("cutworthy reach --format y", {"yaml"}),
}
SEVEN_BIT = {**os.environ, "LC_ALL": "C", "TERM": "dumb"}


def shell(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed here")
    return found


def written(folder: Path, name: str) -> Path:
    path = folder / f"completion.{name}"
    path.write_text(script(name), encoding="utf-8")
    return path


def in_bash(folder: Path, line: str) -> set[str]:
    """What the function gives for the words of a line, as bash would split it."""
    code = (
        'source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _cutworthy\n'
        'printf "%s\\n" "${COMPREPLY[@]}"'
    )
    words = line.replace("=", " = ").split(" ")
    command = [shell("bash"), "-c", code, "bash", str(written(folder, "bash")), *words]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    assert run.stderr == ""
    return set(run.stdout.split())


def in_fish(folder: Path, line: str) -> set[str]:
    code = f"source {written(folder, 'fish')}; complete -C '{line}'"
    command = [shell("fish"), "--no-config", "-c", code]
    run = subprocess.run(
        command, capture_output=True, text=True, check=True, cwd=folder, env=SEVEN_BIT
    )
    return {entry.partition("\t")[0] for entry in run.stdout.splitlines()}


def in_zsh(folder: Path, line: str, until: str) -> str:
    """What zsh shows at a terminal once the line is typed and the key pressed."""
    zsh_itself, path = shell("zsh"), written(folder, "zsh")
    import pty  # there is none on Windows

    ours, its = pty.openpty()
    zsh = subprocess.Popen(
        [zsh_itself, "-f", "-i"], stdin=its, stdout=its, stderr=its, env=SEVEN_BIT, cwd=folder
    )
    os.close(its)
    try:
        begin = f"LISTMAX=999; autoload -Uz compinit; compinit -u -D; source {path}; echo be''gun\n"
        os.write(ours, begin.encode())
        read_until(ours, "begun")
        os.write(ours, f"{line}\t\t".encode())
        return read_until(ours, until)
    finally:
        zsh.kill()
        zsh.wait()
        os.close(ours)


def read_until(terminal: int, wanted: str) -> str:
    text = ""
    while wanted not in text and select.select([terminal], [], [], 10)[0]:
        text += os.read(terminal, 4096).decode(errors="replace")
    assert wanted in text
    return text


@pytest.mark.parametrize(("line", "wanted"), CASES.values(), ids=CASES)
def test_bash_completes(tmp_path: Path, line: str, wanted: set[str]) -> None:
    assert in_bash(tmp_path, line) == wanted


@pytest.mark.parametrize("line", ["cutworthy check --format=sa", "cutworthy measure x --format=js"])
def test_bash_completes_after_an_equals_sign(tmp_path: Path, line: str) -> None:
    assert in_bash(tmp_path, line) in ({"sarif"}, {"json"})


@pytest.mark.parametrize("line", ["cutworthy check bo", "cutworthy check --layer top=bo"])
def test_bash_leaves_files_to_readline(tmp_path: Path, line: str) -> None:
    path = written(tmp_path, "bash")

    told = subprocess.run(
        [shell("bash"), "-c", f"source {path}; complete -p cutworthy"],
        capture_output=True,
        text=True,
        check=True,
    )

    assert in_bash(tmp_path, line) == set()
    assert told.stdout == "complete -o bashdefault -o default -F _cutworthy cutworthy\n"


@pytest.mark.parametrize(("line", "wanted"), CASES.values(), ids=CASES)
def test_fish_completes(tmp_path: Path, line: str, wanted: set[str]) -> None:
    assert in_fish(tmp_path, line) == wanted


def test_fish_completes_files_where_they_may_stand(tmp_path: Path) -> None:
    (tmp_path / "board.zip").touch()

    assert in_fish(tmp_path, "cutworthy check bo") == {"board.zip"}
    assert in_fish(tmp_path, "cutworthy check x -p bo") == {"board.zip"}
    assert "board.zip" not in in_fish(tmp_path, "cutworthy explain bo")


@pytest.mark.parametrize(
    ("line", "until"),
    [
        ("cutworthy expl", "explain "),
        ("cutworthy check --fail", "--fail-on "),
        ("cutworthy check --fail-on w", "warning "),
        ("cutworthy check -p flat-0.8", "flat-0.8 "),
        ("cutworthy check bo", "board.zip "),
        ("cutworthy check x --profile bo", "board.zip "),
        ("cutworthy explain uncuttable", "uncuttable-gap "),
        ("cutworthy check --layer legend-t", "legend-top="),
        ("cutworthy reach --format y", "yaml "),
    ],
)
def test_zsh_completes(tmp_path: Path, line: str, until: str) -> None:
    (tmp_path / "board.zip").touch()

    assert until in in_zsh(tmp_path, line, until)


def test_zsh_tells_what_the_commands_do(tmp_path: Path) -> None:
    assert "list the rules" in in_zsh(tmp_path, "cutworthy ", "list the rules, or explain one")


@pytest.mark.parametrize("name", SHELLS)
def test_command_prints_the_script(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["completion", name])

    assert status == 0
    assert capsys.readouterr().out == script(name)
