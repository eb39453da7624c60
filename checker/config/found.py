"""The configuration in force for a board, and the boards that a configuration names."""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.config.above import NAME, files_above, folder_of, seen
from checker.config.model import Config, lay
from checker.errors import ConfigError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

_EXAMPLE = 'boards: ["hardware/*"]'


def config_of(paths: Sequence[Path]) -> Config:
    """What is configured for one board.

    Waivers that speak of other boards are left out.

    Args:
        paths: what the user named: its folder, its archive, or its files.

    Raises:
        ConfigError: a file that can't be read, or a value that can't be meant.
    """
    config = reduce(lay, _files(folder_of(paths)), Config())
    if not any(waiver.board for waiver in config.waivers):
        return config
    from checker.config.patterns import fits

    board = _board_of(paths)
    meant = (w for w in config.waivers if w.board is None or fits(w.board, w.folder, board))
    return replace(config, waivers=tuple(meant))


def boards_named(folder: Path) -> list[Path]:
    """The folders and archives that the nearest list of ``boards`` names, in order.

    Args:
        folder: where to look for it first.

    Returns:
        Paths from the working folder.

    Raises:
        ConfigError: no file lists boards, a pattern fits none, or there are too many.
    """
    config = reduce(lay, _files(folder_of([folder])), Config())
    if not config.boards:
        where = seen(config.files[0]) if config.files else NAME
        found = "lists no boards" if config.files else "no such file in this folder or above it"
        raise ConfigError(where, found, advice=f"name a board, or list them there: {_EXAMPLE}")
    from checker.config.patterns import boards_of

    return boards_of(config.boards)


def _files(folder: Path) -> Iterator[Config]:
    """What each file says, nearest first, up to one that says that it is the top."""
    for path in files_above(folder):
        from checker.config.file import read_config

        said, is_top = read_config(path)
        yield said
        if is_top:
            return


def _board_of(paths: Sequence[Path]) -> Path:
    """What patterns call a board: its folder or archive, or the folder that holds its files."""
    import zipfile

    if len(paths) == 1 and zipfile.is_zipfile(paths[0]):
        return paths[0].resolve()
    return folder_of(paths)
