from __future__ import annotations

import math
import re

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Unchecked
from checker.measure import Facts, Reach
from checker.process.model import Process
from checker.process.shop import Machine
from tests.handmade import PLAIN, rule, seen
from tests.layouts import board_of

NAME = "coarse-probing"


def plate(longer: float) -> Facts:
    return Facts(board_of([shapely.box(0, 0, longer, longer / 2)]), Reach(), (), ())


def probing(spacing: float | None, bow: float | None, error: float) -> Process:
    return replace(PLAIN, machine=Machine(bow=bow, probe_spacing=spacing), bed_error=error)


@pytest.mark.parametrize(("spacing", "off"), [(10, 0.006), (20, 0.024), (33, 0.065), (50, 0.15)])
def test_worked_figures_for_a_bow_of_three_tenths(spacing: float, off: float) -> None:
    # Derived in the trade for a bow of 0.3 mm over 100 mm, rounded to a micrometre.
    (told,) = seen(NAME, plate(100), probing(spacing, 0.3, 0.0))

    assert told.measured == pytest.approx(off, abs=5e-4)


@given(st.floats(0.01, 2.0), st.floats(2, 60))
def test_distance_is_that_of_a_circle_from_its_chord(bow: float, spacing: float) -> None:
    radius = 100**2 / (8 * bow) + bow / 2  # of the circle with that bow over 100 mm

    (told,) = seen(NAME, plate(100), probing(spacing, bow, 0.0))

    sagitta = radius - math.sqrt(radius**2 - (spacing / 2) ** 2)
    assert told.measured == pytest.approx(2 * sagitta, rel=0.01)


def test_limit_is_the_bed_error() -> None:
    assert seen(NAME, plate(100), probing(20, 0.3, 0.0240)) == []
    assert len(seen(NAME, plate(100), probing(20, 0.3, 0.0239))) == 1


def test_unprobed_the_whole_bow_counts() -> None:
    (told,) = seen(NAME, plate(50), probing(None, 0.4, 0.05))

    assert told.measured == pytest.approx(0.1)  # half the length, a quarter of the bow


def test_a_board_smaller_than_the_grid_is_its_own_patch() -> None:
    (told,) = seen(NAME, plate(20), probing(50, 0.5, 0.01))

    assert told.measured == pytest.approx(2 * 0.5 * 0.04)


@given(st.floats(0.05, 2.0), st.floats(5, 80), st.floats(0.005, 0.05))
def test_remedy_works(bow: float, spacing: float, error: float) -> None:
    for one in seen(NAME, plate(100), probing(spacing, bow, error)):
        grid = re.search(r"grid of ([0-9.]+) mm", one.remedy)
        if grid is not None:
            assert seen(NAME, plate(100), probing(float(grid[1]), bow, error)) == []


def test_the_remedy_tells_how_flat_the_blank_is_to_be_held() -> None:
    # 20 mm of 100 mm, either way: 2 x 0.04 of the bow may be 0.05 mm, so it may be 0.625 mm.
    (told,) = seen(NAME, plate(100), probing(20, 1.0, 0.05))

    assert told.remedy.endswith("the blank to a bow of 0.62 mm over 100 mm")


def test_without_a_bow_it_says_so() -> None:
    assert list(rule(NAME).check(plate(100), probing(10, None, 0.03))) == [
        Unchecked("flatness between probed points", "the profile sets no machine.bow")
    ]
