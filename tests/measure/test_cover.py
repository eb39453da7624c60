"""Layers as a whole against counting by hand: each hole with each island, one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Board, Hole, Kind, Outline
from checker.measure.whole.cover import (
    ERROR,
    LEG,
    RIM,
    covers_of,
    landing_of,
    rims_of,
    sizes_of,
    trails_of,
)
from tests.handmade import Copper, layer, square
from tests.read.gerber.written import read, xy

EDGE = Outline(shapely.multipolygons([shapely.box(0, 0, 40, 40)]), "p", "by hand")

place = st.tuples(st.integers(2, 38), st.integers(2, 38))
pieces = st.lists(st.tuples(place, st.integers(1, 12)), min_size=1, max_size=8)
hits = st.lists(
    st.tuples(place, st.sampled_from((0.4, 0.8, 1.5, 3.0)), st.sampled_from((None, True, False))),
    max_size=12,
)


def islands(drawn: list[tuple[tuple[int, int], int]]) -> list[shapely.Polygon]:
    joined = shapely.union_all([square(*at, size=size) for at, size in drawn])
    return list(shapely.get_parts(joined))


def board(
    top: list[shapely.Polygon], bottom: list[shapely.Polygon], holes: tuple[Hole, ...]
) -> Board:
    layers = tuple(
        layer(side, [(Copper(Kind.POUR), island) for island in found])
        for side, found in (("top", top), ("bottom", bottom))
    )
    return Board("b", (), layers, holes, EDGE)


@settings(deadline=None, max_examples=20)
@given(pieces, pieces, hits)
def test_covers_landings_and_rims_are_what_counting_gives(
    top: list[tuple[tuple[int, int], int]],
    bottom: list[tuple[tuple[int, int], int]],
    drilled: list[tuple[tuple[int, int], float, bool | None]],
) -> None:
    holes = tuple(Hole(((float(x), float(y)),), d, p, None, "d", 1) for (x, y), d, p in drilled)
    sides = islands(top), islands(bottom)
    given = board(*sides, holes)

    def reaches(hole: Hole, island: shapely.Polygon) -> bool:
        return bool(island.distance(shapely.Point(hole.path[0])) <= hole.diameter / 2 + RIM)

    legs = [hole for hole in holes if hole.diameter >= LEG]
    for cover, own in zip(covers_of(given), sides, strict=True):
        assert cover.share == pytest.approx(sum(island.area for island in own) / 1600)
        assert cover.legs == len(legs)
        assert cover.together == max(sum(reaches(hole, island) for hole in legs) for island in own)
    counted = [
        hole
        for hole in holes
        if hole.plated is not False
        and EDGE.area.boundary.distance(shapely.Point(hole.path[0])) > 1.0
    ]
    assert landing_of(given).holes == len(counted)
    assert landing_of(given).reaching == sum(
        any(reaches(hole, island) for island in (*sides[0], *sides[1])) for hole in counted
    )
    assert sorted(rims_of(given).hole.tolist()) == [
        i
        for i, hole in enumerate(holes)
        if hole.plated is None
        and all(any(reaches(hole, island) for island in own) for own in sides)
    ]


@settings(deadline=None, max_examples=15)
@given(
    st.floats(0.1, 2.0),
    st.floats(-0.4, 0.4),
    st.sampled_from([0, 90, 180, 270, 33]),
    st.integers(3, 40),
)
def test_a_trail_is_as_far_from_the_edge_as_it_was_drawn(
    pen: float, off: float, turn: float, corners: int
) -> None:
    """A polygon of corners on a circle, and a line along it inside or outside by a part of the pen.

    The edges' middles are nearer to the centre by cos(pi / n): so is all that runs along them.
    """
    radius, inner = 30.0, 30.0 + off * pen / math.cos(math.pi / corners)
    start = math.radians(turn)

    def ring(r: float) -> list[tuple[float, float]]:
        angles = start + 2 * math.pi * np.arange(corners + 1) / corners
        return list(zip(r * np.cos(angles), r * np.sin(angles), strict=True))

    lines = [f"{xy(*at)}D0{1 if i else 2}*" for i, at in enumerate(ring(inner))]
    objects = read(f"%ADD10C,{pen:.6f}*%", "D10*", *lines).objects
    drawn = layer("bottom", [(Copper(), objects.shape[0])])
    edge = Outline(shapely.multipolygons([shapely.Polygon(ring(radius))]), "p", "by hand")
    drawn = replace(drawn, objects=objects)

    (trail,) = trails_of(Board("b", (), (drawn,), outline=edge))

    # A corner lies farther from the edge's lines only outside of them.
    apart = abs(inner - radius) * (1 if off > 0 else math.cos(math.pi / corners))
    assert trail.apart == pytest.approx(apart, abs=ERROR)
    assert trail.share == pytest.approx(1.0, abs=0.01)
    assert trail.pen == pytest.approx(pen, abs=1e-6)


def test_sizes_are_those_in_the_middle_of_all_copper() -> None:
    lines = ("%ADD10C,0.2*%", "%ADD11C,1.0*%", "D10*", f"{xy(0, 0)}D02*", f"{xy(60, 0)}D01*")
    objects = read(*lines, "D11*", f"{xy(0, 5)}D02*", f"{xy(10, 5)}D01*").objects
    drawn = layer("bottom", [(Copper(), shape) for shape in objects.shape])
    drawn = replace(drawn, objects=objects)
    holes = tuple(Hole(((1.0, 1.0),), d, None, None, "d", 1) for d in (0.8, 1.0, 3.2))

    sizes = sizes_of(Board("b", (), (drawn,), holes, EDGE))

    assert (sizes.board, sizes.line, sizes.hole) == ((40.0, 40.0), 0.2, 1.0)


def test_without_lines_the_pads_tell_and_without_holes_nothing_does() -> None:
    pads = [(Copper(Kind.PAD), shapely.box(0, 0, width, 3)) for width in (0.5, 1.0, 2.0)]

    sizes = sizes_of(Board("b", (), (layer("top", pads),)))

    assert (sizes.board, sizes.line, sizes.hole) == ((2.0, 3.0), 1.0, None)
