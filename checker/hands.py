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
from contextlib import suppress
from io import BytesIO
from itertools import chain
from threading import Thread
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
    from typing import BinaryIO

    from numpy.typing import NDArray

    from checker.board import Board

_J = TypeVar("_J")
_M = TypeVar("_M")
_R = TypeVar("_R")

WORTH = 1_000
"""Corners of copper from which on a second process is worth it: a copy takes 10 ms to begin,
and some facts are then measured twice."""

_INDEX = 4  # bytes of a job's number in the queue
_MOST = 4096 // _INDEX  # jobs: that much a pipe takes at once (POSIX, PIPE_BUF, on Linux)


def both_hands() -> bool:
    """Whether a second process can be had: copied as it stands, with a processor of its own."""
    return sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1


def worth_both(board: Board) -> bool:
    """Whether a board is so large that a second process makes its answer come sooner."""
    corners = sum(int(shapely.get_num_coordinates(one.islands).sum()) for one in board.copper)
    return corners >= WORTH


class Hands(Generic[_J, _M, _R]):
    """Jobs done by this process and another, on one matter after the other.

    Each job is done by whoever is free; on the next matter by whoever did it before, who knows
    most of what it takes by then. A copy of this process from when its block was entered is the
    other one.
    """

    def __init__(
        self,
        answer: Callable[[_J, _M], _R],
        jobs: Sequence[_J],
        *,
        there: Collection[_J] = (),
        both: bool = True,
    ) -> None:
        """Get ready.

        Args:
            answer: what a job on a matter comes to; all three are plain values.
            jobs: every job that will be asked for.
            there: those that are for the other process.
            both: whether there is to be another; else all is done here.
        """
        self._answer = answer
        self._queue = _Queue(jobs)
        self._here: set[_J] = set()
        self._there = set(there)
        self._second = _Second(self._done_there) if both else None

    def __enter__(self) -> Hands[_J, _M, _R]:
        if self._second is not None:
            try:
                self._queue.open()
                self._second.begin()
            except OSError:  # no more files or processes: all is done here
                self._second = None
        return self

    def ahead(self, job: _J, matter: _M) -> Callable[[], _R]:
        """Let the other process do a job before all that it is asked later.

        Returns:
            Gives the answer when called, which is worked out here where the other one has none.
        """
        ticket = None if self._second is None else self._second.ask((matter, [job], False))

        def answer() -> _R:
            done = None if ticket is None else self._answered(ticket)
            return done[job] if done and job in done else self._answer(job, matter)

        return answer

    def ask(
        self,
        matter: _M,
        jobs: Sequence[_J],
        *,
        first: Callable[[], None] = lambda: None,
        last: Callable[[], None] = lambda: None,
        wanted: Callable[[_J], bool] = lambda _: True,
        before: Callable[[_J], None] = lambda _: None,
    ) -> dict[_J, _R]:
        """The answers to those jobs that are wanted.

        Args:
            matter: what they are to be done on.
            jobs: what is to be done, in order.
            first: what this process does before all else, while the other begins.
            last: what this process does when no job is left, while the other ends.
            wanted: asked of each job once the first is done. What the other did till then is lost
                time, no more.
            before: called before each job that is done here, or whose answer is taken over.

        Raises:
            Exception: as ``answer`` does. What fails in the other process is tried again here.
        """
        there = [job for job in jobs if job in self._there]
        free = [job for job in jobs if job not in self._there and job not in self._here]
        ticket = None
        if self._second is not None:
            self._queue.put(free[:_MOST])
            ticket = self._second.ask((matter, there, True))
        first()
        found: dict[_J, _R] = {}
        mine = (job for job in jobs if job in self._here)
        for job in chain(mine, self._queue):
            if wanted(job):
                before(job)
                found[job] = self._answer(job, matter)
        last()
        done = None if ticket is None else self._answered(ticket)
        self._there |= (done or {}).keys() - found.keys()
        self._here |= found.keys()
        for job in jobs:
            if job not in found and wanted(job):
                before(job)
                found[job] = done[job] if done and job in done else self._answer(job, matter)
        return found

    def _answered(self, ticket: int) -> dict[_J, _R] | None:
        return None if self._second is None else self._second.answer(ticket)

    def _done_there(self, asked: tuple[_M, Iterable[_J], bool]) -> dict[_J, _R]:
        """What the other process answers: to those jobs, and to what it takes of the queue."""
        matter, jobs, queued = asked
        done: dict[_J, _R] = {}
        for job in chain(jobs, self._queue if queued else ()):
            try:
                done[job] = self._answer(job, matter)
            except Exception:
                continue  # it will fail here too, and be told
        return done

    def __exit__(self, *_: object) -> None:
        if self._second is not None:
            self._second.end()
        self._queue.close()


