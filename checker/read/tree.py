"""Which boards lie in a folder and below it, told by the copper that the heads of files promise.

One board cannot have two top layers. A folder that holds loose board files itself is one board.
Of any other the files below are looked at: where two folders hold copper of one side, or copper
comes in several archives, there are several boards, and each is the highest folder that holds no
other. So the drill files beside a folder of Gerber files stay with their board. An archive beside
the loose files of one board, mostly those same files packed, is left alone, as it is in a board.
"""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.errors import ReadError, UsageError
from checker.read.package import MAX_ENTRIES, peek, walk

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from checker.read.package import SourceFile

_SIDES = frozenset({"top", "bottom"})
_COMMAND = re.compile(r"[\s*]*(%|[NGDMXYIJ]\d)")  # how a Gerber file begins, but no text about one


class _Loose(Struct, frozen=True):
    """Loose board files: those of a folder, or of a folder and those below it.

    Attributes:
        copper: their layers of copper.
        unknown: whether there is a Gerber file that could be copper.
        other: a file that a board is read with besides, None where there is none.
    """

    path: Path
    copper: frozenset[str]
    unknown: bool
    other: Path | None


def boards_below(root: Path) -> list[Path]:
    """The boards of a folder in the order of their paths; the folder itself where it is one.

    Raises:
        ReadError: a folder or file cannot be read.
        UsageError: files that could be of any of several boards.
    """
    found = _found(root)
    if found is None:
        return [root]
    loose, packed = found
    archives, unsure = _archives(packed, loose)
    boards = _split(root, loose, archives)
    # What cannot be told is named like a board, lest it passes for checked.
    return [root] if boards == [root] else sorted([*boards, *unsure])


def _found(root: Path) -> tuple[list[_Loose], list[Path]] | None:
    """Loose files by the topmost folder that holds any, and archives; None for one board.

    That is a folder in which board files lie, and one that holds more than a reader looks at.
    """
    folders: dict[Path, list[_Loose]] = {}
    archives: list[Path] = []
    entries = 0
    for folder, paths in groupby(walk(root, lambda *_: None), key=lambda path: path.parent):
        files: list[SourceFile] = []
        for path in paths:
            if path.suffix.lower() == ".zip":
                archives.append(path)
                continue
            entries += 1
            if entries > MAX_ENTRIES:
                return None
            files += peek(path)
        if folder == root and any(map(_is_board_file, files)):
            return None
        here = _loose(folder, files)
        if here is None:
            continue
        top = next((up for up in reversed(folder.parents) if up in folders), folder)
        folders.setdefault(top, []).append(here)
    return [_together(top, parts) for top, parts in folders.items()], archives


def _loose(folder: Path, files: Sequence[SourceFile]) -> _Loose | None:
    """What the files of a folder are, by their heads and names; None where none is of a board."""
    board_files = [file for file in files if _is_board_file(file)]
    if not board_files:
        return None
    from checker.read.roles import identify  # most folders are one board, told before

    try:
        found, _ = identify(board_files, (), {})
    except ReadError:  # two files for one layer of copper; whoever reads the board says so
        return _Loose(folder, _SIDES, unknown=True, other=None)
    known = {item.file.name: item.role for item in found if item.role is not None}
    unknown = len(known) < len(found)
    copper = frozenset(role.label for role in known.values() if role.kind == "copper")
    needed = (n for n, role in known.items() if role.kind not in ("copper", "job", "unused"))
    other = next((folder / name for name in needed), None)
    return _Loose(folder, copper, unknown, other)


def _is_board_file(file: SourceFile) -> bool:
    told = file.format not in ("", "empty")
    return told and (file.format != "gerber" or _COMMAND.match(file.text) is not None)


def _together(top: Path, parts: Sequence[_Loose]) -> _Loose:
    copper = frozenset[str]().union(*(part.copper for part in parts))
    other = next((part.other for part in parts if part.other), None)
    return _Loose(top, copper, any(part.unknown for part in parts), other)


def _archives(packed: Iterable[Path], loose: Sequence[_Loose]) -> tuple[list[Path], list[Path]]:
    """Archives that are boards, and those of which that can't be told; others are left alone."""
    boards, unsure = [], []
    for path in packed:
        folder = path.parent
        inside = any(part.path in (folder, *folder.parents) for part in loose)
        beside = [part for part in loose if part.copper and folder in part.path.parents]
        if inside or (beside and not _several(beside)):
            continue
        try:
            held = _loose(path, peek(path))
        except ReadError:
            unsure.append(path)
            continue
        if held is not None and held.copper:
            boards.append(path)
        elif held is not None and held.unknown:
            unsure.append(path)
    return boards, unsure


def _several(parts: Sequence[_Loose]) -> bool:
    """Whether two of them hold copper of one side."""
    layers = [layer for part in parts for layer in part.copper]
    return len(layers) > len(set(layers))


def _split(folder: Path, loose: Sequence[_Loose], archives: Sequence[Path]) -> list[Path]:
    """The boards among what lies in a folder, which is the folder itself if there is one."""
    held = [part for part in loose if part.copper]
    several = _several(held)
    if not several and len(archives) + bool(held) <= 1:
        return [folder]
    depth = len(folder.parts)
    children = {part.path.parts[depth] for part in loose}
    if held and not several and len(children) > 1:
        return [folder, *archives]  # loose files are read without the archives round them
    boards = [path for path in archives if path.parent == folder]
    below = [path for path in archives if path.parent != folder]
    children |= {path.parts[depth] for path in below}
    for child in (folder / name for name in sorted(children)):
        parts = [part for part in loose if child in (part.path, *part.path.parents)]
        inner = [path for path in below if child in path.parents]
        if inner or any(part.copper or part.unknown for part in parts):
            boards += _split(child, parts, inner)
        elif other := next((part.other for part in parts if part.other), None):
            raise UsageError(
                str(other),
                f"could be of any of the boards in {folder}",
                "a folder for each board with all its files",
                "or name the boards one by one",
            )
    return boards
