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

    from checker.cache.codec import Kept, Origins
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

    def keys(
        self,
        package: Package,
        title: str | None,
        layers: Mapping[str, str | Sequence[str]],
        processes: Sequence[Process],
        relieved: bool = False,
    ) -> tuple[str, ...]:
        """What the answers are kept under, see `checker.cache.key.keys_of`.

        Nothing is kept under "", which they are where there is no store.
        """
        if self._store is not None:
            from checker.cache.key import keys_of

            try:
                return keys_of(package, title, layers, processes, relieved)
            except OSError as fault:
                self._stop(f"{fault.filename}: {_reason(fault)}")
        return ("",) * len(processes)

    def key(
        self,
        package: Package,
        title: str | None,
        layers: Mapping[str, str | Sequence[str]],
        process: Process,
    ) -> str:
        """The only one of ``keys`` where a board is judged by one process alone."""
        return self.keys(package, title, layers, (process,))[0]

    def get(self, key: str, process: Process, *, traced: bool = False) -> Kept | None:
        """The answer kept under a key of the process, None where there is none to be trusted.

        Args:
            key: of board and process.
            process: what the report is to speak of; that from which the key was made.
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

    def get_all(
        self, keys: Sequence[str], processes: Sequence[Process], *, traced: bool = False
    ) -> tuple[Kept, ...] | None:
        """The answers for all processes of a board; None where one is missing.

        Then the board is to be judged by all of them, for that is what its keys were made of.
        """
        found = []
        for key, process in zip(keys, processes, strict=True):
            if (kept := self.get(key, process, traced=traced)) is None:
                return None
            found.append(kept)
        return tuple(found)

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
        return Cache(Store())
    except OSError as fault:
        cache.complaint = f"the cache has no folder: {_reason(fault)}; answers are not kept"
    return cache


def _reason(fault: OSError) -> str:
    return fault.strerror or (os.strerror(fault.errno) if fault.errno else str(fault))
