"""A report together with what its places can be traced back to, for the formats of machines."""

from __future__ import annotations

import os
from functools import cached_property
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING
from urllib.parse import quote

from msgspec import Struct

from checker.read.package import is_archive

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.findings import Finding, Report
    from checker.measure import Facts
    from checker.remarks import Origin


class Judged(Struct, frozen=True, eq=False, dict=True):
    """The answer for one board and one process.

    Attributes:
        report: the answer.
        facts: what it was found by, of the same board; None where that was long ago.
        paths: what the user named: the board's folder, its archive, or its files.
        traced: the origins by finding id, where they are known already.
    """

    report: Report
    facts: Facts | None
    paths: tuple[Path, ...]
    traced: Mapping[str, tuple[Origin, ...]] | None = None

    @property
    def measured(self) -> Facts:
        """The facts, for what can't do without them."""
        assert self.facts is not None
        return self.facts

    def origins(self, finding: Finding) -> tuple[Origin, ...]:
        """What a finding speaks of, what a person would look at first first; never empty."""
        if self.traced is not None:
            return self.traced[finding.id]
        from checker.report.origins import origins_of

        return origins_of(self.measured).of(finding)

    @cached_property
    def _files(self) -> dict[str, Path]:
        """Files that were named one by one; the board knows them by their last name."""
        return {path.name: path for path in self.paths if path.is_file()}

    @cached_property
    def _folder(self) -> Path | None:
        return next(filter(Path.is_dir, self.paths), None)

    @cached_property
    def _archive(self) -> str | None:
        """The archive that was named, or the one in a folder that holds no loose board files."""
        named = next(filter(is_archive, self._files.values()), None)
        if named is None and self._folder is not None:
            first = next((file for file, _ in self.report.board.sources), "")
            if not os.path.isfile(self._folder / first):  # noqa: PTH113 - never raises, whatever the name
                archives = sorted(self._folder.rglob("*.zip"))
                named = next((path for path in archives if _holds(path, first)), None)
        return None if named is None else seen(named)

    @cached_property
    def _root(self) -> str:
        return self._archive or ("" if self._folder is None else seen(self._folder))

    def path(self, source: str) -> str:
        """Where a file of the board is, as seen from the working folder, with "/".

        A file in an archive stands below the archive. What lies outside the working folder is told
        from its last folder on: a report tells nobody how a disk is laid out.
        """
        if source in self._files:
            return seen(self._files[source])
        return str(PurePosixPath(self._root, source))

    def archive(self, source: str) -> str | None:
        """The archive that holds a file of the board, None where the file lies in the open."""
        return None if source in self._files else self._archive


def _holds(archive: Path, name: str) -> bool:
    from zipfile import ZipFile

    with ZipFile(archive) as opened:  # the reader has had it open
        return name in {inner.replace("\\", "/") for inner in opened.namelist()}


def seen(path: Path) -> str:
    """A path as seen from the working folder; one that lies outside of it by its last name."""
    here = Path.cwd()
    whole = Path(os.path.normpath(here / path))
    return whole.relative_to(here).as_posix() if whole.is_relative_to(here) else whole.name


def uri(path: str) -> str:
    """A path as a relative reference of RFC 3986: every other letter as a percent code."""
    return quote(path.encode("utf-8", "surrogateescape"), safe="/")
