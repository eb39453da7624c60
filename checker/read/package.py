"""A folder, an archive or files to named texts, with bounds: nothing here trusts its input."""

from __future__ import annotations

import io
import os
import re
import stat
import zlib
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.errors import ReadError
from checker.opened import opened
from checker.remarks import Note, Unchecked

if TYPE_CHECKING:
    import zipfile
    from collections.abc import Callable, Iterator, Sequence

MAX_DEPTH = 5  # folders below the one named
MAX_ENTRIES = 5_000  # files looked at
MAX_FILE = 16 << 20  # bytes of one file; the largest board layer seen is 1.5 MB
MAX_TOTAL = 64 << 20  # bytes of all board files; those of the largest board seen are 7 MB
MAX_DIRECTORY = 4 << 20  # bytes of an archive's list of files
MAX_RATIO = 400  # unpacked to packed bytes of one archive member; Gerber text packs 3 to 30 times

_HEAD = 4096
SKIPPED_FOLDERS = {"__MACOSX", "node_modules", "venv", "__pycache__"}
_BACKUP = re.compile(r"(~|\.bak|\.old|\.orig|\.tmp|\.swp)$", re.IGNORECASE)

# What the start of each kind of board file looks like. A Gerber file shows a parameter or a word
# that ends in "*"; a drill file its header, a tool or a sized comment; a netlist file its records.
_SIGNS = {
    "job": re.compile(r'\A\s*\{(?=[^\0]{0,4000}?"(GeneralSpecs|FilesAttributes|Overall)")'),
    "netlist": re.compile(r"^(P  (JOB|CODE|UNITS)|C  IPC-D-356|3[1-6]7.{14} )", re.MULTILINE),
    "gerber": re.compile(
        r"%([^\S\n]*\n\s*)?(FS[LTD]|MO(MM|IN)|ADD\d|AM\w|T[FAO]\.|LP[CD]|IN\w|OFA|IPPOS|ASA)"
        r"|^[^\S\n]*G0?4\b[^*\n]*\*|^(G[0-9]{2})?X[-+0-9.]+Y[-+0-9.]+(D0?[123])?\*",
        re.MULTILINE,
    ),
    "drill": re.compile(
        r"^(M48|R,T|T\d{1,3}([FSBHZ][-+.\d]+)*C[.\d]+)[^\S\n]*$|^;.*Hole ?size\b",
        re.MULTILINE | re.IGNORECASE,
    ),
    "note": re.compile(r"\A(?:(?:[ \t]*(?:#[^\n]*)?|---[ \t]*)\n)*nets[ \t]*:"),
}
# A drill file without a header: coordinates, and its end after them.
_HOLE = re.compile(
    r"^(G0\d)?X[-+]?[\d.]+(Y[-+]?[\d.]+)?(G85X.*)?[^\S\n]*$", re.MULTILINE | re.IGNORECASE
)
_END = re.compile(r"^M(30|00|16)\b", re.MULTILINE | re.IGNORECASE)
A_LINK, NO_FILE = "a link; not followed", "no ordinary file; not opened"
NOTE_NAME = (
    "board-note.yaml"  # a note goes by its name too, lest one that is misspelt is passed over
)


class SourceFile(Struct, frozen=True):
    """One board file: its name as the user would find it, what it looks like, and its text.

    Attributes:
        name: path below the folder or archive that was named.
        format: "gerber", "drill", "netlist", "job", "note", "empty", or "" where it is no board
            file.
        text: decoded, lines ending in one newline; "" where it is no board file.
        named: whether the user named this very file.
        wide: whether its letters take two bytes each.
    """

    name: str
    format: str
    text: str
    named: bool = False
    wide: bool = False


class Package(Struct, frozen=True):
    """The files of one board, by name.

    Attributes:
        name: of the folder, the archive or the first file.
        files: by name.
        notes: on what was collected.
        unchecked: what was left out though it may hold something of the board.
    """

    name: str
    files: tuple[SourceFile, ...]
    notes: tuple[Note, ...]
    unchecked: tuple[Unchecked, ...] = ()


def is_archive(path: Path) -> bool:
    """Whether a path is a zip archive."""
    if not path.is_file():
        return False
    from zipfile import is_zipfile  # takes its time to load, and a folder needs none of it

    with suppress(OSError), opened(path) as stream:
        return is_zipfile(stream)
    return False


