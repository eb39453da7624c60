"""A folder of answers by key, of bounded size; shared by runs that know nothing of each other.

``<first two digits>/<key>.answer`` holds a line with what it is, and the answer, packed. Nothing
found there is trusted: what is not whole, not of this format or not under its own key is as good as
absent, and is written anew. A file appears whole or not at all. Each of the 256 folders is kept
below its share of the size by itself, so that no run ever has to look at all of them.
"""

from __future__ import annotations

import contextlib
import os
import re
import stat
import time
import zlib
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

VARIABLE = "CUTWORTHY_CACHE"
MAX_SIZE = 256 << 20  # bytes of all answers, packed
MAX_SHARE = MAX_SIZE // 256  # bytes of a folder of it
MAX_ANSWER = 64 << 20  # bytes of an answer, unpacked

_MAGIC = b"cutworthy answer 1"
_LEVEL = 1  # higher ones take twice the time for a tenth less
_CLEARING = 20  # times a folder is made anew that others clear away
_STALE = 3600  # seconds after which a file that is still being written never will be
_ENTRY = re.compile(r"[0-9a-f]{64}\.answer")
_UNFINISHED = re.compile(r"[0-9a-f]{64}\.[0-9a-f]{12}\.partial")
_READ = os.O_RDONLY | sum(
    getattr(os, name, 0) for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC")
)
_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)


def usual_folder() -> Path:
    """The folder that the environment names, else that of the system for such things.

    Raises:
        OSError: the user has no home.
    """
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_cache_path

    folder = user_cache_path("cutworthy", appauthor=False)
    if not folder.is_absolute():  # "~" that stands for nobody's home would be a folder right here
        raise FileNotFoundError(2, "no home folder", str(folder))
    return folder


class Store:
    """Answers in a folder, which is made when something is first put into it.

    Args:
        folder: where; may be absent, a file, or not ours to write. None for `usual_folder`.

    Raises:
        OSError: the user has no home.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = usual_folder() if folder is None else folder

    def get(self, key: str) -> bytes | None:
        """What was put under the key; None where nothing is, or nothing sound. Never raises."""
        path = self._path(key)
        try:
            data = _opened(_content(path), key)
        except OSError:
            return None
        if data is not None:
            with contextlib.suppress(OSError):
                os.utime(path)  # the oldest use goes first
        return data

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key, in the place of what is there.

        What is larger than a folder's share is not kept.

        Raises:
            OSError: the folder can't be written; nothing half done is left there.
        """
        packed = _header(key, body := zlib.compress(data, _LEVEL)) + body
        if len(packed) > MAX_SHARE or len(data) > MAX_ANSWER:
            return
        path = self._path(key)
        for others in reversed(range(_CLEARING)):
            try:
                self.folder.mkdir(0o700, parents=True, exist_ok=True)
                _write(path, packed)
                break
            except FileNotFoundError:  # another run has just cleared the folder away
                if not others:
                    raise
        _prune(path.parent, path.name)

    def clear(self) -> tuple[int, int]:
        """Remove all answers: how many, and how many bytes went. Nothing else is touched.

        Raises:
            OSError: one can't be removed.
        """
        count, freed = 0, 0
        for share in self._shares():
            for entry in _ours(share):
                with contextlib.suppress(FileNotFoundError):  # another run was quicker
                    size = entry.stat(follow_symlinks=False).st_size
                    os.unlink(entry.path)  # noqa: PTH108
                    count += _ENTRY.fullmatch(entry.name) is not None
                    freed += size
            with contextlib.suppress(OSError):  # not empty: something stands there that isn't ours
                share.rmdir()
        return count, freed

    def size(self) -> tuple[int, int]:
        """How many answers there are, and how many bytes all that is kept takes.

        Raises:
            OSError: the folder can't be read.
        """
        count, total = 0, 0
        for share in self._shares():
            for entry in _ours(share):
                with contextlib.suppress(FileNotFoundError):
                    size = entry.stat(follow_symlinks=False).st_size
                    answer = _ENTRY.fullmatch(entry.name) is not None
                    count, total = count + answer, total + size
        return count, total

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}.answer"

    def _shares(self) -> Iterator[Path]:
        """The folders of answers; links are passed over."""
        try:
            with os.scandir(self.folder) as found:
                entries = sorted(found, key=lambda entry: entry.name)
        except FileNotFoundError:
            return
        for entry in entries:
            if re.fullmatch("[0-9a-f]{2}", entry.name) and entry.is_dir(follow_symlinks=False):
                yield Path(entry.path)


