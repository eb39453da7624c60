"""Necks against erosion and opening of the copper: none is missed, and none is made up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from checker.measure import Reach, measure
from tests.layouts import board_of, layout
from tests.oracles.distance import to_edges
from tests.oracles.opening import lasting_cores, pieces, saw, sides_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.measure import Necks

FAMILIES = ("ordinary", "webs", "combs", "rings", "mixed")
REACH = 0.34
QUICK = 6
WIDTHS = (0.11, 0.17, 0.23, 0.27, 0.33)  # none a width that tracks of the layouts have
PART = 2.05
"""Copper this many times as wide as a strip is a part of its own. Below that it may be a junction
of strips (discs of 1.25 and 1.41 widths fit where three or four meet squarely) or a bend: where
two legs meet at the angle a, one of 2 / (1 + sin(a / 2)) widths does, up to 2 in a hairpin.
"""


def necks_of(islands: Sequence[Any]) -> Necks:
    return measure(board_of(islands), Reach(cut=0.0, copper=REACH)).necks[0]


def missed(family: str, seed: int) -> list[str]:
    """Cut at every neck narrower than t that carries, each piece holds one wide core at most."""
    islands = layout(family, seed)
    necks = necks_of(islands)
    found = []
    for k, island in enumerate(islands):
        own = np.flatnonzero((necks.island == k) & necks.carries)
        for width in WIDTHS:
            cores = lasting_cores(island, width, (PART - 1) * width)
            if len(cores) < 2:
                continue
            narrower = own[necks.width[own] < width]
            saws = [saw(island, necks.at[row], necks.width[row]) for row in narrower]
            for piece in pieces(island, saws):
                held = sum(core.representative_point().within(piece) for core in cores)
                if held > 1:
                    found.append(f"{family} {seed} island {k} below {width}: {held} cores joined")
    return found


def made_up(family: str, seed: int) -> list[str]:
    """A neck that carries has copper wider by 3 % on both sides of its chord."""
    islands = layout(family, seed)
    necks = necks_of(islands)
    found = []
    for row in np.flatnonzero(necks.carries):
        width = float(necks.width[row])
        parts, fat = sides_of(islands[necks.island[row]], necks.at[row], width, 1.03 * width)
        if fat < parts:
            found.append(
                f"{family} {seed} island {necks.island[row]} neck of {width:.4f} at "
                f"{necks.at[row].round(3)}: wide copper at {fat} of {parts} sides"
            )
    return found


@pytest.mark.parametrize("family", FAMILIES)
def test_no_neck_between_two_wide_parts_is_missed(family: str) -> None:
    assert not [fault for seed in range(QUICK) for fault in missed(family, seed)]


@pytest.mark.parametrize("family", FAMILIES)
def test_every_neck_that_carries_lies_between_two_wide_parts(family: str) -> None:
    assert not [fault for seed in range(QUICK) for fault in made_up(family, seed)]


@pytest.mark.long
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("batch", range(4))
def test_no_neck_is_missed_or_made_up_on_many_layouts(family: str, batch: int) -> None:
    seeds = range(50 * batch, 50 * batch + 50)

    assert not [fault for seed in seeds for fault in missed(family, seed) + made_up(family, seed)]


@pytest.mark.parametrize("family", FAMILIES)
def test_a_neck_is_as_wide_as_the_disc_that_fits_at_its_middle(family: str) -> None:
    islands = layout(family, 3)
    necks = necks_of(islands)

    assert len(necks)
    assert (necks.width <= REACH).all()
    for row, k in enumerate(necks.island):
        fits = 2 * to_edges(necks.at[row : row + 1], islands[k])[0]
        assert necks.width[row] == pytest.approx(fits, abs=necks.error)
