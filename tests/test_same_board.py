"""A board says the same wherever it lies, whichever way it is turned, drawn or measured out.

In every run each rule's sample is moved one way, in another order; ``-m long`` moves it every way.
"""

from __future__ import annotations

from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from checker.engine import check
from checker.findings import Finding, State
from checker.process.bit import Spread
from checker.read import read_board
from checker.registry import load_rules
from tests.rule_samples import FOLDER, board_of, process_of, report_of
from tests.transforms import MOTIONS, Motion, in_inches, moved, reordered

if TYPE_CHECKING:
    from checker.board import Board

SIZE = 0.006  # mm: bounds on drawing and measuring, twice each
PLACE = 0.1  # mm: of places that are equally near, another may be told
RULES = tuple(load_rules())
each_rule = pytest.mark.parametrize("rule", RULES)
STAY = Motion(1, 0, 0, 1, 0, 0)


def assert_same(rule: str, other: Board, motion: Motion) -> None:
    """Each finding stands, moved along, among those of the other board; and none is new."""
    found = list(check(other, process_of(rule)).findings)

    assert len(found) == len(report_of(rule).findings)
    for finding in report_of(rule).findings:
        twin = next((one for one in found if same(finding, one, motion)), None)
        assert twin is not None, (finding.seen, [one.seen for one in found])
        found.remove(twin)


def same(finding: Finding, other: Finding, motion: Motion) -> bool:
    one, two = finding.seen, other.seen
    place = None if one.x is None or one.y is None else motion.point(one.x, one.y)
    return (
        (finding.rule, finding.severity, one.state) == (other.rule, other.severity, two.state)
        and (one.side and motion.side(one.side)) == two.side
        and near(one.measured, two.measured, SIZE)
        and near(one.limit, two.limit, SIZE)
        and near(place and place[0], two.x, PLACE)
        and near(place and place[1], two.y, PLACE)
        and sorted(one.pins) == sorted(two.pins)
    )


def near(one: float | None, two: float | None, within: float) -> bool:
    if one is None or two is None:
        return one is two
    return one == two or abs(one - two) <= within


@pytest.mark.long
@each_rule
@pytest.mark.parametrize("name", MOTIONS)
def test_moved_turned_or_mirrored(rule: str, name: str) -> None:
    assert_same(rule, moved(board_of(rule), MOTIONS[name]), MOTIONS[name])


@pytest.mark.long
@each_rule
def test_drawn_in_another_order(rule: str) -> None:
    assert_same(rule, reordered(board_of(rule)), STAY)


@pytest.mark.parametrize(("rule", "name"), list(zip(RULES, cycle(MOTIONS))))
def test_moved_one_way_and_drawn_in_another_order(rule: str, name: str) -> None:
    assert_same(rule, moved(reordered(board_of(rule)), MOTIONS[name]), MOTIONS[name])


@each_rule
def test_measured_out_in_inches(rule: str, tmp_path: Path) -> None:
    for path in (FOLDER / rule / "bad").iterdir():
        text = path.read_text(encoding="utf-8")
        (tmp_path / path.name).write_text(in_inches(path.name, text), encoding="utf-8")

    assert_same(rule, read_board([tmp_path]), STAY)


@each_rule
@pytest.mark.parametrize("more", [0.02, pytest.param(0.1, marks=pytest.mark.long)])
def test_a_wider_cut_opens_nothing(rule: str, more: float) -> None:
    """Every gap at fault stays at fault, and no verdict gets better."""
    process = process_of(rule)
    if process.cut is None:
        pytest.skip(f"the process of {rule} cuts nothing")
    cut = process.cut
    wider = replace(process, cut=Spread(cut.least + more, cut.nominal + more, cut.most + more))

    before, after = report_of(rule).findings, check(board_of(rule), wider).findings

    gaps = {"uncuttable-gap", "trimmed-gap", "tight-gap"}
    assert sum(f.rule in gaps for f in after) >= sum(f.rule in gaps for f in before)
    assert weight(after) >= weight(before)


def weight(findings: tuple[Finding, ...]) -> int:
    states = {finding.seen.state for finding in findings}
    return 2 if State.NOT_MAKEABLE in states else 1 if State.MARGINAL in states else 0
