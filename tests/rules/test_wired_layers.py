"""Layers that wires replace, and what they do not replace; common practice."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.engine import check
from checker.findings import State
from checker.process import load_profile
from checker.read import read_board
from tests.gridded import on_grid
from tests.handmade import Neck, facts, rule, seen

NAME = "wired-layers"
ROOT = Path(__file__).parents[2]
FOUR = ("top", "inner 1", "inner 2", "bottom")


@pytest.mark.parametrize(
    ("sides", "count"), [(("bottom",), 0), (("top", "bottom"), 0), (FOUR[:2], 1), (FOUR, 1)]
)
def test_inner_copper_is_told_once(sides: tuple[str, ...], count: int) -> None:
    made = facts(necks=[Neck(0.3, side=side) for side in sides], sides=sides)

    found = seen(NAME, made, on_grid())

    assert [one.state for one in found] == [State.REMARK] * count


def test_a_layer_without_copper_does_not_count() -> None:
    made = facts(necks=[Neck(0.3, side="top")], sides=FOUR)

    assert seen(NAME, made, on_grid()) == []
    assert rule(NAME).methods == ("perfboard",)


def test_layers_are_counted() -> None:
    made = facts(necks=[Neck(0.3, side=side) for side in FOUR], sides=FOUR)

    (one,) = seen(NAME, made, on_grid())

    assert one.message.startswith("4 layers of copper become wires, 2 of them inner ones")


def test_the_bad_sample_stays_makeable() -> None:
    board = read_board([ROOT / "samples" / "rules" / NAME / "bad"])

    report = check(board, load_profile("perfboard"))

    assert [finding.rule for finding in report.findings] == [NAME]
    assert report.verdict.value == "makeable"
    assert report.unchecked[0].what != "gaps and necks of inner 1"
