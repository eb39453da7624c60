"""Gaps that are even, or wavy by their chords, are as wide without a walk as with one."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from checker.measure.boundary.segments import Segments
from checker.measure.gaps import census as gaps
from checker.measure.gaps.census import census
from checker.measure.gaps.even import EVEN
from checker.read import read_board
from tests.examples import quick
from tests.layouts import FAMILIES, layout
from tests.oracles.closing import joined
from tests.read.made import BOARDS, needs_boards

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from checker.board import Floats, Shapes
    from checker.measure.boundary.minima import Normals
    from checker.measure.gaps.census import Census

NEAR = 1e-5  # mm
REACH = 0.5


def none_even(
    _segments: Segments, normals: Normals, *_: object
) -> tuple[Floats, NDArray[np.bool_]]:
    return np.full(len(normals), np.inf), np.zeros(len(normals), dtype=bool)


def both(islands: Iterable[Polygon], bites: tuple[float, ...]) -> tuple[Census, Census]:
    """As it is, and with every minimum walked."""
    segments = Segments.of(np.array([*islands]))
    found = census(segments, REACH, bites)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gaps, "_even", none_even)
        return found, census(segments, REACH, bites)


def annulus(inner: int, outer: int, turned: float, gap: float) -> list[Polygon]:
    """A pad of so many corners in a pour with a clearance of so many, and its gap at corners."""

    def ring(corners: int, radius: float, start: float) -> list[tuple[float, float]]:
        angles = start + np.arange(corners) * 2 * np.pi / corners
        return [(radius * np.cos(one), radius * np.sin(one)) for one in angles.tolist()]

    hole = ring(outer, 1 + gap, turned)
    return [Polygon(ring(inner, 1.0, 0.0)), Polygon(box(-3, -3, 3, 3).exterior.coords, [hole])]


@given(st.integers(24, 90), st.integers(24, 90), st.floats(0, 0.3), st.floats(0.1, 0.4))
@settings(max_examples=20)
def test_the_clearance_of_a_pad_is_as_wide_as_a_walk_finds_it(
    inner: int, outer: int, turned: float, gap: float
) -> None:
    found, walked = both(annulus(inner, outer, turned, gap), (0.0, 0.02))

    assert found.width == pytest.approx(walked.width, abs=EVEN / 2 + gaps.ALIKE + NEAR)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", quick(range(40), range(3)))
def test_places_of_a_layout_are_as_wide_as_walks_find_them(family: str, seed: int) -> None:
    found, walked = both(layout(family, seed), (0.0, 0.02))

    assert found.width == pytest.approx(walked.width, abs=EVEN / 2 + gaps.ALIKE + NEAR)


@cache
def copper(name: str) -> list[Shapes]:
    board = read_board([BOARDS / name])
    return [one.islands for one in board.copper if one.side in ("top", "bottom")]


@needs_boards
@pytest.mark.parametrize(
    "name",
    quick(
        ["usbtinyisp-ss", "pwm555", "openbci-cyton", "freeduino", "hotpi", "microspora"],
        ["usbtinyisp-ss", "pwm555"],
    ),
)
def test_places_of_an_open_board_are_as_wide_as_walks_find_them(name: str) -> None:
    for islands in copper(name):
        found, walked = both(islands, (0.0,))

        assert found.width == pytest.approx(walked.width, abs=EVEN / 2 + gaps.ALIKE + NEAR)


def test_no_minimum_of_an_annulus_is_walked(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr(gaps, "_widths", refuse)

    found = census(Segments.of(np.array(annulus(72, 60, 0.01, 0.2))), REACH)

    assert len(found.distance) == 1


def test_a_bay_between_narrow_places_lets_a_wider_cut_pass() -> None:
    # Teeth 0.2 mm from the wall, and between them room for a cutter of 0.3 mm every 0.25 mm.
    teeth = [(0.25 * k + off, 0.2 + up) for k in range(12) for off, up in ((0, 0), (0.125, 0.3))]
    comb = Polygon([*teeth, (3, 2), (0, 2)])
    wall = box(-1, -1, 4, 0)

    width = float(census(Segments.of(np.array([wall, comb])), REACH).width[0].min())

    assert width > 0.2 + EVEN
    assert not joined([wall, comb], width - 0.005)[0, 1]
    assert joined([wall, comb], width + 0.005)[0, 1]


def test_an_even_stretch_shorter_than_the_cut_does_not_tell() -> None:
    # A round end of 0.1 mm in a hollow of the same middle: even for 0.2 mm, and open beyond.
    pin = Point(0, 0).buffer(0.1, quad_segs=32)
    block = box(-0.3, -2, 2, 2).difference(Point(0, 0).buffer(0.4, quad_segs=32))
    hollow = block.difference(box(-2, -2, 0.36, 2))
    islands = [pin, hollow]

    found, walked = both(islands, (0.0,))

    assert found.width == pytest.approx(walked.width, abs=EVEN / 2 + gaps.ALIKE + NEAR)
    assert float(found.width[0].min()) > 0.3 + EVEN
