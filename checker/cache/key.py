"""What an answer follows from, as one name: an equal name means an equal answer.

An answer follows from

* the texts of the board, their names, what collecting them told, and what the user says of them,
  roles and title: `checker.read.read_package` is given nothing else;
* the process with every field: a rule may read any of them, and messages quote some;
* the other processes of the run: how far they reach is how far the board is measured, and a width
  is measured to its bound of error, not to the last digit whatever else is looked for;
* the code and the tables that read, measure and judge: each ``.py`` and ``.yaml`` file of the two
  packages by content, so that an edit in a clone counts as much as another version. Left out are
  the folders in `LATER`, which nothing imports that has a part in an answer;
* the libraries that compute, by the list of files of their installed distributions (RECORD), which
  holds a digest of each, those of GEOS in the wheel included. Where a distribution has no such list
  its name and version stand for it, and a GEOS of the system may change behind it;
* Python and the kind of machine, by which the last digit of a number may differ.

Rules read no clock, no network and no environment. What is accepted depends on the day and is
never kept. In the preimage every value has its kind and its length, so that no two read alike.
"""

from __future__ import annotations

import enum
import importlib.util
import os
import struct
import sys
from collections.abc import Mapping
from datetime import date
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from checker.process.model import Process
    from checker.read.package import Package

FORMAT = 1  # of what is kept; another makes a stranger of all that was kept before
LATER = (
    "accepted", "calibration", "commands", "comparison", "config", "coupon", "limits", "odds",
    "schema",
)  # fmt: skip
PACKAGES = {"checker": LATER, "rules": ()}  # by name: the engine does not import its rules
LIBRARIES = {"numpy": "numpy", "shapely": "shapely", "rtree": "rtree", "yaml": "pyyaml"}
"""Packages that compute, and the distributions that bring them."""

_SUFFIXES = (".py", ".yaml")
_DEEPEST = 16  # folders below a package; deeper leads only a link back to where it stands


def keys_of(
    package: Package,
    title: str | None,
    layers: Mapping[str, str | Sequence[str]],
    processes: Sequence[Process],
    relieved: bool = False,
) -> tuple[str, ...]:
    """The names, 64 hexadecimal digits, of the answers for a board and each of its processes.

    Args:
        package: the texts of the board.
        title: what a report calls the board; None for the package's own name.
        layers: role to file name or names, as the user gave them.
        processes: all that the board is measured for at once, in any order.
        relieved: whether reports mention relief.

    Raises:
        OSError: the tool's own files or libraries cannot be found or read.
    """
    board = _digest(preimage(judge(), package, title, layers, relieved))
    each = [_digest(preimage(process)) for process in processes]
    together = sorted(set(each))
    return tuple(_digest(preimage(board, together, own)).hex() for own in each)


def preimage(*values: object) -> Iterator[bytes]:
    """Plain values one after the other so that no others read alike; lists are as tuples.

    Raises:
        TypeError: a value that is not plain.
    """
    for value in values:
        match value:
            case enum.Enum():  # before the rest: its members may be texts or numbers as well
                yield from _sized(b"e", f"{type(value).__qualname__}.{value.name}".encode())
            case str():
                yield from _sized(b"s", value.encode("utf-8", "surrogatepass"))
            case bytes():
                yield from _sized(b"b", value)
            case None | bool():
                yield b"N" if value is None else b"T" if value else b"F"
            case int():
                yield from _sized(b"i", str(value).encode())
            case float():
                yield b"f" + struct.pack(">d", value)
            case date():
                yield from _sized(b"d", value.isoformat().encode())
            case tuple() | list():
                yield _head(b"l", len(value))
                yield from preimage(*value)
            case Mapping():
                yield _head(b"m", len(value))
                for pair in value.items():
                    yield from preimage(*pair)
            case Struct():
                yield from _sized(b"r", type(value).__qualname__.encode())
                fields = value.__struct_fields__
                yield from preimage({name: getattr(value, name) for name in fields})
            case _:
                raise TypeError(f"{type(value).__name__} is no plain value")


def _sized(kind: bytes, content: bytes) -> Iterator[bytes]:
    yield _head(kind, len(content))
    yield content


def _head(kind: bytes, length: int) -> bytes:
    return kind + struct.pack(">Q", length)


def _digest(pieces: Iterable[bytes]) -> bytes:
    digest = blake2b(digest_size=32)
    for piece in pieces:
        digest.update(piece)
    return digest.digest()


@cache
def judge() -> bytes:
    """A digest of what judges: tool, rules, libraries, Python, machine. Made once a run.

    Raises:
        OSError: a package or a distribution is not there, or cannot be read.
    """
    packages = [
        (name, list(sources_of(folder_of(name), without))) for name, without in PACKAGES.items()
    ]
    libraries = [list(build_of(*library)) for library in LIBRARIES.items()]
    machine = os.uname().machine if hasattr(os, "uname") else ""  # else the version tells it
    python = (sys.version, sys.platform, machine, sys.byteorder)
    return _digest(preimage(FORMAT, packages, libraries, python))


def folder_of(name: str) -> Path:
    """The folder of a package, which is not imported for that.

    Raises:
        OSError: there is no such package.
    """
    spec = importlib.util.find_spec(name)
    for place in (spec.submodule_search_locations or ()) if spec else ():
        return Path(place)
    raise FileNotFoundError(2, "no such package", name)


def sources_of(
    folder: Path, without: Sequence[str] = (), above: str = "", depth: int = 0
) -> Iterator[tuple[str, bytes]]:
    """Name and content of every source file below a folder, in the order of names.

    Args:
        folder: where.
        without: names of folders in it that are left out.
        above: what names begin with.
        depth: how many folders were entered.

    Raises:
        OSError: not there, not readable, or folders in folders without end.
    """
    if depth > _DEEPEST:
        raise OSError(40, "folders in folders without end", str(folder))
    with os.scandir(folder) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        if entry.name.endswith(_SUFFIXES):
            yield above + entry.name, _content(entry.path)
        elif entry.name not in ("__pycache__", *without) and entry.is_dir():
            yield from sources_of(Path(entry.path), (), f"{above}{entry.name}/", depth + 1)


def _content(path: str) -> bytes:
    """The bytes of a file, in half the time that `Path.read_bytes` takes for hundreds of them."""
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    try:
        return b"".join(iter(lambda: os.read(descriptor, 1 << 20), b""))
    finally:
        os.close(descriptor)


def build_of(package: str, distribution: str) -> Iterator[tuple[str, bytes]]:
    """Name of the distribution that brought a package, with its list of files; never empty.

    Looked for beside the package: `importlib.metadata` takes as long as all the rest of a hit, and
    is asked only where nothing is there.

    Raises:
        OSError: there is no such package, or no such distribution.
    """
    folder = folder_of(package).parent
    names = [name for name in os.listdir(folder) if _brings(name, distribution)]  # noqa: PTH208
    for name in sorted(names):
        record = folder / name / "RECORD"
        yield name, record.read_bytes() if record.is_file() else b""
    if not names:
        from importlib.metadata import PackageNotFoundError, version

        try:
            yield version(distribution), b""
        except PackageNotFoundError:
            raise FileNotFoundError(2, "no such distribution", distribution) from None


def _brings(name: str, distribution: str) -> bool:
    lower = name.lower()
    return lower.startswith(f"{distribution}-") and lower.endswith((".dist-info", ".egg-info"))
