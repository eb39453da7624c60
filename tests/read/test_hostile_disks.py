"""What lies on a disk and is no file to read, or not the one it was: one clear line, no waiting."""

from __future__ import annotations

import os
import socket
from typing import TYPE_CHECKING, Any

import pytest

from checker.board import Unchecked
from checker.errors import ReadError
from checker.opened import opened
from checker.read import package, read_board
from checker.read.boards import boards_of
from checker.read.package import open_package
from tests.read.limited import read_within_limits
from tests.read.made import gerber, pack, pads, two_sided, write
from tests.waiting import needs_pipes, no_waiting, pipe_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

FLASH = "D10*X0Y0D03*"


def meddled(monkeypatch: pytest.MonkeyPatch, change: Callable[[Path], object]) -> None:
    """Let something happen to each file after it was seen and before it is opened."""
    seen = package.walk

    def walk(*args: Any) -> Iterator[Path]:
        for path in seen(*args):
            change(path)
            yield path

    monkeypatch.setattr(package, "walk", walk)


def meddled_while_open(monkeypatch: pytest.MonkeyPatch, change: Callable[[], object]) -> None:
    """Let something happen after the head of a file was read and before the rest is."""
    decode = package.decode

    def changing(content: bytes) -> str:
        change()
        return decode(content)

    monkeypatch.setattr(package, "decode", changing)


# Pipes, sockets, devices


@needs_pipes
def test_pipe_named_as_the_board(tmp_path: Path) -> None:
    pipe_at(tmp_path / "top.gtl")

    with no_waiting(), pytest.raises(ReadError, match="is no ordinary file or folder"):
        open_package([tmp_path / "top.gtl"])


@needs_pipes
def test_pipe_among_boards_that_are_looked_for(tmp_path: Path) -> None:
    write(tmp_path, two_sided())
    pipe_at(tmp_path / "x.zip")

    with no_waiting():
        assert boards_of([str(tmp_path)]) == [(tmp_path,)]


@needs_pipes
def test_pipe_in_a_folder_is_told_and_not_opened(tmp_path: Path) -> None:
    write(tmp_path, two_sided())
    pipe_at(tmp_path / "top.gtl")

    with no_waiting():
        found = open_package([tmp_path])

    assert {file.name for file in found.files} == set(two_sided())
    assert [left.why for left in found.unchecked] == ["no ordinary file; not opened"]


def test_socket_in_a_folder_is_told_and_not_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, two_sided())
    monkeypatch.chdir(tmp_path)  # the name of a socket is short
    with socket.socket(socket.AF_UNIX) as end:
        end.bind("top.gtl")

        found = open_package([tmp_path])

    assert [left.what for left in found.unchecked] == ["top.gtl"]


@needs_pipes
@pytest.mark.parametrize("name", ["b-F_Cu.gbr", "b.zip"])
def test_file_that_becomes_a_pipe_before_it_is_opened(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack(tmp_path / "b.zip", two_sided())
    write(tmp_path, {} if name == "b.zip" else two_sided())

    def replace(path: Path) -> None:
        if path.name == name:
            pipe_at(path)

    meddled(monkeypatch, replace)

    with no_waiting(), pytest.raises(ReadError, match="is no ordinary file"):
        open_package([tmp_path])


@needs_pipes
def test_named_file_that_becomes_a_pipe_before_it_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path, two_sided()) / "b-F_Cu.gbr"
    monkeypatch.setattr(package, "is_archive", pipe_at)  # the last that is asked of it
    monkeypatch.setattr(type(path), "is_file", lambda _: True)

    with no_waiting(), pytest.raises(ReadError, match="is no ordinary file"):
        open_package([path])


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null"])
def test_device_without_end_named_as_the_board(device: str) -> None:
    with no_waiting(), pytest.raises(ReadError, match="is no ordinary file or folder"):
        open_package([device])


def test_device_that_a_link_in_a_folder_leads_to(tmp_path: Path) -> None:
    (write(tmp_path, two_sided()) / "top.gtl").symlink_to("/dev/zero")

    with no_waiting():
        found = open_package([tmp_path])

    assert found.unchecked == (Unchecked("top.gtl", "a link; not followed"),)


def test_device_is_not_read_whoever_opens_it(tmp_path: Path) -> None:
    (tmp_path / "top.gtl").symlink_to("/dev/zero")

    with pytest.raises(OSError, match="is no ordinary file"), opened(tmp_path / "top.gtl"):
        pass


# Links


def test_link_in_a_folder_that_leads_out_of_it(tmp_path: Path) -> None:
    outside = write(tmp_path / "outside", {"top.gtl": gerber(pads((1, 1)))})
    board = write(tmp_path / "board", two_sided())
    (board / "link.gtl").symlink_to(outside / "top.gtl")
    (board / "folder").symlink_to(outside)

    found = open_package([board])

    assert {file.name for file in found.files} == set(two_sided())
    assert {left.what for left in found.unchecked} == {"link.gtl", "folder"}


