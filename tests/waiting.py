"""Pipes in place of files, and an end to what would wait for them."""

from __future__ import annotations

import os
import signal
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PATIENCE = 20  # s

needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")


@contextmanager
def no_waiting(patience: int = PATIENCE) -> Iterator[None]:
    """Ends what waits for ever."""

    def ended(*_: object) -> None:
        raise AssertionError(f"still waiting after {patience} s")

    before = signal.signal(signal.SIGALRM, ended)
    signal.alarm(patience)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def pipe_at(path: Path) -> None:
    """A pipe to which nobody writes, in place of a file."""
    path.unlink(missing_ok=True)
    os.mkfifo(path)
