"""Work on one board shared with a second process, where that can be had.

The second process is a copy of this one, so nothing is read or sent twice; it sends back plain
values. What it does not answer, for whatever reason, is worked out here: it can make the answer
come sooner, never make it another.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import warnings
from itertools import chain
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import shapely

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from checker.board import Board

_J = TypeVar("_J")
_R = TypeVar("_R")

WORTH = 30_000
"""Corners of copper from which on a second process is worth it: a copy takes 20 ms to begin, and
some facts are then measured twice."""

_INDEX = 4  # bytes of a job's number in the queue
_MOST = 4096 // _INDEX  # jobs: that much a pipe takes at once (POSIX, PIPE_BUF, on Linux)


def both_hands() -> bool:
    """Whether a second process can be had: copied as it stands, with a processor of its own."""
    return sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1


def worth_both(board: Board) -> bool:
    """Whether a board is so large that a second process makes its answer come sooner."""
    corners = sum(int(shapely.get_num_coordinates(one.islands).sum()) for one in board.copper)
    return corners >= WORTH


def shared(
    answer: Callable[[_J], _R],
    before: Callable[[_J], None],
    *,
    here: Sequence[_J] = (),
    there: Sequence[_J] = (),
    either: Sequence[_J] = (),
) -> dict[_J, _R]:
    """The answers to jobs, worked out in two processes.

    Args:
        answer: what a job comes to; a plain value.
        before: called before each job that is done here, or whose answer is taken over.
        here: jobs for this process, in order.
        there: jobs for the other.
        either: jobs for whichever is free then.

    Raises:
        Exception: as ``answer`` does. What fails in the other process is tried again here.
    """
    found: dict[_J, _R] = {}
    with _Queue(either[:_MOST]) as queue:

        def theirs() -> dict[_J, _R]:
            done: dict[_J, _R] = {}
            for job in chain(there, queue):
                try:
                    done[job] = answer(job)
                except Exception:
                    continue  # it will fail here too, and be told
            return done

        with _Second(theirs) as second:
            for job in chain(here, queue):
                before(job)
                found[job] = answer(job)
            done = second.result() or {}
    for job in chain(there, either):
        if job not in found:
            before(job)
            found[job] = done[job] if job in done else answer(job)
    return found


class _Queue(Generic[_J]):
    """Jobs for whichever process is free, taken in order: their numbers in a pipe."""

    def __init__(self, jobs: Sequence[_J]) -> None:
        self._jobs = jobs

    def __enter__(self) -> _Queue[_J]:
        self._ends = os.pipe()
        os.write(self._ends[1], b"".join(i.to_bytes(_INDEX) for i in range(len(self._jobs))))
        os.set_blocking(self._ends[0], False)
        return self

    def __iter__(self) -> Iterator[_J]:
        while True:
            try:
                taken = os.read(self._ends[0], _INDEX)
            except BlockingIOError:
                return
            yield self._jobs[int.from_bytes(taken)]

    def __exit__(self, *_: object) -> None:
        for end in self._ends:
            os.close(end)


class _Second(Generic[_R]):
    """A copy of this process that works something out; it leaves no trace but its result."""

    def __init__(self, work: Callable[[], _R]) -> None:
        self._work = work
        self._process = 0

    def __enter__(self) -> _Second[_R]:
        self._end, into = os.pipe()
        try:
            self._process = _copied()
        except OSError:  # no more processes: all is worked out here
            os.close(self._end)
            os.close(into)
            return self
        if self._process == 0:
            gc.disable()  # a collection would write to every page that is shared
            status = 1
            try:
                with os.fdopen(into, "wb") as pipe:
                    pickle.dump(self._work(), pipe, pickle.HIGHEST_PROTOCOL)
                status = 0
            finally:
                os._exit(status)
        os.close(into)
        return self

    def result(self) -> _R | None:
        """What was worked out, once it is there; None where it could not be."""
        if not self._process:
            return None
        with os.fdopen(self._end, "rb") as pipe:
            data = pipe.read()
        _, status = os.waitpid(self._process, 0)
        self._process = 0
        found: Any = None if status else pickle.loads(data)
        return found  # type: ignore[no-any-return]

    def __exit__(self, *_: object) -> None:
        if self._process:  # left before the result was asked for
            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)
            os.close(self._end)


def _copied() -> int:
    """As `os.fork`. A thread that shows progress does not run in the copy, nor is it missed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()
