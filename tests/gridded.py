"""Boards that are leads in pads, and a process that puts them into a grid of holes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Outline, Unchecked
from checker.measure import Facts, Reach
from checker.process.shop import HoleGrid, Stock
from tests.handmade import PLAIN, Copper, _Nets, layer, square

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from checker.board import Rating
    from checker.process.model import Process

Lead = tuple[str, str | None, float, float]  # "U1.3" or "", net, x, y
PITCH = 2.54


def standing(
    leads: Iterable[Lead],
    size: float = 0.9,
    *,
    pad: float = 1.8,
    read: bool = True,
    more: Iterable[Hole] = (),
    box: tuple[float, float] = (80.0, 60.0),
    ratings: Mapping[str, Rating] | None = None,
) -> Facts:
    """A board with a pad and a hole for every lead; ``read`` False: without its drill file."""
    copper, holes = [], []
    for name, net, x, y in leads:
        part, _, pin = name.partition(".")
        copper.append((Copper(net=net, component=part or None, pin=pin or None), square(x, y, pad)))
        holes.append(Hole(((x, y),), size, None, "ComponentDrill", "holes.drl", 1))
    board = Board(
        "gridded",
        (),
        (layer("bottom", copper, _Nets()),),
        holes=(*holes, *more) if read else (),
        outline=Outline(shapely.MultiPolygon([shapely.box(0, 0, *box)]), "edge.gbr", ""),
        unchecked=() if read else (Unchecked("holes", "no drill file"),),
        ratings=ratings or {},
    )
    return Facts(board, Reach(), (), ())


def on_grid(**changes: object) -> Process:
    """A process with a grid of holes as shops sell it, but for changes."""
    grid = HoleGrid(
        pitch=PITCH,
        hole=1.0,
        pad=2.0,
        play=0.2,
        bend=0.4,
        forced_bend=0.65,
        free_leads=3,
        most_wires=100,
    )
    return replace(
        PLAIN,
        method="perfboard",
        cut=None,
        minimum_trace=None,
        grid=replace(grid, **changes),
        stock=Stock(size=(100.0, 160.0)),
    )
