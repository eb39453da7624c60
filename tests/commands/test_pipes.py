"""A pipe where a file was a moment ago: the command ends at once with one line, exit status 2."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from checker.accepted import baseline_file
from checker.cli import main
from checker.process import nodes
from checker.read import package
from checker.relief import files
from tests.read.made import pack, two_sided, write
from tests.waiting import needs_pipes, no_waiting, pipe_at

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

pytestmark = needs_pipes
PATIENCE = 120  # s; whole commands, on however slow a machine


@pytest.fixture
def board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A board in the working folder."""
    monkeypatch.chdir(tmp_path)
    return write(tmp_path / "board", two_sided())


def swapped(monkeypatch: pytest.MonkeyPatch, module: ModuleType, path: Path) -> None:
    """Put a pipe in a file's place once the module has seen the file and is about to open it."""
    opened: Callable[..., object] = module.opened

    def late(asked: Path, **how: bool) -> object:
        if asked.name == path.name and path.is_file():
            pipe_at(path)
        return opened(asked, **how)

    monkeypatch.setattr(module, "opened", late)


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a command that fails says, all of it."""
    capsys.readouterr()
    with no_waiting(PATIENCE):
        status = main(list(words))
    assert status == 2
    return capsys.readouterr().err


def test_in_place_of_a_profile(
    board: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = board.parent / "mine.yaml"
    path.write_text("based_on: cone-30-0.1\n")
    swapped(monkeypatch, nodes, path)

    error = told(capsys, "reach", "./mine.yaml")

    assert error == "cutworthy: mine.yaml: cannot be read: is no ordinary file\n"


def test_in_place_of_a_baseline(
    board: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["baseline", "board"])
    [path] = board.glob(".cutworthy-baseline*")
    swapped(monkeypatch, baseline_file, path)

    error = told(capsys, "baseline", "board")

    assert error == f"cutworthy: {path.relative_to(board.parent)}: is no ordinary file\n"


def in_place_while_read(monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
    """Put a pipe in the place of a file that was read as a board's, before it is relieved."""
    seen = package.open_package

    def late(*args: object) -> object:
        found = seen(*args)  # type: ignore[arg-type]
        pipe_at(path)
        return found

    monkeypatch.setattr(package, "open_package", late)


def test_in_place_of_a_layer_that_is_to_be_relieved(
    board: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    names = sorted(str(path) for path in board.iterdir())
    in_place_while_read(monkeypatch, Path(names[0]))

    error = told(capsys, "relieve", *names, "--dry-run", "--no-config")

    assert error == f"cutworthy: {names[0]}: is no ordinary file\n"


def test_in_place_of_an_archive_that_is_to_be_relieved(
    board: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = pack(board.parent / "board.zip", two_sided())
    swapped(monkeypatch, files, path)

    error = told(capsys, "relieve", "board.zip", "--dry-run", "--no-config")

    assert error == "cutworthy: board.zip: is no ordinary file\n"
