"""Several processes at one store."""

from __future__ import annotations

import os
from multiprocessing import get_context
from pathlib import Path

import pytest

from checker.cache.store import Store
from tests.cache.working import KEYS, answer_of, hang, use

SPAWN = get_context("spawn")
PATIENCE = 120  # seconds until a test gives up on a process


def all_at_once(folder: Path, clears: list[bool]) -> list[tuple[list[str], int]]:
    """Run one process for each; what each of them tells at its end."""
    pipes = [SPAWN.Pipe(duplex=False) for _ in clears]
    workers = [
        SPAWN.Process(target=use, args=(folder, seed, clear, pipes[seed][1]))
        for seed, clear in enumerate(clears)
    ]
    for worker in workers:
        worker.start()
    told = [here.recv() if here.poll(PATIENCE) else ([], -1) for here, _ in pipes]
    for worker in workers:
        worker.join(PATIENCE)
    return told


def test_runs_that_write_and_read_at_once_find_what_was_put_or_nothing(tmp_path: Path) -> None:
    told = all_at_once(tmp_path, [False, False])

    assert [wrong for wrong, _ in told] == [[], []]
    assert min(hits for _, hits in told) > 10
    assert list(tmp_path.rglob("*.partial")) == []
    assert Store(tmp_path).size()[1] <= 2 * 12_000


def test_a_run_that_clears_all_the_time_harms_no_other(tmp_path: Path) -> None:
    told = all_at_once(tmp_path, [False, True, True])

    assert [wrong for wrong, _ in told] == [[], [], []]
    assert min(hits for _, hits in told) > 0
    assert list(tmp_path.rglob("*.partial")) == []


def test_a_folder_that_another_run_clears_away_at_once_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store, made = Store(tmp_path), os.mkdir
    # The caller's folder is there; that of the answer was there when it was asked for, and is gone.
    faults = iter([FileExistsError(), FileExistsError()])

    def mkdir(path: str, mode: int) -> None:
        for fault in faults:
            raise fault
        made(path, mode)

    monkeypatch.setattr(os, "mkdir", mkdir)
    store.put(KEYS[0], answer_of(KEYS[0]))

    assert store.get(KEYS[0]) == answer_of(KEYS[0])


def test_a_run_that_is_killed_while_it_writes_harms_no_other(tmp_path: Path) -> None:
    key = KEYS[0]
    here, there = SPAWN.Pipe(duplex=False)
    worker = SPAWN.Process(target=hang, args=(tmp_path, key, there))
    worker.start()
    assert here.poll(PATIENCE)
    worker.kill()
    worker.join(PATIENCE)
    (unfinished,) = tmp_path.rglob("*.partial")
    store = Store(tmp_path)

    before = store.get(key)
    store.put(key, answer_of(key))
    young = unfinished.exists()
    os.utime(unfinished, (1e9, 1e9))
    store.put(key, answer_of(key))

    assert before is None
    assert store.get(key) == answer_of(key)
    assert young
    assert not unfinished.exists()
