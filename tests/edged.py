"""Boards that are an edge, a few pieces of copper and holes, and a process that cuts them out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Outline, Unchecked
from checker.measure import Facts, Reach
from checker.process.shop import EdgeWork, Machine, Stock
from tests.handmade import PLAIN, RULES, Copper, layer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.process.model import Process

Piece = tuple[Copper, shapely.Polygon]
BOX = shapely.box(0.0, 0.0, 40.0, 30.0)


def edged(
    outline: shapely.Geometry | None = BOX,
    copper: Sequence[Piece | shapely.Polygon] = (),
    *holes: Hole,
    side: str = "top",
    read: bool = True,
    openings: tuple[tuple[float, float, float], ...] = (),
) -> Facts:
    """A board with this edge; ``read`` False where there was no drill file."""
    pieces = [piece if isinstance(piece, tuple) else (Copper(), piece) for piece in copper]
    edge = None
    if outline is not None:
        area = shapely.MultiPolygon([part for part in shapely.get_parts(outline) if part.area])
        edge = Outline(area, "edge.gbr", "", openings)
    board = Board(
        "edged",
        (),
        (layer(side, pieces),),
        holes=holes,
        outline=edge,
        unchecked=() if read else (Unchecked("holes", "no drill file"),),
        open_edge=() if outline is not None else openings,
    )
    return Facts(board, Reach(), (), ())


def cutting_out(
    cutter: float | None = 1.0,
    machine: Machine | None = None,
    stock: Stock | None = None,
    **work: float | None,
) -> Process:
    """A process with this cutter and further keys of the outline."""
    return replace(
        PLAIN,
        outline=EdgeWork(cutter=cutter, **work),  # type: ignore[arg-type]
        machine=machine or Machine(),
        stock=stock or Stock(),
    )


def unchecked(name: str, facts: Facts, process: Process) -> list[Unchecked]:
    """What one rule could not check."""
    return [one for one in RULES[name].check(facts, process) if isinstance(one, Unchecked)]


NO_EDGE = "the board's edge is not known"
