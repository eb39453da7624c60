from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check, reach_for
from checker.findings import State
from checker.measure import Facts, measure
from checker.process import load_profile
from checker.process.model import Process
from checker.read import read_board
from tests.handmade import cutting, rule, seen
from tests.layouts import board_of, objects_of

NAME = "shrunk-pad"
SAMPLE = Path(__file__).parents[2] / "samples" / "rules" / NAME
BITING = cutting(0.2, bite=0.05)


def two_pads(gap: float, height: float, process: Process, upper: float = 1.0) -> Facts:
    """A pad 2 mm wide and 1 high, and one of another height below it."""
    board = board_of([shapely.box(-1, 0, 1, upper), shapely.box(-1, -height - gap, 1, -gap)])
    (layer,) = board.copper
    objects = replace(objects_of(layer.islands), kind=np.full(2, Kind.PAD, dtype=np.int8))
    layer = replace(layer, objects=objects, island_of=np.arange(2))
    return measure(replace(board, copper=(layer,)), reach_for(process))


@pytest.mark.parametrize(("height", "told"), [(0.15, 1), (0.25, 0)])
def test_a_pad_that_loses_more_than_a_fifth_is_told(height: float, told: int) -> None:
    # A cut of 0.2 through a gap of 0.12 takes 0.04 from each: 27 % of 0.15, 16 % of 0.25.
    assert len(seen(NAME, two_pads(0.12, height, BITING), BITING)) == told


def test_share_that_is_left() -> None:
    (told,) = seen(NAME, two_pads(0.12, 0.15, BITING), BITING)

    left = float(told.message.split(" %")[0])
    assert left == pytest.approx(100 * (1 - 0.04 / 0.15), abs=2.5)
    assert told.state is State.MARGINAL


def test_each_of_two_pads_is_told_with_its_net() -> None:
    found = seen(NAME, two_pads(0.12, 0.15, BITING, upper=0.15), BITING)

    assert [len(one.nets) for one in found] == [1, 1]
    assert found[0].nets != found[1].nets


def test_a_shop_that_does_not_bite_shrinks_nothing() -> None:
    assert list(rule(NAME).check(two_pads(0.12, 0.15, BITING), cutting(0.2))) == []


def test_sample_names_both_pads() -> None:
    report = check(read_board([SAMPLE / "bad"]), load_profile(SAMPLE / "profile.yaml"))

    pins = {pin for f in report.findings if f.rule == NAME for pin in f.seen.pins}
    assert pins == {"J1.1", "J1.2"}
