"""What other processes do to a store, for the tests that run some at once."""

from __future__ import annotations

import os
import time
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

from checker.cache import store as home
from checker.cache.store import Store

KEYS = [f"{number % 2:02x}{number:062x}" for number in range(12)]
ROUNDS = 300


def answer_of(key: str) -> bytes:
    """A few kilobytes that follow from the key."""
    return Random(key).randbytes(3000)


def use(folder: Path, seed: int, clears: bool, tells: Connection) -> None:
    """Put and get at random, clear now and then; tells what was found that should not be."""
    home.MAX_SHARE = 12_000  # so that what one puts pushes out what another did
    store, random = Store(folder), Random(seed)
    wrong, hits = [], 0
    for turn in range(ROUNDS):
        key = random.choice(KEYS)
        if random.random() < 0.5:
            store.put(key, answer_of(key))
        elif (found := store.get(key)) is not None:
            hits += 1
            wrong += [key] * (found != answer_of(key))
        if clears and turn % 50 == 25:
            store.clear()
            store.size()
    tells.send((wrong, hits))


def hang(folder: Path, key: str, tells: Connection) -> None:
    """Stop in the middle of a put, with all written and nothing in its place."""

    def stopped(*_: object) -> None:
        tells.send("writing")
        time.sleep(600)

    os.replace = stopped  # type: ignore[assignment]
    Store(folder).put(key, answer_of(key))
