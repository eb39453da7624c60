"""Boards and processes for the rules on leftover copper: a few shapes in, facts out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from msgspec.structs import replace

from checker.board import Board, Outline
from checker.engine import reach_for
from checker.measure import Facts, measure
from tests.handmade import Copper, exactly, flat, layer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.process.model import Process

MILLED = replace(
    flat(0.2, exactly(0.09)),
    cleared_width=0.35,
    minimum_trace=0.25,
    short_neck=1.0,
    smallest_leftover=0.5,
    pad_clearance=0.3,
)
"""An end mill of 0.2 mm that turns true, and the limits of an ordinary shop."""


def facts_of(
    copper: Sequence[tuple[Copper, shapely.Polygon]],
    process: Process = MILLED,
    size: float = 40.0,
    **more: object,
) -> Facts:
    """The bottom of a square board about the origin, measured as the process asks."""
    edge = shapely.MultiPolygon([shapely.box(-size / 2, -size / 2, size / 2, size / 2)])
    board = Board(
        "board",
        (),
        (layer("bottom", copper),),
        outline=Outline(edge, "edge.gbr", "drawn"),
        **more,  # type: ignore[arg-type]
    )
    return measure(board, reach_for(process))