def _ours(share: Path) -> list[os.DirEntry[str]]:
    """The plain files of a folder that are named as we name them, beginning as the folder does."""
    try:
        with os.scandir(share) as found:
            return [
                entry
                for entry in found
                if entry.name.startswith(share.name)
                and (_ENTRY.fullmatch(entry.name) or _UNFINISHED.fullmatch(entry.name))
                and entry.is_file(follow_symlinks=False)
            ]
    except FileNotFoundError:  # another run has just cleared it away
        return []


def _prune(share: Path, newest: str) -> None:
    """Remove what nobody finishes, and the oldest until a folder holds no more than its share."""
    with contextlib.suppress(OSError):  # another run may be at it
        held = []
        for entry in _ours(share):
            with contextlib.suppress(FileNotFoundError):
                found = entry.stat(follow_symlinks=False)
                if _ENTRY.fullmatch(entry.name):
                    held.append((entry.name != newest, -found.st_mtime, entry, found.st_size))
                elif found.st_mtime < time.time() - _STALE:
                    os.unlink(entry.path)  # noqa: PTH108
        total = 0
        for _, _, entry, size in sorted(held, key=lambda row: row[:2]):
            total += size
            if total > MAX_SHARE:
                with contextlib.suppress(FileNotFoundError):
                    os.unlink(entry.path)  # noqa: PTH108


def _write(path: Path, content: bytes) -> None:
    """Make a file in a folder of ours, whole or not at all."""
    with contextlib.suppress(FileExistsError):  # exist_ok asks anew: it may be cleared away by then
        path.parent.mkdir(0o700)
    unfinished = path.with_name(f"{path.stem}.{os.urandom(6).hex()}.partial")
    try:
        with os.fdopen(os.open(unfinished, _CREATE, 0o600), "wb") as stream:
            stream.write(content)
        _replace(unfinished, path)
    except BaseException:
        with contextlib.suppress(OSError):
            unfinished.unlink()
        raise


def _replace(unfinished: Path, path: Path) -> None:
    try:
        unfinished.replace(path)
    except OSError:
        if not path.is_dir() or path.is_symlink():
            raise
        path.rmdir()  # only an empty one goes
        unfinished.replace(path)


def _content(path: Path) -> bytes:
    """The bytes of a plain file that is no larger than it may be, else none."""
    descriptor = os.open(path, _READ)
    try:
        found = os.fstat(descriptor)
        fits = stat.S_ISREG(found.st_mode) and found.st_size <= MAX_SHARE
        return os.read(descriptor, MAX_SHARE) if fits else b""
    finally:
        os.close(descriptor)


def _header(key: str, body: bytes) -> bytes:
    return b"%b %b %b\n" % (
        _MAGIC,
        key.encode(),
        blake2b(body, digest_size=32).hexdigest().encode(),
    )


def _opened(content: bytes, key: str) -> bytes | None:
    """The answer in a file's content; None where anything about it is wrong."""
    header, newline, body = content.partition(b"\n")
    if header + newline != _header(key, body):
        return None
    unpacker = zlib.decompressobj()
    try:
        data = unpacker.decompress(body, MAX_ANSWER)
    except zlib.error:
        return None
    return data if unpacker.eof and not unpacker.unused_data else None
