from __future__ import annotations

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from checker.comparison.left import left_of, off_an_edge
from checker.measure import Reach, measure
from checker.process.bit import Spread
from tests.handmade import PLAIN, Neck, cutting, exactly, facts, flat
from tests.layouts import board_of, layout

CUT = replace(
    flat(0.2, exactly(0.1)), cut=Spread(0.15, 0.2, 0.26)
)  # comes out up to 0.06 wider than the path is led for


def test_half_of_the_excess_comes_off_every_edge() -> None:
    assert off_an_edge(CUT) == pytest.approx(0.03)


def test_an_etchant_takes_its_undercut() -> None:
    etching = replace(cutting(0.2, 0.25, method="etching"), undercut=0.025)

    assert off_an_edge(etching) == 0.025


def test_a_square_loses_a_frame() -> None:
    # Worked by hand: 4 sides of 2 mm, 0.03 mm off each, is 0.24 mm2 with the corners twice.
    board = measure(board_of([shapely.box(0, 0, 2, 2)]), Reach())

    left = left_of(board, CUT)

    assert left is not None
    assert left.drawn == pytest.approx(4.0)
    assert left.eaten == pytest.approx(0.24)
    assert left.share == pytest.approx(0.06)


@pytest.mark.parametrize("seed", range(10))
def test_what_is_eaten_is_what_erosion_takes_and_no_less(seed: int) -> None:
    islands = layout("ordinary", seed)

    left = left_of(measure(board_of(islands), Reach()), CUT)

    taken = sum(island.area - island.buffer(-0.03, quad_segs=32).area for island in islands)
    assert left is not None
    assert taken * 0.98 <= left.eaten <= taken * 1.25


def test_the_thinnest_copper_is_the_narrowest_neck_less_both_edges() -> None:
    board = facts(necks=[Neck(0.4), Neck(0.25), Neck(0.1, carries=False)])

    left = left_of(board, CUT)

    assert left is not None
    assert left.thinnest == pytest.approx(0.25 - 0.06)
    assert not left.beyond


def test_copper_wider_than_it_was_looked_for_is_told_as_at_least_that() -> None:
    left = left_of(facts(necks=[]), CUT)

    assert left is None or left.beyond


def test_nothing_is_eaten_by_a_process_that_cuts_nothing() -> None:
    board = measure(board_of([shapely.box(0, 0, 2, 2)]), Reach())

    assert left_of(board, replace(PLAIN, method="perfboard", cut=None)) is None


def test_a_bite_is_eaten_too() -> None:
    # Two plates 0.18 mm apart along 4 mm, a cut of 0.2 mm: 0.01 mm comes off each, and ends.
    plates = board_of([shapely.box(0, 0, 2, 4), shapely.box(2.18, 0, 4.18, 4)])
    biting = replace(cutting(0.2, 0.2, bite=0.05), bit=CUT.bit)

    left = left_of(measure(plates, Reach(0.5, 0.5, (0.0, 0.05))), biting)

    assert left is not None
    assert left.eaten == pytest.approx(2 * 4 * 0.01, rel=0.5)
    assert np.isfinite(left.thinnest)
