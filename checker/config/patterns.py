"""Which boards a pattern means: ``*`` and ``?`` within a name, ``**`` for any folders between.

A pattern stays below the folder of the file that says it, and passes over links, hidden folders
and what holds no board. It looks at no more than `MOST_ENTRIES` files and folders.
"""

from __future__ import annotations

import re
from fnmatch import fnmatch
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from msgspec import Struct, field

from checker.config.above import near, seen, whole
from checker.errors import ConfigError, ReadError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from checker.config.model import Pattern

MOST_BOARDS = 1000
MOST_ENTRIES = 20_000
ARCHIVE = ".zip"
BOARD_FORMATS = ("gerber", "drill", "netlist", "job")  # a note alone may be anything
DEEPEST = 12  # folders below the first one of ``**``
_EXPECTED = "a path below the folder of this file, such as hardware/*"
_ANY = "**"


def check_pattern(text: str, where: str) -> str:
    """The pattern, where it is one.

    Raises:
        ConfigError: it leads out of its folder, into a hidden one, or is not written with "/".
    """
    parts = PurePosixPath(text).parts
    found = advice = ""
    if "\\" in text:
        found, advice = "a backslash", f"write {text.replace(chr(92), '/')}"
    elif text.startswith(("/", "~")) or re.match("[A-Za-z]:", text):
        found = "does not start from the folder of this file"
    elif ".." in parts:
        found = "leads out of the folder of this file"
    elif any(part.startswith(".") for part in parts):
        found = "leads into a hidden folder"
    elif any(_ANY in part and part != _ANY for part in parts):
        found, advice = "** beside other letters", "** stands between two / by itself"
    if found:
        raise ConfigError(where, f"{text}: {found}", _EXPECTED, advice)
    return text


def fits(pattern: str, folder: Path, board: Path) -> bool:
    """Whether a pattern that starts from a folder means a board; both with links resolved."""
    if not board.is_relative_to(folder):
        return False
    return _fits(PurePosixPath(pattern).parts, board.relative_to(folder).parts)


def _fits(parts: Sequence[str], names: Sequence[str]) -> bool:
    reached = {0}  # how many parts may have been used up
    for name in names:
        reached = _open(parts, reached)
        stay = {i for i in reached if i < len(parts) and parts[i] == _ANY}
        step = {i + 1 for i in reached if i < len(parts) and _fits_name(parts[i], name)}
        reached = stay | step
    return len(parts) in _open(parts, reached)


def _open(parts: Sequence[str], reached: set[int]) -> set[int]:
    """With ``**`` standing for no folder at all, too."""
    wide = set(reached)
    for i, part in enumerate(parts):
        if i in wide and part == _ANY:
            wide.add(i + 1)
    return wide


def _fits_name(part: str, name: str) -> bool:
    """Whether a name fits a part that is not ``**``; brackets stand for themselves."""
    return part != _ANY and fnmatch(name, part.replace("[", "[[]"))


def boards_of(patterns: Sequence[Pattern]) -> list[Path]:
    """The boards that patterns mean, in order and each once, as paths from the working folder.

    A match that holds board files is taken as on the command line: a zip archive is a board, a
    folder is one or holds several. What lies in a board that is meant is part of it.

    Raises:
        ConfigError: a pattern means no board, or looks at too much.
    """
    found: set[Path] = set()
    for pattern in patterns:
        search = _Search(pattern)
        meant = set(search.boards())
        if not meant:
            raise ConfigError(
                f"{pattern.where}: boards",
                f"{pattern.text} means no board",
                "folders or zip archives that hold Gerber or drill files",
            )
        found |= meant
        if len(found) > MOST_BOARDS:
            raise search.refusal(f"means more than {MOST_BOARDS} boards")
    return [near(path) for path in sorted(found) if not found.intersection(path.parents)]


class _Search(Struct):
    """Looks for what one pattern means, within bounds."""

    pattern: Pattern
    entries: int = 0
    been: set[tuple[Path, int]] = field(default_factory=set)

    def boards(self) -> Iterator[Path]:
        """The boards in all that is meant; one may come twice."""
        parts = PurePosixPath(self.pattern.text).parts
        while parts[-1:] == (_ANY,):  # a folder means all boards below it without being told
            parts = parts[:-1]
        for path in self._meant(self.pattern.folder, parts, 0):
            yield from map(whole, self._boards_at(path))

    def refusal(self, found: str) -> ConfigError:
        """What is wrong with a pattern that means too much."""
        where = f"{self.pattern.where}: boards"
        return ConfigError(where, f"{self.pattern.text} {found}", advice="name a folder further in")

    def _meant(self, path: Path, parts: Sequence[str], depth: int) -> Iterator[Path]:
        """What lies below a folder and fits the parts, board or not."""
        if (path, len(parts)) in self.been:  # several ** lead to one folder in many ways
            return
        self.been.add((path, len(parts)))
        if not parts:
            yield path
        elif path.is_dir():
            if parts[0] == _ANY:
                yield from self._meant(path, parts[1:], depth)
            for child in self._names(path):
                if parts[0] == _ANY and child.is_dir():
                    if depth == DEEPEST:
                        raise self.refusal(f"leads more than {DEEPEST} folders deep")
                    yield from self._meant(child, parts, depth + 1)
                elif _fits_name(parts[0], child.name):
                    yield from self._meant(child, parts[1:], depth)

    def _names(self, folder: Path) -> Iterator[Path]:
        """What lies in a folder in order, without links and what is hidden."""
        from checker.read.package import SKIPPED_FOLDERS

        try:
            children = sorted(folder.iterdir())
        except OSError as fault:
            raise self.refusal(f"leads to {seen(folder)}: {fault.strerror}") from None
        for child in children:
            self._count()
            hidden = child.name.startswith(".") or child.name in SKIPPED_FOLDERS
            if not hidden and not child.is_symlink():
                yield child

    def _boards_at(self, path: Path) -> Sequence[Path]:
        """The boards that a folder or an archive is or holds."""
        from checker.read.package import walk
        from checker.read.tree import boards_below

        if path.is_file():
            return [near(path)] if path.suffix.lower() == ARCHIVE and self._holds(path) else []
        try:
            files = []
            for file in walk(near(path), lambda *_: None):
                self._count()
                files.append(file)
            return boards_below(near(path)) if any(map(self._holds, files)) else []
        except (ReadError, UsageError) as fault:
            raise self.refusal(f"leads to {fault}") from None

    def _holds(self, file: Path) -> bool:
        """Whether a file is of a board, or an archive that holds one.

        What can't be read counts, lest it be passed over: whoever checks it is told why.
        """
        from checker.read.package import peek

        try:
            return any(one.format in BOARD_FORMATS for one in peek(file))
        except ReadError:
            return True

    def _count(self) -> None:
        self.entries += 1
        if self.entries > MOST_ENTRIES:
            raise self.refusal(f"leads to more than {MOST_ENTRIES} files and folders")
