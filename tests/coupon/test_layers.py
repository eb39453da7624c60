from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Any

import gerbonara
import numpy as np
import pytest
import shapely

from checker.coupon import layers
from checker.coupon.model import Copper
from checker.read.gerber import parse_gerber
from tests.coupon.made import ALL, FEW, MILLING, board, built_in
from tests.examples import quick

milling = pytest.mark.parametrize("name", quick(MILLING, FEW))
every = pytest.mark.parametrize("name", quick(ALL, FEW))
FINE = 256  # chords of a quarter of a circle


def disc(x: float, y: float, radius: float) -> Any:
    return shapely.Point(x, y).buffer(radius, quad_segs=FINE)


def as_the_other_reader_has_it(text: str) -> Any:
    """The area that gerbonara reads."""
    shapes = []
    for drawn in gerbonara.GerberFile.from_string(text).objects:
        for one in drawn.to_primitives("mm"):
            match one:
                case gerbonara.graphic_primitives.Circle():
                    shapes.append(disc(one.x, one.y, one.r))
                case gerbonara.graphic_primitives.Line():
                    ends = shapely.LineString([(one.x1, one.y1), (one.x2, one.y2)])
                    shapes.append(ends.buffer(one.width / 2, quad_segs=FINE))
                case gerbonara.graphic_primitives.Rectangle():
                    w, h = one.w / 2, one.h / 2
                    shapes.append(shapely.box(one.x - w, one.y - h, one.x + w, one.y + h))
                case gerbonara.graphic_primitives.ArcPoly():
                    shapes.append(shapely.Polygon(one.outline))
                case _:
                    pytest.fail(f"an unknown shape {one}")
    return shapely.union_all(shapes)


def as_planned(one: Copper) -> Any:
    if not one.width:
        return shapely.Polygon(one.points)
    if len(one.points) > 1:
        return shapely.LineString(one.points).buffer(one.width / 2, quad_segs=FINE)
    (x, y), half = one.points[0], one.width / 2
    return shapely.box(x - half, y - half, x + half, y + half) if one.square else disc(x, y, half)


@every
@pytest.mark.parametrize("side", ["top", "bottom"])
def test_another_reader_has_the_copper_that_was_planned(name: str, side: str) -> None:
    coupon = built_in(name)
    planned = shapely.union_all([as_planned(one) for one in coupon.copper if one.side == side])

    text = layers(coupon).get(f"copper-{side}.gbr")
    read = as_the_other_reader_has_it(text) if text is not None else shapely.Polygon()

    assert read.area == pytest.approx(planned.area, rel=1e-4)
    assert read.symmetric_difference(planned).area <= 1e-4 * planned.area


@milling
def test_our_reader_has_the_same_area_but_for_chords_of_1_um(name: str) -> None:
    planned = shapely.union_all(
        [as_planned(one) for one in built_in(name).copper if one.side == "top"]
    )

    area = sum(island.area for island in board(name).copper[0].islands)

    assert planned.area - 0.001 * planned.length <= area <= planned.area * (1 + 1e-9)


@milling
def test_another_reader_follows_the_lines_of_every_groove(name: str) -> None:
    coupon = built_in(name)

    for file in coupon.depths:
        lines = [one for one in coupon.strokes if one.file == file]
        read = gerbonara.GerberFile.from_string(layers(coupon)[f"{file}.gbr"]).objects
        found = [((one.x1, one.y1), (one.x2, one.y2)) for one in read]
        drawn = [pair for line in lines for pair in pairwise(line.points)]
        assert np.array(found) == pytest.approx(np.array(drawn), abs=1e-6)


@milling
def test_groove_files_say_how_deep_they_are_cut(name: str) -> None:
    coupon = built_in(name)
    texts = layers(coupon)

    said = [
        parse_gerber(texts[f"{file}.gbr"], file).attributes["FileFunction"]
        for file in coupon.depths
    ]

    assert said == [("Other", f"Groove {depth:.3f} mm deep") for depth in coupon.depths.values()]


@milling
def test_drill_file_has_the_holes_that_were_planned(name: str) -> None:
    planned = {(*hole.at, hole.diameter) for hole in built_in(name).holes}

    read = {(*hole.path[0], hole.diameter) for hole in board(name).holes}

    assert sorted(read) == [pytest.approx(hole, abs=1e-4) for hole in sorted(planned)]
    assert {hole.plated for hole in board(name).holes} == {False}


@every
def test_copper_has_a_net_for_every_piece_that_should_be_apart(name: str) -> None:
    layer = board(name).copper[0]

    pieces = len({one.net for one in built_in(name).copper if one.side == "top"})

    assert None not in layer.net_name
    assert len(set(layer.net_name)) == pieces


def test_every_line_is_plain_text_that_ends_in_a_newline() -> None:
    for text in layers(built_in("cone-30-0.1")).values():
        assert re.fullmatch(r"([ -~]+\n)+", text)


def test_resistance_is_that_of_as_many_squares() -> None:
    # 23.43 mm by 0.35 mm: squares of straight trace and 0.56 of each bend, times the resistance of
    # a square of copper of 1 oz/ft2, 0.0343 mm: 1.7241e-8 ohm m (IEC 60028) / 34.3 um.
    coupon = built_in("cone-30-0.1")
    meander = coupon.meander
    assert meander is not None
    (line,) = (one for one in coupon.copper if one.net == "serpentine" and len(one.points) > 1)
    pads = [one for one in coupon.copper if one.net == "serpentine" and len(one.points) == 1]

    bends = len(line.points) - 2
    straight = shapely.LineString(line.points)
    for pad in pads:
        straight = straight.difference(shapely.Point(pad.points[0]).buffer(pad.width / 2))
    squares = (straight.length - bends * line.width) / line.width + 0.56 * bends

    assert meander.ohm == pytest.approx(
        squares * 1.7241e-8 / coupon.process.foil.nominal / 1e-3, rel=2e-3
    )
    assert math.isclose(meander.width, line.width)
