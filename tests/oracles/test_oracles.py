"""The oracles against closed forms and against each other, before anything leans on them."""

from __future__ import annotations

import math
from itertools import pairwise, product

import numpy as np
import pytest
import shapely
from shapely import box

from tests.examples import quick
from tests.layouts import ADVERSARIAL, FAMILIES, layout
from tests.oracles.closing import Arcs, joined, merges, minimax
from tests.oracles.distance import gap_between
from tests.oracles.forms import FORMS, Form
from tests.oracles.opening import bottlenecks, sawn_apart
from tests.oracles.raster import Raster, filled


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_closing_meets_the_closed_form(form: Form) -> None:
    found = merges(form.islands, 1.2, form.bite, tolerance=2e-5)

    assert found.width[0, 1] == pytest.approx(form.width, abs=form.error + 3e-4)


@pytest.mark.parametrize("family", quick(FAMILIES, set(FAMILIES) - {"dots"}))
def test_arcs_rounded_both_ways_enclose_the_merge_width(family: str) -> None:
    islands = layout(family, 2)
    generous, nearest, sparing = (
        merges(islands, 0.4, 0.0, 1e-4, arcs=arcs)
        for arcs in (Arcs.GENEROUS, Arcs.NEAREST, Arcs.SPARING)
    )

    assert (generous.low <= nearest.high).all()
    assert (nearest.low <= sparing.high).all()
    both = np.isfinite(sparing.high)
    assert np.median((sparing.high - generous.low)[both]) < 1e-3


# Needles end between two pixel centres, so families made of them say nothing on pixels.
@pytest.mark.parametrize(
    ("family", "bite"),
    quick(
        list(product(["ordinary", "dots", "combs", "rings", "wedges"], [0.0, 0.02])),
        [("ordinary", 0.0), ("dots", 0.0), ("rings", 0.02), ("wedges", 0.0)],
    ),
)
def test_closing_and_raster_agree_outside_one_and_a_half_pixels(family: str, bite: float) -> None:
    pixel = 0.005
    islands = layout(family, 7)
    raster = Raster(islands, pixel, 0.4)
    found = merges(islands, 0.42, bite, 2e-4)

    for width in (0.08, 0.15, 0.27, 0.4):
        on_pixels = raster.joined(width, bite)
        assert (found.low[on_pixels] < width + 1.5 * pixel).all()
        assert (found.high[~on_pixels] > width - 1.5 * pixel).all()


def test_pixels_of_an_island_are_those_whose_centre_it_holds() -> None:
    island = layout("rings", 3)[0]
    x, y = island.bounds[:2]
    centres = np.meshgrid(x + 0.01 * (np.arange(300) + 0.5), y + 0.01 * (np.arange(280) + 0.5))

    assert (filled(island, (x, y), (280, 300), 0.01) == shapely.contains_xy(island, *centres)).all()


def test_bisection_finds_what_trying_every_width_finds() -> None:
    islands = layout("mixed", 11)
    found = merges(islands, 0.5, tolerance=1e-3)

    for width in np.arange(0.02, 0.5, 0.02):
        now = joined(islands, width)
        assert (found.low[now] < width).all()
        assert (found.high[~now] > width).all()


def test_a_chain_joins_at_its_widest_link() -> None:
    row = [box(0, 0, 1, 1), box(1.1, 0, 2, 1), box(2.15, 0, 3, 1)]

    found = merges(row, 0.5, tolerance=1e-5).width
    chained = minimax(3, [(0, 1), (1, 2)], [0.1, 0.15])

    assert found == pytest.approx(
        np.array([[0, 0.1, 0.15], [0.1, 0, 0.15], [0.15, 0.15, 0]]), abs=2e-4
    )
    assert chained.tolist() == [[0, 0.1, 0.15], [0.1, 0, 0.15], [0.15, 0.15, 0]]


def test_bottleneck_of_parts_in_a_row_is_their_narrowest_link_whichever_way_it_is_told() -> None:
    row = shapely.union_all([box(0, 0, 1, 1), box(2, 0, 3, 1), box(4, 0, 5, 1)])
    links = {0.1: box(1, 0.2, 2, 0.3), 0.15: box(3, 0.5, 4, 0.65)}
    island = shapely.union_all([row, *links.values()])
    parts = [shapely.Point(x, 0.5) for x in (0.5, 2.5, 4.5)]
    at = np.array([link.centroid.coords[0] for link in links.values()])

    eroded = bottlenecks(island, parts, 0.4)
    sawn = sawn_apart(island, parts, 0.4, at, np.array(list(links)))

    expected = [[0.4, 0.1, 0.1], [0.1, 0.4, 0.15], [0.1, 0.15, 0.4]]
    assert eroded == pytest.approx(np.array(expected), abs=1e-5)
    assert sawn.tolist() == expected


def test_distance_by_brute_force_is_that_of_the_library() -> None:
    islands = layout("ordinary", 5)

    for one, other in pairwise(islands):
        assert gap_between(one, other) == pytest.approx(one.distance(other), abs=1e-12)


@pytest.mark.parametrize("family", FAMILIES)
def test_layouts_are_sound_and_the_same_every_time(family: str) -> None:
    for seed in range(10):
        islands = layout(family, seed)

        assert len(islands) > 1
        assert all(island.is_valid and island.exterior.is_ccw for island in islands)
        gaps = [a.distance(b) for k, a in enumerate(islands) for b in islands[:k]]
        assert min(gaps) >= 0.012
        assert islands == layout(family, seed)


def test_adversarial_layouts_have_widest_cuts_far_above_the_distance() -> None:
    ratios = []
    for family in ADVERSARIAL:
        islands = layout(family, 1)
        width = merges(islands, 0.6, tolerance=5e-3).width
        ratios += [
            width[i, j] / islands[i].distance(islands[j])
            for i in range(len(islands))
            for j in range(i)
            if math.isfinite(width[i, j])
        ]

    assert np.quantile(ratios, 0.1) < 1.1
    assert sum(ratio > 1.5 for ratio in ratios) > 10
