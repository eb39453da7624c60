from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from checker.errors import UsageError
from checker.read.boards import boards_of, titles_of


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two folders, an archive and two loose files."""
    monkeypatch.chdir(tmp_path)
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    for name in ("top.gbr", "holes.drl"):
        (tmp_path / name).write_text("")
    with zipfile.ZipFile(tmp_path / "three.zip", "w"):
        pass
    return tmp_path


@pytest.mark.parametrize(
    ("named", "boards"),
    [
        (["one"], [["one"]]),
        (["three.zip"], [["three.zip"]]),
        (["top.gbr", "holes.drl"], [["top.gbr", "holes.drl"]]),
        (["one", "two", "three.zip"], [["one"], ["two"], ["three.zip"]]),
        (["one", "two", "one"], [["one"], ["two"]]),
        (["one", "holes.drl"], [["one", "holes.drl"]]),
        (["absent"], [["absent"]]),
    ],
    ids=lambda value: " ".join(map(str, value)),
)
@pytest.mark.usefixtures("place")
def test_each_folder_and_archive_is_a_board_and_loose_files_are_one(
    named: list[str], boards: list[list[str]]
) -> None:
    assert [[str(path) for path in board] for board in boards_of(named)] == boards


@pytest.mark.parametrize("loose", ["top.gbr", "absent"])
@pytest.mark.usefixtures("place")
def test_files_beside_several_boards_could_be_of_any(loose: str) -> None:
    with pytest.raises(UsageError, match=f"{loose}: stands beside 2 folders or archives"):
        boards_of(["one", "two", loose])


def test_boards_that_share_their_last_name_are_called_as_they_were_named() -> None:
    boards = [(Path("x/main"),), (Path("y/main"),), (Path("z/panel"),)]

    assert titles_of(boards) == [str(Path("x/main")), str(Path("y/main")), None]
