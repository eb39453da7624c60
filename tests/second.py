"""What can become of the second process, for tests of work that two share."""

from __future__ import annotations

import os
import pickle
from typing import TYPE_CHECKING, Any, BinaryIO

import pytest

from checker import hands
from checker.hands import both_hands

if TYPE_CHECKING:
    from collections.abc import Callable

needs_two = pytest.mark.skipif(
    not both_hands(), reason="no second processor, or a system that does not copy processes"
)


def no_more_processes() -> int:
    raise BlockingIOError


def dies_at_once(fork: Callable[[], int] = os.fork) -> int:
    process = fork()
    if process == 0:
        os._exit(9)
    return process


def dies_later(fork: Callable[[], int] = os.fork) -> int:
    """Whenever it has answered once."""
    process = fork()
    if process == 0:
        setattr(hands._Second, "_serve", serves_once)  # noqa: B010
    return process


def serves_once(second: hands._Second[Any, Any], asked: BinaryIO, answers: hands._Post) -> None:
    answers.send(second._work(pickle.load(asked)))
    answers.close()


def dies_amidst_its_answer(fork: Callable[[], int] = os.fork) -> int:
    process = fork()
    if process == 0:
        setattr(hands._Second, "_serve", breaks_off)  # noqa: B010
    return process


def breaks_off(second: hands._Second[Any, Any], asked: BinaryIO, answers: hands._Post) -> None:
    answers._file.write(pickle.dumps(second._work(pickle.load(asked)))[:-9])
    answers.close()


each_failure = pytest.mark.parametrize(
    "fork", [no_more_processes, dies_at_once, dies_later, dies_amidst_its_answer]
)
