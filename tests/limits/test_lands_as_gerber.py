"""Every land pattern, drawn as the files of a board and read again, gets the verdict of the table.

Pad sizes, pitches and gaps are those that makers publish, see `rules/lands.yaml` for the sources.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from checker import read_board
from checker.engine import check, reach_for
from checker.findings import Verdict
from checker.limits import lands_of
from checker.limits.published import published
from checker.measure import measure
from checker.process import load_profile
from tests.handmade import RULES, cutting
from tests.limits.gerbered import write

BUILT_IN = ("cone-30-0.1", "cone-60-0.2", "cone-10-0.1", "flat-0.4", "etch", "laser", "perfboard")
PROCESSES = {name: load_profile(name) for name in BUILT_IN}
# One pass leaves copper near every pad: a finding about the board, not about a place of it.
PROCESSES["single pass"] = replace(PROCESSES["cone-30-0.1"], cleared_width=None)


@pytest.fixture(scope="module")
def told() -> dict[str, dict[str, Verdict]]:
    """Process -> family -> the verdict of the table."""
    return {
        name: {one.land.family: one.verdict for one in lands_of(process, RULES)}
        for name, process in PROCESSES.items()
    }


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Verdict]]:
    """Process -> family -> the verdict for the board as files, measured once for all processes."""
    folder: Path = tmp_path_factory.mktemp("lands")
    verdicts: dict[str, dict[str, Verdict]] = {name: {} for name in PROCESSES}
    for row, land in enumerate(published().lands):
        facts = measure(read_board([write(land, folder / str(row))]), reach_for(PROCESSES.values()))
        for name, process in PROCESSES.items():
            verdicts[name][land.family] = check(facts.board, process, RULES, facts).verdict
    return verdicts


@pytest.mark.parametrize("name", PROCESSES)
def test_verdict_of_every_row_is_that_of_the_board_as_files(
    name: str, read: dict[str, dict[str, Verdict]], told: dict[str, dict[str, Verdict]]
) -> None:
    assert len(read[name]) == len(published().lands)
    assert read[name] == told[name]


def test_processes_tell_the_patterns_apart(told: dict[str, dict[str, Verdict]]) -> None:
    assert len({tuple(verdicts.values()) for verdicts in told.values()}) >= 6


def test_default_process_makes_some_patterns_some_with_luck_and_some_not(
    told: dict[str, dict[str, Verdict]],
) -> None:
    found = set(told["cone-30-0.1"].values())

    assert found == {Verdict.MAKEABLE, Verdict.MARGINAL, Verdict.NOT_MAKEABLE}


def test_wider_cut_never_makes_a_pattern_better() -> None:
    order = [Verdict.MAKEABLE, Verdict.MARGINAL, Verdict.NOT_MAKEABLE]

    by_width = [
        [order.index(one.verdict) for one in lands_of(cutting(width, 1.2 * width), RULES)]
        for width in (0.1, 0.19, 0.23, 0.6)
    ]

    assert [sorted(row) for row in zip(*by_width, strict=True)] == [
        list(row) for row in zip(*by_width, strict=True)
    ]
    assert sum(by_width[-1]) > sum(by_width[0])
