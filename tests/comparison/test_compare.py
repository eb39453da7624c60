"""The comparison says what checking each process alone says; its changes do what they promise."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import astuple, replace

from checker.comparison import Comparison, Row, compare
from checker.engine import check, reach_for
from checker.errors import UsageError
from checker.findings import Report, Verdict
from checker.measure import Facts, measure
from checker.process import load_profile, profile_names
from checker.process.vary import at_depth
from checker.read import read_board
from checker.registry import load_rules
from checker.severity import Severity
from tests.examples import quick
from tests.layouts import board_of, layout

BOARDS = Path(__file__).parents[2] / "samples" / "boards"
NAMES = profile_names()
RULES = load_rules()
each_board = pytest.mark.parametrize(
    "board", quick(["coop-door", "hive-scale", "tide-logger"], ["coop-door"])
)


@cache
def compared(board: str) -> Comparison:
    return compare(read_board([BOARDS / board]), [load_profile(name) for name in NAMES])


@cache
def measured(board: str) -> Facts:
    """Measured at once for all, where the comparison measures in steps."""
    return measure(compared(board).board, reach_for([load_profile(name) for name in NAMES]))


@cache
def checked(board: str, profile: str) -> Report:
    return check(compared(board).board, load_profile(profile), facts=measured(board))


def rows(board: str) -> dict[str, Row]:
    return {row.process.name: row for row in compared(board).rows}


@each_board
def test_every_verdict_is_that_of_check(board: str) -> None:
    assert {name: row.verdict for name, row in rows(board).items()} == {
        name: checked(board, name).verdict for name in NAMES
    }


@each_board
def test_closed_places_are_those_that_check_tells(board: str) -> None:
    found = rows(board)

    told = {
        name: sum(finding.rule == "uncuttable-gap" for finding in checked(board, name).findings)
        for name in NAMES
    }
    assert {name: row.closed for name, row in found.items() if not row.at_least} == {
        name: count for name, count in told.items() if not found[name].at_least
    }
    assert all(0 < row.closed <= told[name] for name, row in found.items() if row.at_least)


@each_board
def test_causes_are_those_of_check_wherever_all_rules_were_asked(board: str) -> None:
    for name, row in rows(board).items():
        if not row.partly:
            causes = checked(board, name).causes
            assert [(c.rule, c.cause, c.count, c.remedy) for c in row.counts] == [
                (c.rule, c.cause, len(c.findings), c.remedy) for c in causes
            ]


@each_board
def test_rules_that_only_remark_change_nothing_but_the_remarks(board: str) -> None:
    processes = [load_profile(name) for name in NAMES]

    found = compare(compared(board).board, processes, remarks=False)

    assert found.pair == compared(board).pair
    for row, every in zip(found.rows, compared(board).rows, strict=True):
        told = tuple(count for count in every.counts if not RULES[count.rule].remarks)
        said = replace(every, counts=told, unchecked=row.unchecked)
        assert astuple(row) == astuple(said)
        assert set(row.unchecked) <= set(every.unchecked)


def test_a_rule_that_only_remarks_may_be_weighed_by_a_profile() -> None:
    process = replace(load_profile("cone-30-0.1"), severity={"loose-strip": Severity.ERROR})

    (row,) = compare(board_of(layout("ordinary", 3)), [process], remarks=False).rows

    assert row.process is process


@each_board
def test_margin_is_what_the_tightest_gap_leaves_the_widest_cut(board: str) -> None:
    facts = measured(board)
    tightest = min(
        float(gaps.widest_cut[0.0][np.diff(layer.net[gaps.islands])[:, 0] != 0].min())
        for layer, gaps in zip(facts.board.copper, facts.gaps, strict=True)
        if len(gaps)
    )

    for row in compared(board).rows:
        if row.process.bit is not None and row.process.cut is not None and not row.beyond:
            assert row.margin == pytest.approx(tightest - row.process.cut.most, abs=2e-3)


@each_board
def test_best_come_first(board: str) -> None:
    order = [Verdict.MAKEABLE, Verdict.MARGINAL, Verdict.NOT_CHECKED, Verdict.NOT_MAKEABLE]
    ranks = [order.index(row.verdict) for row in compared(board).rows]

    assert ranks == sorted(ranks)
    closed = [row.closed for row in compared(board).rows if row.verdict is Verdict.NOT_MAKEABLE]
    assert closed == sorted(closed)


@each_board
def test_what_fails_is_told_a_change_and_what_passes_none(board: str) -> None:
    for row in compared(board).rows:
        assert bool(row.changes) == (row.verdict in (Verdict.MARGINAL, Verdict.NOT_MAKEABLE))


@each_board
def test_a_depth_that_is_told_does_what_is_promised(board: str) -> None:
    for row in compared(board).rows:
        for change in row.changes:
            if change.what == "depth":
                assert row.window is not None
                assert row.window.best is not None
                deeper = at_depth(row.process, row.window.best)
                then = check(compared(board).board, deeper, facts=measured(board))
                assert then.verdict is change.verdict


def test_a_depth_that_helps_is_found() -> None:
    board = read_board([BOARDS / "hive-scale"])
    deep = replace(at_depth(load_profile("cone-60-0.1"), 0.3), name="too deep")

    (row,) = compare(board, [deep]).rows

    assert row.verdict is Verdict.NOT_MAKEABLE
    assert row.changes[0].what == "depth"


def test_one_layout_in_another_order_compares_the_same() -> None:
    board = board_of(layout("ordinary", 3))
    processes = [load_profile(name) for name in NAMES]

    one, other = compare(board, processes), compare(board, processes[::-1])

    assert [row.process.name for row in one.rows] == [row.process.name for row in other.rows]


def test_two_processes_of_one_name_are_refused() -> None:
    twin = replace(load_profile("flat-0.4"), source="shelf/flat-0.4.yaml")

    with pytest.raises(UsageError, match=r"shelf/flat-0.4.yaml.*'flat-0.4'"):
        compare(board_of(layout("ordinary", 3)), [load_profile("flat-0.4"), twin])


def test_nothing_to_compare_is_refused() -> None:
    with pytest.raises(UsageError, match="no process"):
        compare(board_of(layout("ordinary", 3)), [])


def test_a_wide_bit_that_a_narrow_look_rules_out_is_looked_at_no_further() -> None:
    found = rows("tide-logger")

    assert found["flat-0.8"].at_least
    assert not found["cone-30-0.1"].at_least
