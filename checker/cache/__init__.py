"""Answers kept by all that they follow from, so that an unchanged board is not judged again.

Never in the way: whatever is wrong with the folder, the board is judged, and one line tells why the
answer is not kept.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from checker.cache.store import Store, usual_folder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.cache.codec import Origins
    from checker.findings import Report
    from checker.process.model import Process
    from checker.read.package import Package

__all__ = ["Cache", "Store", "usual_cache", "usual_folder"]


class Cache:
    """What `check` found before.

    Args:
        store: where it is kept; None to keep nothing and to find nothing.

    Attributes:
        complaint: why answers are not kept, a line for people; "" while all is well.
    """

    def __init__(self, store: Store | None) -> None:
        self.complaint = ""
        self._store = store

    def key(
        self,
        package: Package,
        title: str | None,
        layers: Mapping[str, str | Sequence[str]],
        process: Process,
    ) -> str:
        """What an answer is kept under, see `checker.cache.key.key_of`; "" where none is kept."""
        if self._store is None:
            return ""
        from checker.cache.key import key_of

        try:
            return key_of(package, title, layers, process)
        except OSError as fault:
            self._stop(f"{fault.filename}: {_reason(fault)}")
            return ""

    def get(
        self, key: str, process: Process, *, traced: bool = False
    ) -> tuple[Report, Origins | None] | None:
        """The answer kept under a key of the process, None where there is none to be trusted.

        Args:
            key: of board and process.
            process: the report is to speak of; the one that the key was made from.
            traced: an answer without the origins of its findings is as good as none.
        """
        data = self._store.get(key) if self._store is not None and key else None
        if data is None:
            return None
        from checker.cache.codec import DamagedError, decode

        try:
            report, origins = decode(data, process)
        except DamagedError:
            return None
        return None if traced and origins is None else (report, origins)

    def keep(self, key: str, report: Report, origins: Origins | None) -> None:
        """Keep an answer; never raises, see ``complaint``."""
        if self._store is None or not key:
            return
        from checker.cache.codec import encode

        data = encode(report, origins)
        try:
            self._store.put(key, data)
        except OSError as fault:
            self._stop(f"the cache in {self._store.folder} cannot be written: {_reason(fault)}")

    def _stop(self, why: str) -> None:
        """One line is enough, and what failed once is not tried for every board."""
        self.complaint, self._store = f"{why}; answers are not kept", None


def usual_cache() -> Cache:
    """The cache of this user, see `checker.cache.store.usual_folder`."""
    cache = Cache(None)
    try:
        return Cache(Store(usual_folder()))
    except OSError as fault:
        cache.complaint = f"the cache has no folder: {_reason(fault)}; answers are not kept"
    return cache


def _reason(fault: OSError) -> str:
    return fault.strerror or (os.strerror(fault.errno) if fault.errno else str(fault))
