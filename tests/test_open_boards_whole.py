"""Open boards as a whole: none is left out, and their copper is that of another reader.

The listed areas (`areas.json` beside the boards) have chords of 1 um inside their curves, which
takes up to 0.11 % from layers of small round pads and gives as much to those with many round
clearances. Here the other reader's shapes are drawn with chords of 0.1 um: then no area differs by
more than 0.02 %, and no boundary by more than the tolerance of reading.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.ndimage import label

from checker.read.gerber import TOLERANCE, flatten, parse_gerber
from checker.read.gerber.strokes import CRACK
from tests.oracles.distance import beyond
from tests.oracles.other_reader import image, painted
from tests.read.made import BOARDS, needs_boards, reference
from tests.read.test_open_boards import BIG, MEDIUM, SMALL

pytestmark = needs_boards

AREAS: dict[str, dict[str, Any]] = reference("areas.json") if BOARDS.is_dir() else {}
PIXEL = 25.4 / 1000  # mm, of the renderer whose areas are listed
SHARP = 10  # corners of a layer, of 10 000 to 600 000
UNREAD = ("hotpi", "openbci-cyton")
"""Boards whose files give coordinates without an operation code, as older exporters do: the other
reader takes them for an error.
"""
MISPLACED = ("freeduino",)
"""Boards with polygons in macros (``5,1,8,0,0,1.08239X$1,22.5``), all of which the other reader
puts at the origin. The listed areas are right: two readers and a raster agree on them.
"""
QUICK = (
    *(("blinker", side) for side in ("top0", "bottom0")),
    *(("ds3231-breakout", side) for side in ("top0", "bottom0")),
    *(("pdstepper-power", side) for side in ("top0", "bottom0")),
    *(("pmw3360-fusion", side) for side in ("top0", "bottom0")),
    ("freevse", "top0"),
    ("mainboard-diptrace", "bottom0"),
    ("usbtinyisp-ss", "bottom0"),
)
OTHERWISE = (("limesdr-altium", "inner0"), ("limesdr-altium", "bottom0"))
"""Layers with a test of their own."""
LAYERS = [(board, layer) for board, layers in AREAS.items() for layer in layers]
DRAWN = [
    pytest.param(board, layer, marks=[pytest.mark.long] * ((board, layer) not in QUICK))
    for board, layer in LAYERS
    if board not in UNREAD + MISPLACED and (board, layer) not in OTHERWISE
]


def text_of(board: str, layer: str) -> str:
    file = str(AREAS[board][layer]["file"])
    return (BOARDS / board / file).read_bytes().decode("latin-1")


def copper_of(board: str, layer: str) -> Any:
    return flatten(parse_gerber(text_of(board, layer), layer).objects)[0]


def other_copper(board: str, layer: str) -> Any:
    """Islands of the other reader; holes no wider than a crack are filled, as this reader does."""
    others = shapely.get_parts(image(text_of(board, layer)))
    rings, owner = shapely.get_rings(others, return_index=True)
    hole = np.diff(owner, prepend=-1) == 0
    hole[hole] = shapely.is_empty(shapely.buffer(shapely.polygons(rings[hole]), -CRACK / 2))
    return shapely.polygons(rings[~hole], indices=owner[~hole])


def test_every_open_board_is_among_those_read() -> None:
    folders = {path.name for path in BOARDS.iterdir() if path.is_dir()}

    assert folders == {*SMALL, *MEDIUM, *BIG} == set(AREAS) == set(reference("roles.json"))


def test_every_file_of_every_board_has_a_role_that_was_looked_up() -> None:
    for board, roles in reference("roles.json").items():
        files = {
            Path(layer["file"]).name for layer in AREAS[board].values()
        }  # copper, the least there is

        assert files <= {Path(file).name for listed in roles.values() for file in listed}


@pytest.mark.parametrize(("board", "layer"), DRAWN)
def test_copper_is_that_of_another_reader_drawn_as_finely(board: str, layer: str) -> None:
    islands = copper_of(board, layer)
    others = other_copper(board, layer)

    assert shapely.area(islands).sum() == pytest.approx(shapely.area(others).sum(), rel=2e-4)
    assert len(islands) == len(others)
    # Where curves meet at a sharp angle the corner moves farther than the curves.
    assert beyond(islands, others, TOLERANCE) <= SHARP
    assert beyond(others, islands, TOLERANCE) <= SHARP


@pytest.mark.long
def test_pads_that_touch_the_edge_of_their_clearance_are_one_island_with_it() -> None:
    """Drawn with corners on the curve, two pads stand off the plane by less than the tolerance."""
    islands = copper_of("limesdr-altium", "inner0")
    others = other_copper("limesdr-altium", "inner0")

    touching = shapely.union_all(shapely.buffer(others, TOLERANCE))
    assert len(shapely.get_parts(touching)) == len(islands) == 1
    assert len(others) == 3
    assert beyond(islands, others, TOLERANCE) == 0
    assert shapely.area(islands).sum() == pytest.approx(shapely.area(others).sum(), rel=2e-4)


@pytest.mark.long
def test_islands_of_the_one_layer_whose_listed_number_is_another_are_those_painted() -> None:
    """The list has 2565. Painted object over object, without any union, there are 2564."""
    islands = copper_of("limesdr-altium", "bottom0")
    painted_copper = painted(text_of("limesdr-altium", "bottom0"), 0.008)

    assert label(painted_copper)[1] == len(islands) == 2564
    # No thread and, but for one pair of islands, no gap could be lost between pixels.
    assert all(len(shapely.get_parts(shapely.buffer(one, -0.012))) == 1 for one in islands)
    near = shapely.STRtree(islands).query(islands, "dwithin", distance=0.03)
    assert (np.diff(near, axis=0) != 0).sum() == 2


@pytest.mark.parametrize(
    ("board", "layer"), [one for one in LAYERS if one[0] in UNREAD + MISPLACED]
)
def test_copper_that_the_other_reader_mistakes_has_the_listed_area(board: str, layer: str) -> None:
    area = shapely.area(copper_of(board, layer)).sum()

    assert area == pytest.approx(AREAS[board][layer]["area_mm2"], rel=5e-4)


@pytest.mark.parametrize("board", UNREAD)
def test_the_other_reader_refuses_the_boards_said_to_be_unread(board: str) -> None:
    with pytest.raises(SyntaxError, match="Ambiguous coordinate statement"):
        image(text_of(board, "top0"))


@pytest.mark.parametrize("board", MISPLACED)
def test_the_other_reader_puts_polygons_of_macros_at_the_origin(board: str) -> None:
    read = shapely.union_all(copper_of(board, "top0"))

    beyond = shapely.get_parts(image(text_of(board, "top0")).difference(read.buffer(TOLERANCE)))

    assert any(part.area > 1 and part.centroid.distance(shapely.Point(0, 0)) < 1 for part in beyond)


@pytest.mark.long
@pytest.mark.parametrize(("board", "layer"), LAYERS)
def test_copper_is_that_of_a_raster_but_for_a_hundredth(board: str, layer: str) -> None:
    islands = copper_of(board, layer)

    area = shapely.area(islands).sum()
    # Or but for a quarter of a pixel along all boundaries, where these are long for the area: the
    # outer layers of minnowmax-allegro have 4.6 mm of boundary to each mm2, and lose 1.8 %.
    edge = PIXEL / 4 * shapely.length(islands).sum()
    assert area == pytest.approx(AREAS[board][layer]["raster_area_mm2"], abs=max(0.01 * area, edge))
