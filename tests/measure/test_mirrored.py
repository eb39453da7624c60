"""Gaps and necks do not hang on where a board lies or which way its rings run: open boards moved.

A mirrored ring runs the other way round, so that its segments begin where they ended. Places may
move along a gap that is even, their number and their widths may not.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely import Polygon, affinity, box

from checker.engine import reach_for
from checker.measure import Facts, measure
from checker.measure.boundary.segments import Segments
from checker.measure.gaps import census as gaps
from checker.process import load_profile
from checker.read import read_board
from tests.examples import quick
from tests.layouts import FAMILIES, layout
from tests.read.made import BOARDS, needs_boards
from tests.transforms import MOTIONS, Motion, moved

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from checker.board import Shapes

QUICK = ("blinker",)
LONG = (
    "carte-test", "clockblock", "ds3231-breakout", "freeduino", "freevse", "herovco-back",
    "hotpi", "librepcb-test", "mainboard-diptrace", "microspora", "mppt-2420", "openbci-cyton",
    "pmw3360-fusion",
    "precadsr-aux", "pwm555", "simplefoc-shield", "snark-barker", "stepper-geda", "usbtinyisp-ss",
)  # fmt: skip
each_board = pytest.mark.parametrize(
    "name", [*QUICK, *(pytest.param(name, marks=pytest.mark.long) for name in LONG)]
)
REACH = 0.4


def mirrored(islands: Iterable[Polygon]) -> Shapes:
    found: Shapes = shapely.orient_polygons(
        [affinity.scale(one, -1, origin=(0, 0)) for one in islands]
    )
    return found


def cuts(islands: Shapes) -> list[float]:
    return sorted(gaps.census(Segments.of(shapely.orient_polygons(islands)), REACH).width[0])


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", quick([0, 1, 4, 6, 7], [0, 4]))
def test_a_layout_has_the_gaps_of_its_mirror_image(family: str, seed: int) -> None:
    islands = np.array(layout(family, seed))

    assert cuts(mirrored(islands)) == pytest.approx(cuts(islands), abs=gaps.ERROR)


@pytest.mark.parametrize("turned", [np.array, mirrored], ids=["as it is", "mirrored"])
def test_the_end_of_an_even_stretch_is_no_place_of_its_own(
    turned: Callable[[list[Polygon]], Shapes],
) -> None:
    # The gap narrows from both ends to one place; on the way 0.05 mm of it are even.
    edge = [(0, 1.3), (0.5, 1.236), (0.55, 1.236), (0.75, 1.136), (2, 1.5)]
    islands = turned([box(0, 0, 2, 1), Polygon([*edge, (2, 2), (0, 2)])])

    found = gaps.census(Segments.of(islands), REACH)

    assert found.distance == pytest.approx([0.136])


@needs_boards
@each_board
@pytest.mark.parametrize("motion", MOTIONS.values(), ids=MOTIONS)
def test_an_open_board_has_the_same_places_after_a_motion(name: str, motion: Motion) -> None:
    board = read_board([BOARDS / name])
    reach = reach_for(load_profile("flat-0.4"))

    facts, after = (measure(one, reach) for one in (board, moved(board, motion)))

    same = slice(None, None, -1 if motion.swap else 1)  # the layers of a mirrored board
    for one, other in zip(places(facts), places(after)[same], strict=True):
        assert {key: len(each) for key, each in other.items()} == {
            key: len(each) for key, each in one.items()
        }
        for key, each in one.items():
            assert sorted(other[key]) == pytest.approx(sorted(each), abs=gaps.ERROR)


def places(facts: Facts) -> list[dict[tuple[int, ...], list[float]]]:
    """Layer by layer the widths of the gaps of two islands, and of the necks of one.

    Those as wide as is looked for are left out: rounding decides whether they are there.
    """
    reach, found = facts.reach, []
    for gap, neck in zip(facts.gaps, facts.necks, strict=True):
        of: dict[tuple[int, ...], list[float]] = defaultdict(list)
        for islands, widths, most in (
            (gap.islands, gap.widest_cut[0.0], reach.cut),
            (neck.island[:, None], neck.width, reach.copper),
        ):
            told = widths < most - gaps.ERROR
            for key, width in zip(islands[told].tolist(), widths[told].tolist(), strict=True):
                of[tuple(key)].append(width)
        found.append(dict(of))
    return found
