"""Necks against erosion and opening of the copper: none is missed, and none is made up."""

from __future__ import annotations

from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from checker.measure import Reach, measure
from checker.measure.boundary.segments import Segments
from checker.measure.necks.census import census_necks
from checker.read import read_board
from tests.examples import quick
from tests.layouts import board_of, layout
from tests.oracles.distance import to_edges
from tests.oracles.opening import (
    bottleneck,
    lasting_cores,
    pieces,
    saw,
    sides_of,
    sides_with_core,
    within,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Shapes
    from checker.measure import Necks
    from checker.measure.necks.census import NeckRows

FOLDER = Path(__file__).parents[2].parent / "shared" / "boards"
BOARDS = ("hotpi", "mppt-2420", "openbci-cyton", "stepper-geda")
OUTER = ("top", "bottom")
FAMILIES = ("pours", "webs", "combs", "ordinary", "mixed")
REACH = 0.34
QUICK = 4
WIDTHS = tuple(np.arange(0.093, 0.34, 0.02))  # none a width that tracks of the layouts have
WIDENS = 1.01
"""The least growth the census takes for widening: 5 % at once, or 1 % over two widths."""
PART = 2.05
"""Copper this many times as wide as a strip is a part of its own. Below that it may be a bend:
where two legs meet at the angle a, a disc of 2 / (1 + sin(a / 2)) widths fits, up to 2 where they
turn right back.
"""
FINEST = 0.005
"""Copper narrower than this is as good as none: two walls off by their error meet."""
JUNCTION = 1.45
"""Where four strips cross squarely a disc of 1.41 widths fits, where three meet one of 1.25, where
they meet aslant more. From here up to `PART` one row may stand for strips on both sides.
"""


def necks_of(islands: Sequence[Any]) -> Necks:
    return measure(board_of(islands), Reach(cut=0.0, copper=REACH)).necks[0]


def missed(family: str, seed: int) -> list[str]:
    """Two wide parts with nothing said of the neck between them.

    The island is cut at every neck narrower than t that carries. A piece that still holds two
    parts of `PART` widths, which erosion by t/2 puts asunder, was missed; one that holds two of
    `JUNCTION` widths too, unless a row of about the width at which they part stands for it.
    """
    islands = layout(family, seed)
    necks = necks_of(islands)
    found = []
    for k, island in enumerate(islands):
        rows = np.flatnonzero(necks.island == k)
        own = rows[necks.carries[rows]]
        for width in WIDTHS:
            parts = lasting_cores(island, width, (JUNCTION - 1) * width)
            if len(parts) < 2:
                continue
            wide = lasting_cores(island, width, (PART - 1) * width)
            narrower = own[necks.width[own] < width]
            saws = [saw(island, necks.at[row], necks.width[row]) for row in narrower]
            for piece in pieces(island, saws):
                if len(within(piece, wide)) > 1:
                    found.append(f"{family} {seed} island {k} below {width:.3f}: parts joined")
                held = within(piece, parts)
                if len(held) > 1:
                    neck = bottleneck(piece, held, width)
                    off = neck - necks.width[rows]
                    stands = (off > -0.002) & (off < np.maximum(0.005, 0.05 * neck) + 0.002)
                    if not stands.any():
                        found.append(f"{family} {seed} island {k}: nothing said of {neck:.4f}")
    return found


def made_up(family: str, seed: int) -> list[str]:
    islands = layout(family, seed)
    return [f"{family} {seed} {fault}" for fault in without_wide(islands, necks_of(islands))]


def withheld(family: str, seed: int) -> list[str]:
    islands = layout(family, seed)
    return [f"{family} {seed} {fault}" for fault in between_parts(islands, necks_of(islands))]


def without_wide(islands: Sequence[Any] | Shapes, necks: Necks | NeckRows) -> list[str]:
    """A neck that carries has copper wider by 1 % at least on both sides of its chord."""
    found = []
    for row in np.flatnonzero(necks.carries):
        at, width = necks.at[row], float(necks.width[row])
        sides, fat = sides_of(islands[necks.island[row]], at, width, WIDENS * width)
        if fat < sides:
            found.append(f"neck of {width:.4f} at {at.round(3)}: wide copper at {fat} of {sides}")
    return found


def between_parts(islands: Sequence[Any] | Shapes, necks: Necks | NeckRows) -> list[str]:
    """A neck said to carry nothing leads to no part of `PART` widths on one side of its chord.

    What leaves through a small gap in its wall is no end of it: a disc that fits the width d grows
    to d + c over a gap of 2 sqrt(c (d + c)), by Thales, and a tenth is left for bends.
    """
    found = []
    for row in np.flatnonzero(~necks.carries & (necks.width > FINEST)):
        at, width, island = necks.at[row], float(necks.width[row]), islands[necks.island[row]]
        grows = max(0.005, 0.05 * width)
        gap = 2.2 * sqrt(grows * (width + grows))
        if sides_with_core(island, at, width, PART * width, min(gap, 0.95 * width)):
            found.append(f"neck of {width:.4f} at {at.round(3)}: carries, and is said not to")
    return found


def faults(family: str, seed: int) -> list[str]:
    return missed(family, seed) + made_up(family, seed) + withheld(family, seed)


# What the bars guard: a waist between lumps under two widths, a step down that leads to a stub,
# and others that were once wrong: a junction with a bay, a dent on the way up, a loop back to the
# neck, tips that nearly touch, a chord whose middle is beside the axis of its walls, strips that
# end side by side, a side strip on a trunk, a taper, a ripple, a waist as short as a chord.
ONCE_WRONG = (
    ("webs", 44),
    ("pours", 184),
    ("webs", 82),
    ("webs", 185),
    ("webs", 244),
    ("webs", 301),
    ("pours", 399),
    ("pours", 415),
    ("webs", 215),
    ("webs", 219),
    ("webs", 220),
    ("webs", 469),
    ("pours", 24),
    ("pours", 146),
    ("pours", 214),
    ("pours", 471),
    ("webs", 52),
    ("webs", 116),
    ("webs", 158),
    ("webs", 312),
)


# Here a climb past a dent in the boundary decides.
TELLING = (("webs", 1031),)


@pytest.mark.parametrize(("family", "seed"), TELLING)
def test_layouts_on_which_little_slips_would_show_are_right(family: str, seed: int) -> None:
    assert not faults(family, seed)


@pytest.mark.parametrize(("family", "seed"), quick(ONCE_WRONG, ONCE_WRONG[::3]))
def test_layouts_that_were_once_wrong_are_right(family: str, seed: int) -> None:
    assert not faults(family, seed)


@pytest.mark.parametrize("family", FAMILIES)
def test_no_neck_between_two_wide_parts_is_missed(family: str) -> None:
    assert not [fault for seed in range(QUICK) for fault in missed(family, seed)]


@pytest.mark.parametrize("family", FAMILIES)
def test_every_neck_that_carries_lies_between_two_wide_parts(family: str) -> None:
    assert not [fault for seed in range(QUICK) for fault in made_up(family, seed)]


@pytest.mark.parametrize("family", FAMILIES)
def test_a_neck_that_carries_nothing_has_no_wide_part_on_one_side(family: str) -> None:
    assert not [fault for seed in range(QUICK) for fault in withheld(family, seed)]


@pytest.mark.long
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("batch", range(5))
def test_no_neck_is_missed_or_made_up_on_many_layouts(family: str, batch: int) -> None:
    seeds = range(100 * batch, 100 * batch + 100)

    assert not [fault for seed in seeds for fault in faults(family, seed)]


@pytest.mark.long
@pytest.mark.parametrize("name", BOARDS)
def test_necks_of_open_boards_carry_as_the_opening_tells(name: str) -> None:
    """Pads are left out: the copper alone does not show them."""
    if not FOLDER.is_dir():
        pytest.skip("the open boards are not beside the checkout")
    layers = [layer for layer in read_board([FOLDER / name]).copper if layer.side in OUTER]

    for layer in layers:
        necks = census_necks(Segments.of(layer.islands), 0.5)
        assert not without_wide(layer.islands, necks) + between_parts(layer.islands, necks)
    assert layers


@pytest.mark.parametrize("family", FAMILIES)
def test_a_neck_is_as_wide_as_the_disc_that_fits_at_its_middle(family: str) -> None:
    islands = layout(family, 3)
    necks = necks_of(islands)

    assert len(necks)
    assert (necks.width <= REACH).all()
    for row, k in enumerate(necks.island):
        fits = 2 * to_edges(necks.at[row : row + 1], islands[k])[0]
        assert necks.width[row] == pytest.approx(fits, abs=necks.error)