def open_package(paths: Sequence[str | Path]) -> Package:
    """Collect the files of a board.

    A folder that holds loose board files is read from them, and archives in it are left alone;
    one that holds nothing but one archive is read from that.

    Raises:
        ReadError: nothing there, no board file among it, not readable, or beyond the bounds above.
    """
    if not paths:
        raise ReadError("board", "no file is named", "a folder, a zip archive or board files")
    collector = _Collector()
    places = [Path(path) for path in paths]
    for place in places:
        if place.is_dir():
            collector.folder(place)
        elif is_archive(place):
            collector.archive(place, place.name, named=True)
        elif place.is_file():
            collector.file(place, place.name, named=True)
        else:
            raise ReadError(
                str(place),
                "is no ordinary file or folder" if place.exists() else "there is no such file",
                advice="give a folder, a zip archive or board files",
            )
    if not any(file.format for file in collector.files):
        left = [f"{one.what}: {one.why}" for one in collector.unchecked]
        raise ReadError(
            str(places[0]),
            f"holds no board files ({left[0]})" if left else "holds no board files",
            "Gerber copper, drill files, a profile",
            "unpack it and give the folder" if left and is_archive(places[0]) else "",
        )
    first = places[0].resolve()
    shared = first.parent.name if len(places) > 1 else first.name if first.is_dir() else first.stem
    return Package(
        shared or "board",
        tuple(sorted(collector.files, key=lambda file: file.name)),
        tuple(collector.notes),
        tuple(collector.unchecked),
    )


def peek(path: Path) -> tuple[SourceFile, ...]:
    """A file, or the files in an archive, with no more of each than the first few thousand bytes.

    Raises:
        ReadError: not readable, damaged, encrypted, or beyond the bounds above.
    """
    collector = _Collector(heads=True)
    if path.suffix.lower() == ".zip":
        collector.archive(path, path.name)
    else:
        collector.file(path, path.name)
    return tuple(collector.files)


def walk(folder: Path, leave: Callable[[str, str], None], depth: int = 0) -> Iterator[Path]:
    """The files of a folder by name, then those of each folder in it; what may be missed is told.

    Raises:
        ReadError: a folder cannot be opened.
    """
    try:
        with os.scandir(folder) as opened:  # knows most kinds of entries without a look at each
            entries = sorted(opened, key=lambda entry: entry.name)
    except OSError as error:
        raise ReadError(str(folder), error.strerror or "cannot be opened") from error
    folders = []
    for entry in entries:
        if entry.name.startswith(".") or entry.name in SKIPPED_FOLDERS:
            continue
        if entry.is_symlink():
            leave(entry.name, A_LINK)
        elif entry.is_dir():
            folders.append(folder / entry.name)
        elif not entry.is_file():
            leave(entry.name, NO_FILE)
        elif not _BACKUP.search(entry.name):
            yield folder / entry.name
    for path in folders:
        if depth < MAX_DEPTH:
            yield from walk(path, leave, depth + 1)
        else:
            leave(path.name, f"folder not opened: more than {MAX_DEPTH} levels deep")


def board_format(head: str) -> str:
    """Which board format the first few thousand characters of a text belong to, or ""."""
    for name, sign in _SIGNS.items():
        if sign.search(head):
            return name
        if name == "drill" and (hole := _HOLE.search(head)) and _END.search(head, hole.end()):
            return name
    return ""


def _format(name: str, head: str) -> str:
    found = board_format(head)
    return "note" if not found and PurePosixPath(name).name.lower() == NOTE_NAME else found


