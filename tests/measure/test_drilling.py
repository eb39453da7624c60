"""Holes against copper: rings and distances against full constructions by GEOS."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import affinity

from checker.board import Board, Hole, Kind
from checker.measure.holes.bare import ROOM, surroundings_of
from checker.measure.holes.drilling import ERROR, REACH, drilling_of
from tests.coppered import Drawn, coppered, disk, drilled, trace
from tests.examples import seeds

SIDES = ("top", "bottom")


def path_of(hole: Hole) -> Any:
    return shapely.LineString(hole.path) if hole.is_slot else shapely.Point(hole.path[0])


def middle_of(hole: Hole) -> Any:
    return path_of(hole).interpolate(0.5, normalized=True) if hole.is_slot else path_of(hole)


def board_of(seed: int) -> Board:
    """Holes and slots in pads of many shapes, some off their middle, among traces and pours."""
    rng = Random(seed)
    holes: list[Hole] = []
    drawn: dict[str, list[Drawn]] = {"top": [], "bottom": []}
    for k in range(16):
        x, y = 6.0 * (k % 4) + rng.uniform(-1, 1), 6.0 * (k // 4) + rng.uniform(-1, 1)
        size = rng.choice([0.4, 0.8, 1.0, 1.3])
        end = (x + rng.uniform(0.5, 1.5), y + rng.uniform(-1, 1))
        path = ((x, y), end) if rng.random() < 0.3 else ((x, y),)
        holes.append(Hole(path, size, None, None, "holes.drl", 1))
        at = middle_of(holes[-1])
        for side in SIDES:
            if rng.random() < 0.25:
                continue
            off = rng.choice([0.0, 0.0, 0.2, 0.7]) * size
            copper = affinity.translate(pad(rng, size), at.x + off, at.y + off / 2)
            drawn[side].append(Drawn(copper))
            if rng.random() < 0.5:
                goes = (at.x + rng.uniform(-4, 4), at.y + rng.uniform(-4, 4))
                drawn[side].append(trace(None, rng.uniform(0.2, 0.6), (at.x, at.y), goes))
    for side in SIDES:
        if rng.random() < 0.6:
            x, y = rng.uniform(0, 12), rng.uniform(0, 12)
            area = shapely.box(x, y, x + 9, y + 9)
            for hole in holes:
                if rng.random() < 0.7:
                    area -= path_of(hole).buffer(rng.uniform(0.3, 1.5))
            drawn[side] += [Drawn(part, None, Kind.POUR) for part in shapely.get_parts(area)]
    return coppered(*holes, top=drawn["top"], bottom=drawn["bottom"]).board


def pad(rng: Random, hole: float) -> Any:
    """A pad about the origin: round, square, long, turned, or with a clear middle."""
    size = hole + rng.uniform(-0.1, 1.2)
    form = rng.randrange(4)
    if form == 0:
        return disk(0, 0, size)
    if form == 1:
        return affinity.rotate(shapely.box(-size / 2, -size, size / 2, size), rng.uniform(0, 90))
    if form == 2:
        return shapely.LineString([(-size / 2, 0), (size / 2, size)]).buffer(size / 2)
    return disk(0, 0, size) - disk(0, 0, rng.uniform(0.2, 0.9) * min(hole, size))


def own_copper(board: Board, hole: Hole, layer: Any, island: int) -> Any:
    """The island with what the drill takes from within it filled up."""
    copper = layer.islands[island]
    gone = path_of(hole).buffer(hole.diameter / 2 + ERROR, quad_segs=64)
    for ring in copper.interiors:
        clear = shapely.Polygon(ring)
        if clear.covers(middle_of(hole)) or gone.covers(clear):
            copper = copper.union(clear)
    return copper


@pytest.mark.parametrize("seed", seeds(4, 16))
def test_a_ring_is_the_widest_that_fits_between_hole_and_edge(seed: int) -> None:
    board = board_of(seed)
    drilling = drilling_of(board)

    checked = 0
    for index, hole in enumerate(board.holes):
        for column, layer in enumerate(board.copper):
            island, ring = int(drilling.island[index, column]), drilling.ring[index, column]
            assert math.isnan(ring) == (island < 0)
            if island < 0 or ring + hole.diameter / 2 <= 0.01:
                continue
            copper = own_copper(board, hole, layer, island)
            wide = hole.diameter / 2 + ring
            inner = path_of(hole).buffer(wide - 0.001, quad_segs=64)
            outer = path_of(hole).buffer((wide + 0.001) / math.cos(math.pi / 256), quad_segs=64)
            assert copper.covers(inner)
            assert not copper.covers(outer)
            checked += 1
    assert checked


@pytest.mark.parametrize("seed", seeds(4, 16))
def test_a_hole_off_its_copper_is_as_far_out_as_its_path_is(seed: int) -> None:
    board = board_of(seed)
    drilling = drilling_of(board)

    for index, column in np.argwhere(drilling.ring < 0).tolist():
        hole, layer = board.holes[index], board.copper[column]
        copper = own_copper(board, hole, layer, int(drilling.island[index, column]))
        if not copper.contains(path_of(hole)):
            out = max(copper.distance(shapely.Point(end)) for end in hole.path)
            assert drilling.ring[index, column] == pytest.approx(
                -out - hole.diameter / 2, abs=ERROR
            )
        rim = path_of(hole).buffer(hole.diameter / 2, quad_segs=64).exterior
        share = rim.difference(copper).length / rim.length
        assert drilling.breakout[index, column] == pytest.approx(360 * share, abs=2.0)


@pytest.mark.parametrize("seed", seeds(4, 16))
def test_foreign_copper_is_the_nearest_island_of_another_net(seed: int) -> None:
    board = board_of(seed)
    drilling = drilling_of(board)

    for index, hole in enumerate(board.holes):
        mine = {
            int(layer.net[island])
            for layer, island in zip(board.copper, drilling.island[index], strict=True)
            if island >= 0
        }
        for column, layer in enumerate(board.copper):
            gone = path_of(hole).buffer(hole.diameter / 2 + 0.01, quad_segs=64)
            others = [
                island.distance(path_of(hole)) - hole.diameter / 2
                for island, net in zip(layer.islands, layer.net.tolist(), strict=True)
                if net not in mine and not gone.covers(island)
            ]
            nearest = min(others, default=math.inf)
            found = drilling.foreign[index, column]
            assert found == pytest.approx(nearest if nearest <= REACH else math.inf, abs=ERROR)
            if math.isfinite(found):
                island = layer.islands[drilling.foreign_island[index, column]]
                point = shapely.Point(drilling.foreign_at[index, column])
                assert island.distance(point) <= ERROR
                far = path_of(hole).distance(point) - hole.diameter / 2
                assert far == pytest.approx(found, abs=ERROR)


@pytest.mark.parametrize("seed", range(6))
def test_the_least_ring_is_where_it_points_to(seed: int) -> None:
    board = board_of(seed)
    drilling = drilling_of(board)

    for index, column in np.argwhere(drilling.ring > 0).tolist():
        hole = board.holes[index]
        if hole.is_slot:
            continue
        copper = own_copper(board, hole, board.copper[column], int(drilling.island[index, column]))
        far = hole.diameter / 2 + drilling.ring[index, column]
        edge = drilling.at[index] + far * drilling.toward[index, column]
        assert copper.boundary.distance(shapely.Point(edge)) <= ERROR


def test_a_pad_of_another_side_ties_the_hole_to_its_net() -> None:
    board = coppered(
        drilled(0, 0, 1.0),
        top=[Drawn(disk(0, 0, 2.0), "A")],
        bottom=[trace("B", 0.4, (-5, 0.8), (5, 0.8)), trace("A", 0.4, (-5, 2), (5, 2))],
    ).board

    drilling = drilling_of(board)

    assert drilling.island.tolist() == [[0, -1]]
    assert drilling.ring[0, 0] == pytest.approx(0.5, abs=0.001)
    assert drilling.foreign[0, 1] == pytest.approx(0.1, abs=ERROR)
    assert drilling.foreign[0, 0] == math.inf


def test_a_thermal_gap_bounds_the_ring_and_a_pour_widens_it() -> None:
    spoke = shapely.box(-3, -0.2, 3, 0.2)
    pour = (shapely.box(-4, -4, 4, 4) - disk(0, 0, 2.4)) | spoke
    relieved = coppered(drilled(0, 0, 1.0), top=[Drawn(disk(0, 0, 2.0)), Drawn(pour)]).board
    flooded = coppered(drilled(0, 0, 1.0), top=[Drawn(shapely.box(-4, -4, 4, 4))]).board

    assert drilling_of(relieved).ring[0, 0] == pytest.approx(0.5, abs=0.001)
    assert drilling_of(flooded).ring[0, 0] == pytest.approx(3.5, abs=ERROR)


def test_an_opening_in_a_pour_is_no_pad_with_a_clear_middle() -> None:
    pour = shapely.box(-4, -4, 4, 4) - disk(0, 0, 2.0)
    board = coppered(drilled(0, 0, 1.0), top=[Drawn(pour, None, Kind.POUR)]).board

    drilling = drilling_of(board)

    assert drilling.island[0, 0] == -1
    assert drilling.net[0] == -1
    assert drilling.foreign[0, 0] == pytest.approx(0.5, abs=0.001)


def test_copper_that_the_drill_takes_away_is_neither_pad_nor_foreign() -> None:
    board = coppered(
        drilled(0, 0, 3.2, plated=False),
        top=[Drawn(disk(0, 0, 3.2)), Drawn(shapely.box(5, 5, 6, 6))],
    ).board

    assert drilling_of(board).net[0] == -1
    assert drilling_of(board).foreign[0, 0] == math.inf


def test_holes_without_copper_of_their_own_stand_in_one_sheet_or_in_openings() -> None:
    pour = shapely.box(-4, -4, 4, 4) - disk(0, 0, 2.0)
    pads = [Drawn(disk(x, 0, 2.0)) for x in (0, 10, 20)]
    board = coppered(
        *(drilled(x, 0, 1.0) for x in (0, 10, 20)),
        top=[Drawn(pour, "GND", Kind.POUR)],
        bottom=pads,
    ).board

    drilling = drilling_of(board)

    assert drilling.sheet[:, 0].tolist() == [1, 0, 0]
    assert drilling.sheet[:, 1].tolist() == [-1, -1, -1]
    # The rim of the first is 0.5 mm from the pour all round, that of the second 6.5 mm at most.
    assert drilling.uncovered[:2, 0] == pytest.approx([0.5, 6.5], abs=0.013)


@pytest.mark.parametrize("seed", range(4))
def test_what_stands_round_a_bare_hole_is_every_net_within_the_room(seed: int) -> None:
    rng = Random(seed)
    pieces = [Drawn(disk(rng.uniform(4, 20), rng.uniform(-20, 20), 1.0)) for _ in range(25)]
    pieces += [trace(f"N{k}", 0.3, (-5, -5.0 - k), (-5 - k, 12)) for k in range(4)]
    hole = drilled(0, 0, 3.2, plated=False)
    board = coppered(hole, top=pieces).board
    (layer,) = board.copper

    found = surroundings_of(board)

    away = [island.distance(shapely.Point(0, 0)) - 1.6 for island in layer.islands]
    expected = {net: far for net, far in zip(layer.net.tolist(), away, strict=True) if far <= ROOM}
    assert dict(
        zip(layer.net[found.island].tolist(), found.away.tolist(), strict=True)
    ) == pytest.approx(expected, abs=ERROR)


def test_the_pad_about_each_hole_is_its_own_whichever_copper_comes_first() -> None:
    places = [(5.0, 5.0), (15.0, 5.0), (25.0, 5.0)]
    board = coppered(
        *(drilled(x, y, 1.0) for x, y in places), bottom=[Drawn(disk(x, y, 2.0)) for x, y in places]
    ).board

    found = drilling_of(board)

    assert found.pad.tolist() == [[-1, 0], [-1, 1], [-1, 2]]
    assert found.half[:, 1].tolist() == pytest.approx([1.0] * 3, abs=1e-3)
