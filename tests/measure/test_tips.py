"""Copper beyond a neck: a tip that ends in the open, or more of its net."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from checker.board import Kind
from checker.measure import Reach, measure
from checker.measure.copper.tips import lead_to_tips
from tests.coppered import Drawn, coppered, disk, drilled

if TYPE_CHECKING:
    from checker.board import Hole

POUR = shapely.box(0, 0, 5, 5)
STALK = shapely.box(4.9, 2.0, 6, 2.1)
"""0.1 mm wide, from the pour on."""


def widths(*copper: Any, holes: tuple[Hole, ...] = (), pads: tuple[Any, ...] = ()) -> list[float]:
    """Of necks below 0.25 mm that lead to tips, rounded to 0.01 mm."""
    drawn = [Drawn(shapely.union_all(copper), "GND", Kind.POUR)]
    drawn += [Drawn(pad, "GND", Kind.PAD) for pad in pads]
    board = coppered(*holes, top=drawn).board
    (necks,) = measure(board, Reach(cut=0.0, copper=0.3)).necks
    rows = np.flatnonzero(necks.carries & (necks.width < 0.25))
    found = lead_to_tips(board, 0, necks, rows, 0.25)
    return sorted(round(float(width), 2) for width in necks.width[found])


@pytest.mark.parametrize(("size", "tips"), [(0.24, [0.1]), (0.26, [])], ids=["narrow", "wide"])
def test_what_is_nowhere_wide_enough_is_a_tip(size: float, tips: list[float]) -> None:
    assert widths(POUR, STALK, shapely.box(6, 1.9, 6 + size, 1.9 + size)) == tips


def test_a_hole_or_a_pad_is_no_tip() -> None:
    end = shapely.box(6, 1.9, 6.24, 2.14)

    assert widths(POUR, STALK, end, holes=(drilled(6.12, 2.02, 0.1),)) == []
    assert widths(POUR, STALK, end, pads=(disk(6.12, 2.02, 0.2),)) == []


def test_what_hangs_together_with_tips_alone_is_one() -> None:
    beads = [shapely.box(x, 1.9, x + 0.2, 2.2) for x in (6, 7)]

    assert widths(POUR, STALK, beads[0], shapely.box(6.2, 2.0, 7, 2.12), beads[1]) == [0.1, 0.12]


def test_a_way_round_is_no_tip() -> None:
    ring = shapely.box(4.9, 2, 6, 4).difference(shapely.box(4, 2.1, 5.8, 3.9))

    assert widths(POUR, ring) == []


def test_a_neck_between_two_pours_leads_to_no_tip() -> None:
    assert widths(POUR, STALK, shapely.box(6, 0, 9, 5)) == []
