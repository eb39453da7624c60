"""A report together with what its places can be traced back to, for the formats of machines."""

from __future__ import annotations

import os
import zipfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from checker.findings import Report
    from checker.measure import Facts


@dataclass(frozen=True, eq=False)
class Judged:
    """The answer for one board and one process.

    Attributes:
        report: the answer.
        facts: what it was found by, of the same board.
        paths: what the user named: the board's folder, its archive, or its files.
    """

    report: Report
    facts: Facts
    paths: tuple[Path, ...]

    @cached_property
    def _files(self) -> dict[str, Path]:
        """Files that were named one by one; the board knows them by their last name."""
        return {path.name: path for path in self.paths if path.is_file()}

    @cached_property
    def _archive(self) -> str | None:
        return next(
            (_seen(path) for path in self._files.values() if zipfile.is_zipfile(path)), None
        )

    @cached_property
    def _root(self) -> str:
        folder = next(filter(Path.is_dir, self.paths), None)
        return self._archive or ("" if folder is None else _seen(folder))

    def path(self, source: str) -> str:
        """Where a file of the board is, as seen from the working folder, with "/".

        A file in an archive stands below the archive. What lies outside the working folder is told
        from its last folder on: a report tells nobody how a disk is laid out.
        """
        if source in self._files:
            return _seen(self._files[source])
        return str(PurePosixPath(self._root, source))

    def archive(self, source: str) -> str | None:
        """The archive that holds a file of the board, None where the file lies in the open."""
        return None if source in self._files else self._archive


def _seen(path: Path) -> str:
    here = Path.cwd()
    whole = Path(os.path.normpath(here / path))
    return whole.relative_to(here).as_posix() if whole.is_relative_to(here) else whole.name


def uri(path: str) -> str:
    """A path as a relative reference of RFC 3986: every other letter as a percent code."""
    return quote(path.encode("utf-8", "surrogateescape"), safe="/")
