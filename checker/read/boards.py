"""Which boards a command line names."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import UsageError
from checker.read.package import is_archive

if TYPE_CHECKING:
    from collections.abc import Sequence


def boards_of(paths: Sequence[str]) -> list[tuple[Path, ...]]:
    """The paths of each board: every folder and archive is one, loose files together are one.

    A folder that holds several boards, one beside the other or packed, is all of them.

    Raises:
        ReadError: a folder cannot be looked through.
        UsageError: files stand beside several folders or archives, and could be of any of them.
    """
    named = [Path(path) for path in dict.fromkeys(paths)]
    whole = [path for path in named if path.is_dir() or is_archive(path)]
    if len(whole) < 2 and whole != named:
        return [tuple(named)]
    for path in named:
        if path not in whole:
            raise UsageError(
                str(path),
                f"stands beside {len(whole)} folders or archives",
                "folders and archives of a board each, or the files of one board",
            )
    boards = [board for path in whole for board in _boards_in(path)]
    return [(board,) for board in dict.fromkeys(boards)]


def _boards_in(path: Path) -> list[Path]:
    if not path.is_dir():
        return [path]
    from checker.read.tree import boards_below

    return boards_below(path)


def titles_of(boards: Sequence[tuple[Path, ...]]) -> list[str | None]:
    """What boards are called that share their last name: as they were named; None for others."""
    names = [paths[0].resolve().name if len(paths) == 1 else "" for paths in boards]
    shared = Counter(names)
    return [
        str(paths[0]) if name and shared[name] > 1 else None
        for name, paths in zip(names, boards, strict=True)
    ]