class _Collector:
    """Gathers files within the bounds; or no more than the heads of them."""

    def __init__(self, *, heads: bool = False) -> None:
        self.heads = heads
        self.files: list[SourceFile] = []
        self.notes: list[Note] = []
        self.unchecked: list[Unchecked] = []
        self.entries = 0
        self.total = 0

    def folder(self, root: Path) -> None:
        archives: list[Path] = []
        before = len(self.files)
        for path in walk(root, self._leave):
            name = path.relative_to(root).as_posix()
            if path.suffix.lower() == ".zip":
                archives.append(path)
            else:
                self.file(path, name)
        names = [path.relative_to(root).as_posix() for path in archives]
        if any(file.format == "gerber" for file in self.files[before:]):
            for name in names:
                self._note(name, "archive not opened: the folder holds loose board files")
            return
        holding = []
        for path, name in zip(archives, names, strict=True):
            inside = _Collector()
            inside.archive(path, name)
            if any(file.format == "gerber" for file in inside.files):
                holding.append((name, inside))
        if len(holding) > 1:
            raise ReadError(
                str(root),
                f"several archives of boards: {', '.join(name for name, _ in holding[:5])}",
                advice="name the archive of the board that you mean",
            )
        for name, inside in holding:
            self._note(name, "the folder holds no loose Gerber files: this archive is read")
            self.files += inside.files
            self.notes += inside.notes
            self.unchecked += inside.unchecked

    def file(self, path: Path, name: str, *, named: bool = False) -> None:
        self._count(str(path))
        try:
            with opened(path, follow=named) as file, io.BufferedReader(file) as stream:
                head = stream.read(_HEAD)
                if named or (not self.heads and _format(name, decode(head))):
                    rest = stream.read(MAX_FILE)
                    if stream.read(1):
                        raise _too_large(name, "is larger")
                    head += rest
        except OSError as error:
            raise ReadError(str(path), error.strerror or "cannot be read") from error
        self._add(name, head, named=named)

    def archive(self, path: Path, name: str, *, named: bool = False) -> None:
        import lzma
        import struct
        import zipfile

        # All that the library raises where an archive is not what it says.
        broken = (
            *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError),
            *(RuntimeError, ValueError, LookupError, OverflowError, OSError),
        )
        try:
            with (
                opened(path, follow=named) as file,
                _Bounded(file) as stream,
                zipfile.ZipFile(stream) as archive,
            ):
                seen: set[str] = set()
                for info in archive.infolist():
                    self._member(archive, info, name, seen)
        except broken as error:
            raise ReadError(
                name, f"the archive is damaged ({error})", advice="make it again"
            ) from error

    def _member(
        self, archive: zipfile.ZipFile, info: zipfile.ZipInfo, name: str, seen: set[str]
    ) -> None:
        inner = info.filename.replace("\\", "/")
        where = f"{name}: {inner}"
        parts = PurePosixPath(inner).parts
        self._count(name)
        if not inner or info.is_dir() or any(p.startswith(".") and p != ".." for p in parts):
            return
        if any(p in SKIPPED_FOLDERS for p in parts) or _BACKUP.search(inner):
            return
        if ".." in parts or inner.startswith("/") or re.match(r"[A-Za-z]:", inner):
            self._leave(where, "left out: its name leads out of the archive")
        elif stat.S_ISLNK(info.external_attr >> 16):
            self._leave(where, A_LINK)
        elif inner in seen:
            self._leave(where, "left out: the archive holds this name twice")
        elif inner.lower().endswith(".zip"):
            self._leave(where, "archive inside an archive; not opened")
        elif info.flag_bits & 1:
            raise ReadError(where, "is encrypted", advice="unpack the archive and give the folder")
        else:
            seen.add(inner)
            self._add(inner, self._unpack(archive, info, where))

    def _unpack(self, archive: zipfile.ZipFile, info: zipfile.ZipInfo, where: str) -> bytes:
        with archive.open(info) as stream:
            head = stream.read(_HEAD)
            if self.heads or not _format(info.filename, decode(head)):
                return head
            # The size in the archive's directory may lie: only what is unpacked counts.
            limit = min(MAX_FILE, max(1 << 20, MAX_RATIO * info.compress_size))
            content = head + stream.read(limit)
            if stream.read(1):
                raise _too_large(where, "is packed suspiciously tight, or larger")
        return content

    def _add(self, name: str, content: bytes, *, named: bool = False) -> None:
        text = decode(content)
        kind = _format(name, text[:_HEAD]) or (board_format(text) if named else "")
        if not text.strip("\0 \t\n\x1a"):
            kind = "empty"
        elif kind:
            self.total += len(content)
            if self.total > MAX_TOTAL:
                raise ReadError(
                    name,
                    f"the board files hold more than {MAX_TOTAL >> 20} MB",
                    advice="name fewer",
                )
            if "\0" in text:
                self._note(name, "holds NUL bytes; they are left out")
                text = text.replace("\0", "")
        if named and name.lower().endswith(".zip"):  # whatever is in it stands there as it is
            found = "is empty" if kind == "empty" else "is no archive, or one that is cut off"
            raise ReadError(name, found, "a zip archive", "make it or fetch it again")
        if named and kind in ("", "empty"):
            found = "is empty" if kind else "is no board file"
            raise ReadError(
                name,
                found,
                "a Gerber, Excellon or IPC-D-356 file",
                "export them from the layout program",
            )
        self.files.append(SourceFile(name, kind, text if kind else "", named, is_wide(content)))

    def _count(self, where: str) -> None:
        self.entries += 1
        if self.entries > MAX_ENTRIES:
            raise ReadError(
                where, f"holds more than {MAX_ENTRIES} files", advice="give the board's own folder"
            )

    def _leave(self, name: str, why: str) -> None:
        self.unchecked.append(Unchecked(name, why))

    def _note(self, name: str, text: str) -> None:
        self.notes.append(Note(name, 0, text))


class _Bounded(io.BufferedReader):
    """An archive's file, of which no reader takes a list of files beyond all bounds at once."""

    def read(self, size: int | None = -1, /) -> bytes:
        """As of any file, but no more than `MAX_DIRECTORY` where a size is given."""
        if size is not None and size > MAX_DIRECTORY:
            raise ValueError(f"its list of files takes more than {MAX_DIRECTORY >> 20} MB")
        return super().read(size)


def _too_large(name: str, how: str) -> ReadError:
    return ReadError(
        name,
        f"{how} than {MAX_FILE >> 20} MB",
        f"a board file of {MAX_FILE >> 20} MB at most",
        "leave it out if it is none, else export it anew",
    )


def is_wide(content: bytes) -> bool:
    """Whether it begins with the mark of UTF-16."""
    return content.startswith((b"\xff\xfe", b"\xfe\xff"))


def decode(content: bytes) -> str:
    """UTF-8 with or without mark, UTF-16 with mark, else Latin-1, which maps every byte."""
    if is_wide(content):
        text = content.decode("utf-16", errors="replace")
    else:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = content.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n")