class _Queue(Generic[_J]):
    """Jobs for whichever process is free, taken in order: their numbers in a pipe."""

    def __init__(self, jobs: Sequence[_J]) -> None:
        self._jobs = jobs
        self._number = {job: number for number, job in enumerate(jobs)}
        self._ends: tuple[int, ...] = ()  # to read from, to write to; empty until it is open

    def open(self) -> None:
        self._ends = os.pipe()
        os.set_blocking(self._ends[0], False)

    def put(self, jobs: Iterable[_J]) -> None:
        os.write(self._ends[1], b"".join(self._number[job].to_bytes(_INDEX) for job in jobs))

    def __iter__(self) -> Iterator[_J]:
        while self._ends:
            try:
                taken = os.read(self._ends[0], _INDEX)
            except BlockingIOError:
                return
            yield self._jobs[int.from_bytes(taken)]

    def close(self) -> None:
        for end in self._ends:
            os.close(end)
        self._ends = ()


class _Second(Generic[_M, _R]):
    """A copy of this process that answers what it is asked; it leaves no trace but its answers."""

    def __init__(self, work: Callable[[_M], _R]) -> None:
        self._work = work
        self._process = 0
        self._asked = self._heard = 0  # questions, and answers
        self._kept: dict[int, _R] = {}  # answers that nobody has taken

    def begin(self) -> None:
        ends: list[int] = []
        try:
            ends += os.pipe()
            ends += os.pipe()
            self._process = _copied()
        except OSError:
            for end in ends:
                os.close(end)
            raise
        heard, ask, answers, say = ends
        if self._process == 0:
            gc.disable()  # a collection would write to every page that is shared
            status = 1
            try:
                os.close(ask)
                os.close(answers)
                self._serve(os.fdopen(heard, "rb"), _Post(say))
                status = 0
            finally:
                os._exit(status)
        os.close(heard)
        os.close(say)
        self._questions, self._answers = _Post(ask), os.fdopen(answers, "rb")

    def _serve(self, asked: BinaryIO, answers: _Post) -> None:
        while True:
            try:
                question = pickle.load(asked)
            except EOFError:
                return
            answers.send(self._work(question))

    def ask(self, question: _M) -> int:
        """Let it begin with something, once it has done what it was asked before; the ticket."""
        self._asked += 1
        if self._process:
            self._questions.send(question)
        return self._asked

    def answer(self, ticket: int) -> _R | None:
        """What it made of that, once it is there; None where it came to nothing."""
        while self._heard < ticket and self._process:
            try:
                found = pickle.load(self._answers)
            except (EOFError, pickle.UnpicklingError):  # it died, before its answer or amidst it
                self.end()
                break
            self._heard += 1
            self._kept[self._heard] = found
        return self._kept.pop(ticket, None)

    def end(self) -> None:
        """Be rid of it."""
        if self._process:
            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)
            self._process = 0
            self._answers.close()
            self._questions.close()


class _Post:
    """Things sent through a pipe in turn, while who sends them goes on.

    A pipe holds little: who does not read yet would hold up who writes.
    """

    def __init__(self, end: int) -> None:
        self._file = os.fdopen(end, "wb")
        self._sending: Thread | None = None

    def send(self, thing: Any) -> None:
        """Send a plain value once all before it is on its way."""
        packed = BytesIO()
        _Pickler(packed, pickle.HIGHEST_PROTOCOL).dump(thing)
        self._wait()
        self._sending = Thread(target=self._write, args=(packed.getvalue(),))
        self._sending.start()

    def _write(self, packed: bytes) -> None:
        with suppress(BrokenPipeError):  # nobody is there any more, as will be found by who waits
            self._file.write(packed)
            self._file.flush()

    def _wait(self) -> None:
        if self._sending is not None:
            self._sending.join()

    def close(self) -> None:
        """Send no more; what nobody reads is lost."""
        self._wait()
        with suppress(BrokenPipeError):
            self._file.close()


class _Pickler(pickle.Pickler):
    """Sends shapes column by column, which takes a tenth of the time."""

    def reducer_override(self, value: Any) -> Any:
        if isinstance(value, np.ndarray) and value.dtype == object and _are_shapes(value):
            return shapely.from_wkb, (shapely.to_wkb(value),)
        return NotImplemented


def _are_shapes(column: NDArray[np.object_]) -> bool:
    return bool((shapely.is_geometry(column) | shapely.is_missing(column)).all())


def _copied() -> int:
    """As `os.fork`. A thread that shows progress does not run in the copy, nor is it missed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()
