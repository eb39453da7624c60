"""The board's own files as bytes, and the folder that the relieved board goes to, whole or not."""

from __future__ import annotations

import io
import os
import shutil
import zipfile
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from checker.errors import ReadError, UsageError
from checker.opened import opened
from checker.read.package import MAX_FILE, decode, is_archive, walk

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from checker.read.package import Package


def contents_of(paths: Sequence[Path], package: Package) -> dict[str, bytes]:
    """The bytes of the board's files, by the names of the package.

    Raises:
        ReadError: a file is no longer what was read or can't be read any more, or two of the files
            named have one name.
    """
    wanted = {file.name: file for file in package.files if file.format not in ("", "empty")}
    if len(wanted) < sum(file.format not in ("", "empty") for file in package.files):
        raise ReadError(package.name, "two of its files have one name", advice="rename one")
    found: dict[str, bytes] = {}
    for path in paths:
        for name, content in _files_of(path, wanted):
            text = decode(content).replace("\0", "")
            if name not in found and text == wanted[name].text:
                found[name] = content
    for name in wanted:
        if name not in found:
            raise ReadError(name, "is no longer what was read", advice="try again")
    return found


def _files_of(path: Path, wanted: Mapping[str, object]) -> Iterator[tuple[str, bytes]]:
    if path.is_dir():
        for file in walk(path, lambda *_: None):
            name = file.relative_to(path).as_posix()
            if name in wanted:
                yield name, _bounded(file, follow=False)
            elif file.suffix.lower() == ".zip":
                yield from _members(file, wanted, follow=False)
    elif is_archive(path):
        yield from _members(path, wanted, follow=True)
    elif path.name in wanted:
        yield path.name, _bounded(path, follow=True)


def _bounded(path: Path, *, follow: bool) -> bytes:
    try:
        with opened(path, follow=follow) as file, io.BufferedReader(file) as stream:
            return stream.read(MAX_FILE)
    except OSError as fault:
        raise ReadError(str(path), fault.strerror or "cannot be read") from None


def _members(
    path: Path, wanted: Mapping[str, object], *, follow: bool
) -> Iterator[tuple[str, bytes]]:
    try:
        with (
            opened(path, follow=follow) as file,
            io.BufferedReader(file) as stream,
            zipfile.ZipFile(stream) as archive,
        ):
            for info in archive.infolist():
                name = info.filename.replace("\\", "/")
                if name in wanted and not info.is_dir():
                    with archive.open(info) as member:
                        yield name, member.read(MAX_FILE)
    except OSError as fault:
        raise ReadError(path.name, fault.strerror or "cannot be read") from None
    except (zipfile.BadZipFile, RuntimeError) as fault:
        raise ReadError(path.name, f"the archive is damaged ({fault})") from None


def checked(folder: Path, inputs: Sequence[Path], force: bool) -> Path:
    """The folder to write, before any work is done for it.

    Args:
        folder: what the user named.
        inputs: files and folders of the board, which stay as they are.
        force: whether files that are there may be written over.

    Raises:
        UsageError: it is no folder, it holds something, or it lies among the board's files.
    """
    where, target = f"--output {folder}", folder.resolve()
    if target.exists() and not target.is_dir():
        raise UsageError(where, "is a file", "a folder")
    for place in (path.resolve() for path in inputs):
        home = place if place.is_dir() else place.parent
        if target == home:
            raise UsageError(where, "is where the board's own files are", "another folder")
        if place.is_dir() and place in target.parents:
            raise UsageError(
                where, "lies in the board's folder, which is read whole", "a folder beside it"
            )
    if target.is_dir() and any(target.iterdir()) and not force:
        raise UsageError(where, "is not empty", advice="name another folder, or give --force")
    if not target.parent.is_dir():
        raise UsageError(where, f"there is no folder {target.parent}")
    return target


def write(files: Mapping[str, bytes], target: Path) -> None:
    """Write files into a folder: first all of them beside it, then each in its place.

    Raises:
        UsageError: they can't be written; what was there is then unharmed.
    """
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.mkdir()
        for name, content in files.items():
            path = beside / PurePosixPath(name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        if not target.exists():
            beside.replace(target)
            return
        in_the_way = next((name for name in files if (target / name).is_dir()), None)
        if in_the_way is not None:
            raise UsageError(f"--output {target}", f"holds a folder {in_the_way}")
        for name in files:
            place = target / PurePosixPath(name)
            place.parent.mkdir(parents=True, exist_ok=True)
            (beside / PurePosixPath(name)).replace(place)
    except OSError as fault:
        raise UsageError(
            f"--output {target}", f"cannot be written: {fault.strerror or fault}"
        ) from None
    finally:
        shutil.rmtree(beside, ignore_errors=True)
