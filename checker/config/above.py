"""Where configuration files lie: in the folder of a board and in those above it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import ConfigError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

NAME = ".cutworthy.yaml"
_REPOSITORY = ".git"  # a folder, or a file in a second working tree


def folder_of(paths: Sequence[Path]) -> Path:
    """The folder that holds all that a user named as one board, links resolved."""
    places = [os.path.realpath(path) for path in paths] or [os.getcwd()]  # noqa: PTH109
    folders = [place if os.path.isdir(place) else os.path.dirname(place) for place in places]  # noqa: PTH112, PTH120
    try:
        return Path(os.path.commonpath(folders))
    except ValueError:  # on several drives
        return Path(folders[0])


def files_above(folder: Path) -> Iterator[Path]:
    """The configuration files in a folder and above it up to a repository's, nearest first.

    Raises:
        ConfigError: one might be there, and the system won't let it be seen.
    """
    for place in (folder, *folder.parents):
        if _is_there(place / NAME):
            yield place / NAME
        if _is_there(place / _REPOSITORY):
            return


def _is_there(path: Path) -> bool:
    """Whether a name is taken, if only by a link that leads nowhere."""
    try:
        os.lstat(path)
    except PermissionError as fault:
        advice = f"put a {NAME} that says top: true below it"
        raise ConfigError(seen(path), f"cannot be seen: {fault.strerror}", advice=advice) from None
    except (OSError, ValueError):  # a name with a zero byte
        return False
    return True


def seen(path: Path) -> str:
    """What messages call a file: its path below the working folder, else it and its last folder."""
    full, here = whole(path), Path.cwd()
    if full.is_relative_to(here):
        return full.relative_to(here).as_posix()
    return f"{full.parent.name}/{full.name}".removeprefix("/")


def whole(path: Path) -> Path:
    """The path from the root, links left as they are."""
    return Path(os.path.abspath(path))  # noqa: PTH100 - Path.absolute keeps each ..


def near(path: Path) -> Path:
    """The same path from the working folder, where there is one."""
    try:
        return Path(os.path.relpath(path))
    except ValueError:  # on another drive
        return path
