"""Copper drawn with a pen that belongs to no circuit: letters, logos, marks, scraps of fills."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.minima import components
from checker.measure.holes.uses import uses_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints

_NO_NET = ("", "N/C")  # net names of the Gerber layer format that name none
_FAT = 2.0  # pens; a stroke's own copper is 1, a sharp bend or a crossing of two 1.6 at most
_SCRAPS = 0.25  # of all that a pen draws without a net: then the rest are scraps of fills too
_BARED = 0.5  # of its area, what an opening for a pad bares of it at least
_APART = 3.0  # letters of one text are nearer to each other than this, mm


class Letters(Struct, frozen=True, eq=False):
    """Texts of one outer layer, strokes that lie near each other together; columns of length n.

    Attributes:
        layer: number of the layer in ``board.copper``.
        islands: (n,) indices into its islands, an array for each text.
        at: (n, 2) middle of the text's box, mm.
        stroke: (n,) the thinnest pen, mm.
        pieces: (n,) islands of copper.
        height: (n,) of the text's box, mm; width of an upright one.
        filled: (n,) these are no letters but scraps of a fill that is drawn with a pen.
    """

    layer: int
    islands: tuple[Ints, ...]
    at: Floats
    stroke: Floats
    pieces: Ints
    height: Floats
    filled: NDArray[np.bool_]


@lru_cache(maxsize=8)  # layers
def carries_no_current(board: Board, layer: int) -> NDArray[np.bool_]:
    """(islands of the layer,) where they are letters or scraps."""
    found = np.zeros(len(board.copper[layer].islands), dtype=bool)
    for letters in letters_of(board):
        if letters.layer == layer:
            for islands in letters.islands:
                found[islands] = True
    return found


@lru_cache(maxsize=1)
def letters_of(board: Board) -> tuple[Letters, ...]:
    """Measure every outer layer of a board."""
    return tuple(
        _measured(board, number, layer)
        for number, layer in enumerate(board.copper)
        if layer.side in ("top", "bottom")
    )


def _measured(board: Board, number: int, layer: CopperLayer) -> Letters:
    objects, count = layer.objects, len(layer.islands)
    here = layer.island_of >= 0
    stroked = here & (objects.kind == Kind.TRACE) & (objects.pen > 0)
    alone = np.ones(count, dtype=bool)
    alone[layer.island_of[here & ~stroked]] = False  # pads and fills are no letters
    named = [i for i, name in enumerate(layer.net_name) if name not in (None, *_NO_NET)]
    alone[named] = False
    alone &= np.bincount(layer.island_of[stroked], minlength=count) > 0
    if board.holes and alone.any():
        paths = shapely.points(uses_of(board).at)
        drilled, _ = shapely.STRtree(paths).query(layer.islands, predicate="intersects")
        alone[drilled] = False
    if alone.any():
        alone &= ~_bared(board, layer, alone)
    islands = np.flatnonzero(alone)
    stroke = np.full(count, np.inf)
    np.minimum.at(stroke, layer.island_of[stroked], objects.pen[stroked])
    scraps = islands[_scraps(layer, islands, stroke[islands])]
    texts = _together(layer, np.setdiff1d(islands, scraps))
    letters, texts = len(texts), [*texts, *_together(layer, scraps)]
    boxes = [shapely.total_bounds(layer.islands[text]) for text in texts]
    return Letters(
        number,
        tuple(texts),
        np.array([(box[:2] + box[2:]) / 2 for box in boxes]).reshape(-1, 2),
        np.array([stroke[text].min() for text in texts]),
        np.array([len(text) for text in texts], dtype=np.int64),
        np.array([min(box[2] - box[0], box[3] - box[1]) for box in boxes]),
        np.arange(len(texts)) >= letters,
    )


def _bared(board: Board, layer: CopperLayer, asked: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(islands,) of those asked, with an opening of the mask each, as pads have: soldered ones."""
    bared, area = np.zeros(len(layer.islands), dtype=bool), shapely.area(layer.islands)
    for mask in board.graphics:
        if (mask.role, mask.side) == ("mask", layer.side):
            drawn = mask.objects
            openings = drawn.shape[drawn.dark]
            opening, island = shapely.STRtree(layer.islands).query(openings)
            # What is smaller than most of an island does not bare most of it.
            most = shapely.area(openings)[opening] > _BARED * area[island]
            most &= np.isin(opening, opening[most & asked[island]])
            opening, island = opening[most], island[most]
            both = shapely.intersection(openings[opening], layer.islands[island])
            most = shapely.area(both) > _BARED * area[island]
            opening, island = opening[most], island[most]
            bared[island[np.bincount(opening, minlength=len(openings))[opening] == 1]] = True
    return bared & asked


def _scraps(layer: CopperLayer, islands: Ints, pen: Floats) -> NDArray[np.bool_]:
    """(n,) what strokes fill side by side, and with it the crumbs that their pen drew."""
    widest = shapely.maximum_inscribed_circle(layer.islands[islands], tolerance=pen / 10)
    found: NDArray[np.bool_] = 2 * shapely.length(widest) > _FAT * pen
    for one in np.unique(pen[found]).tolist():
        alike = np.isclose(pen, one)
        if found[alike].mean() >= _SCRAPS:
            found |= alike
    return found


def _together(layer: CopperLayer, islands: Ints) -> list[Ints]:
    """Islands that lie nearer to each other than letters of a text do."""
    if not len(islands):
        return []
    shapes = layer.islands[islands]
    one, other = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=_APART)
    group = components(len(islands), one, other)
    return [islands[group == number] for number in np.unique(group)]
