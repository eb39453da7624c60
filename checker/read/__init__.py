"""Board files to a `Board`: the only place that knows file formats."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from checker.board import Board
    from checker.read.drawn import Drawing
    from checker.read.package import Package

__all__ = ["read_board", "read_package"]


def read_board(
    paths: Sequence[str | Path], layers: Mapping[str, str | Sequence[str]] | None = None
) -> Board:
    """Read a board from a folder, a zip archive or files.

    Args:
        paths: one folder, one zip archive, or the board's files.
        layers: roles named by the user, role to file name or names (``*`` and ``?`` match);
            the roles are those of `checker.read.roles.ROLES`.

    Raises:
        ReadError: there is no copper to check, or a file that matters cannot be read.
    """
    from checker.read.package import open_package

    return read_package(open_package(paths), layers)


def read_package(
    package: Package,
    layers: Mapping[str, str | Sequence[str]] | None = None,
    drawn: dict[tuple[str, str], Drawing] | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Board:
    """Read a board from texts that were collected before; else as `read_board`.

    ``drawn`` holds what copper files draw, by name and text, and is added to: who reads a board
    again with some of its files changed need not draw the others again. With ``meanwhile`` a second
    process draws some of them, while this one does that and then helps, see `checker.hands`.
    """
    from checker.read.assemble import assemble  # shapely loads only when a board is read

    return assemble(package, layers or {}, drawn, meanwhile)
