"""Many boards at once: the same answers in this process, in a pool of processes, on a cluster."""

from __future__ import annotations

import os
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest
from distributed import Client, LocalCluster

from checker import check, check_many, load_profile, read_board
from checker.errors import CheckerError, ProfileError, ReadError
from checker.many import Answer, Job, answers
from checker.read.package import open_package

SAMPLES = Path(__file__).parents[1] / "samples"
BOARDS = [SAMPLES / "rules" / "tight-gap" / "bad", SAMPLES / "boards" / "coop-door"]
PROFILES = ["flat-0.4", "cone-30-0.1"]


def findings(found: list[Answer]) -> list[list[Any]]:
    return [[report.findings for report in one.reports] for one in found]


@pytest.fixture(scope="module")
def here() -> list[Answer]:
    return check_many(BOARDS, PROFILES)


def test_every_board_is_judged_by_every_process_in_the_order_given(here: list[Answer]) -> None:
    names = [[(r.board.name, r.process.name) for r in one.reports] for one in here]

    assert names == [[(board.name, profile) for profile in PROFILES] for board in BOARDS]


def test_each_answer_is_that_of_a_check_of_the_board_alone(here: list[Answer]) -> None:
    alone = [
        [check(read_board([board]), load_profile(profile)).findings for profile in PROFILES]
        for board in BOARDS
    ]

    assert findings(here) == alone


def test_a_pool_of_processes_gives_the_same(here: list[Answer]) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        there = check_many(BOARDS, PROFILES, executor=pool)

    assert findings(there) == findings(here)


@pytest.mark.filterwarnings("ignore::ResourceWarning")  # sockets that a cluster closes late
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_cluster_gives_the_same(here: list[Answer]) -> None:
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,  # type: ignore[no-untyped-call]
        Client(cluster) as client,  # type: ignore[no-untyped-call]
    ):
        there = check_many(BOARDS, PROFILES, executor=client.get_executor())

    assert findings(there) == findings(here)


def test_a_board_that_cannot_be_read_leaves_the_others_alone(tmp_path: Path) -> None:
    (tmp_path / "top.gbr").write_text("%FSLAX46Y46*%\n%MOMM*%\nM02*\n")

    absent, empty, good = check_many([tmp_path / "absent", tmp_path, BOARDS[1]], PROFILES[:1])

    assert isinstance(absent.fault, ReadError)
    assert isinstance(empty.fault, ReadError)
    assert (absent.reports, empty.reports) == ((), ())
    assert good.fault is None
    assert [report.board.name for report in good.reports] == ["coop-door"]


def test_a_fault_of_a_board_comes_back_from_another_process_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "top.gbr").write_text("%FSLAX46Y46*%\n%MOMM*%\nM02*\n")
    (here,) = check_many([tmp_path], PROFILES[:1])

    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        (there,) = check_many([tmp_path], PROFILES[:1], executor=pool)

    assert str(there.fault) == str(here.fault)


def test_the_files_of_a_board_may_be_named_one_by_one() -> None:
    files = sorted(path for path in BOARDS[1].iterdir() if path.suffix != ".md")

    folder, named = check_many([BOARDS[1], files], PROFILES[:1])

    assert named.reports[0].findings == folder.reports[0].findings


def test_a_profile_that_is_none_is_told_before_any_work() -> None:
    with pytest.raises(ProfileError):
        check_many(BOARDS, ["no-such"], executor=Refusing())


class Refusing(Executor):
    """Takes no work."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        raise AssertionError("work was sent")


def test_no_board_is_no_work() -> None:
    assert check_many([], PROFILES, executor=Refusing()) == []


def test_a_worker_that_dies_is_one_clear_fault() -> None:
    job = Job(open_package([BOARDS[1]]), (load_profile("flat-0.4"),))

    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        pool.submit(os._exit, 1)
        with pytest.raises(CheckerError, match="a worker: ended before its answer"):
            list(answers([job], pool))


def test_origins_are_looked_up_where_they_are_asked_for() -> None:
    job = Job(open_package([BOARDS[1]]), (load_profile("flat-0.8"),), traced=True)

    (answer,) = answers([job], None)

    assert answer.origins is not None
    ids = {finding.id for finding in answer.reports[0].findings}
    assert set(answer.origins[0]) == ids
    assert all(traces[0].source for traces in answer.origins[0].values())