def test_file_that_becomes_a_link_out_of_the_folder_before_it_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    outside = write(tmp_path / "outside", {"top.gtl": gerber(FLASH)}) / "top.gtl"
    board = write(tmp_path / "board", two_sided())

    def replace(path: Path) -> None:
        path.unlink()
        path.symlink_to(outside)

    meddled(monkeypatch, replace)

    with pytest.raises(ReadError, match="is a link; not followed"):
        open_package([board])


def test_link_that_the_user_names_is_followed(tmp_path: Path) -> None:
    folder = write(tmp_path / "board", two_sided())
    archive = pack(tmp_path / "b.zip", two_sided())
    for name, target in {"a": folder, "b": archive, "c.gbr": folder / "b-F_Cu.gbr"}.items():
        (tmp_path / name).symlink_to(target)

    found = [open_package([tmp_path / name]) for name in ("a", "b", "c.gbr")]

    assert [len(package.files) for package in found] == [len(two_sided()), len(two_sided()), 1]


# Folders


@pytest.mark.parametrize("name", ["b-F_Cu.gbr", "top.gtl", "b.zip", "b.drl"])
def test_folder_named_like_a_file(name: str, tmp_path: Path) -> None:
    (tmp_path / name).mkdir()
    write(tmp_path / name, two_sided())

    assert {file.name for file in open_package([tmp_path / name]).files} == set(two_sided())
    assert {file.name for file in open_package([tmp_path]).files} == {
        f"{name}/{file}" for file in two_sided()
    }


def test_folder_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Simulated: whoever runs the tests as root may read every folder."""

    def refused(path: Path) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(os, "scandir", refused)

    with pytest.raises(ReadError, match="Permission denied"):
        open_package([write(tmp_path, two_sided())])


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Simulated, as above."""

    def refused(path: Path, flags: int) -> int:
        raise PermissionError(13, "Permission denied", str(path))

    write(tmp_path, two_sided())
    monkeypatch.setattr(os, "open", refused)

    with pytest.raises(ReadError, match="Permission denied"):
        open_package([tmp_path])


@pytest.mark.parametrize("format", ["folder", "archive"])
def test_names_that_differ_in_capitals_alone_are_two_files(format: str, tmp_path: Path) -> None:
    files = {"TOP.GTL": gerber(FLASH), "top.gtl": gerber(pads((1, 1)))}
    path = write(tmp_path, files) if format == "folder" else pack(tmp_path / "b.zip", files)

    with pytest.raises(ReadError, match="looks like the top copper too"):
        read_board([path])


# Files that are large or change


@pytest.mark.parametrize("head", ["", gerber(FLASH)])
def test_file_of_two_gigabytes(tmp_path: Path, head: str) -> None:
    path = write(tmp_path, {"top.gtl": head}) / "top.gtl"
    os.truncate(path, 2 << 30)  # sparse: it takes no room

    assert "is larger than 16 MB" in read_within_limits(path)


def test_file_that_goes_away_while_the_folder_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    meddled(monkeypatch, lambda path: path.unlink())

    with pytest.raises(ReadError, match="No such file"):
        open_package([write(tmp_path, two_sided())])


def test_file_that_becomes_a_folder_while_the_folder_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def replace(path: Path) -> None:
        path.unlink()
        path.mkdir()

    meddled(monkeypatch, replace)

    with pytest.raises(ReadError, match="Is a directory"):
        open_package([write(tmp_path, two_sided())])


def test_file_that_grows_while_the_folder_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    meddled(monkeypatch, lambda path: os.truncate(path, 2 << 30))

    with pytest.raises(ReadError, match="is larger than 16 MB"):
        open_package([write(tmp_path, two_sided())])


def test_file_that_is_emptied_while_the_folder_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    meddled(monkeypatch, lambda path: os.truncate(path, 0))

    with pytest.raises(ReadError, match=r"b-B_Cu.gbr, b-F_Cu.gbr: holds no layer data"):
        read_board([write(tmp_path, two_sided())])


@pytest.mark.parametrize("size", [0, 40, 1 << 16])
def test_file_that_is_cut_or_grows_while_it_is_read(
    size: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path, two_sided()) / "b-F_Cu.gbr"
    meddled_while_open(monkeypatch, lambda: os.truncate(path, size))

    with pytest.raises(ReadError, match="changed while it was read"):
        open_package([tmp_path])


def test_file_that_is_written_over_while_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path, two_sided()) / "b-F_Cu.gbr"
    os.utime(path, ns=(0, 0))
    meddled_while_open(monkeypatch, lambda: path.write_bytes(path.read_bytes()))

    with pytest.raises(ReadError, match="changed while it was read"):
        open_package([tmp_path])


def test_archive_that_changes_while_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = pack(tmp_path / "b.zip", two_sided())
    meddled_while_open(monkeypatch, lambda: os.utime(path, ns=(0, 0)))

    with pytest.raises(ReadError, match="changed while it was read"):
        open_package([path])
