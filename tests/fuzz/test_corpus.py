"""What fuzzing found, and its like, in few bytes: none of it may fail again."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.fuzz.mutate import Mutator
from tests.fuzz.targets import TARGETS, attempt

CORPUS = Path(__file__).parent / "corpus"
CASES = sorted(path for path in CORPUS.glob("*/*") if path.is_file())


def test_every_target_has_cases() -> None:
    assert {path.parent.name for path in CASES} == set(TARGETS)


@pytest.mark.parametrize("case", CASES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_case_is_read_or_refused_in_one_line(case: Path, tmp_path: Path) -> None:
    assert attempt(case.parent.name, case.read_bytes(), tmp_path).isprintable()


@pytest.mark.parametrize("target", ["config", "gerber", "job", "netlist"])
def test_mutations_of_the_cases_are_read_or_refused_in_one_line(
    target: str, tmp_path: Path
) -> None:
    seeds = [path.read_bytes() for path in CASES if path.parent.name == target]
    mutator = Mutator(target, seeds, Random(target), 1024)

    lines = [attempt(target, mutator.next(), tmp_path) for _ in range(50)]

    assert all(line.isprintable() for line in lines)


def test_nothing_is_written_beside_what_a_target_reads(tmp_path: Path) -> None:
    folder = tmp_path / "inside"
    folder.mkdir()

    attempt("board", (CORPUS / "board" / "names-out-of-the-folder.txt").read_bytes(), folder)

    assert sorted(tmp_path.rglob("*")) == [folder, folder / "board.zip"]
