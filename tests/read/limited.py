"""Reads a board in a process of its own that may use 1 GiB and 10 s of computing, and no more."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

MEMORY = 1 << 30  # bytes of address space, libraries and all
SECONDS = 10


def read_within_limits(*paths: Path) -> str:
    """What reading says in the end: how much there is, or why it is refused."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.read.limited", *map(str, paths)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},  # each thread takes address space
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:] or f"ended by {done.returncode}"
    return done.stdout.strip()


def _read(paths: list[str]) -> str:
    from checker.errors import ReadError
    from checker.read import read_board

    try:
        board = read_board(paths)
    except ReadError as fault:
        return str(fault)
    islands = sum(len(layer.islands) for layer in board.copper)
    unchecked = "".join(f"; {one.what}: {one.why}" for one in board.unchecked)
    return f"{islands} islands, {len(board.holes)} holes, {len(board.pins)} pins{unchecked}"


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    print(_read(sys.argv[1:]))
