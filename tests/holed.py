"""Boards that are holes in plain laminate with a corner of copper, and a process that drills."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from msgspec.structs import replace

from checker.board import Board, Hole, Outline, Unchecked
from checker.measure import Facts, Reach
from checker.process.shop import Drills, EdgeWork
from tests.handmade import PLAIN, RULES, Copper, layer, square

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.process.model import Process

Point = tuple[float, float]


def hit(x: float, y: float, diameter: float, function: str | None = None) -> Hole:
    """A round hole."""
    return Hole(((x, y),), diameter, None, function, "holes.drl", 1)


def slot(a: Point, b: Point, width: float, function: str | None = None) -> Hole:
    """A straight slot."""
    return Hole((a, b), width, None, function, "holes.drl", 1)


def holed(
    *holes: Hole,
    sides: Sequence[str] = ("top", "bottom"),
    box: tuple[float, float, float, float] | None = (0.0, 0.0, 100.0, 60.0),
    read: bool = True,
) -> Facts:
    """A board with these holes; ``read`` False where there was no drill file."""
    x, y = (box[0] - 1, box[1] - 1) if box else (0.0, 0.0)
    layers = tuple(layer(side, [(Copper(), square(x, y))]) for side in sides)
    outline = Outline(shapely.MultiPolygon([shapely.box(*box)]), "edge.gbr", "") if box else None
    unchecked = () if read else (Unchecked("holes", "no drill file"),)
    board = Board("holed", (), layers, holes=holes, outline=outline, unchecked=unchecked)
    return Facts(board, Reach(), (), ())


def drilling(
    *sizes: float,
    tolerance: float = 0.0,
    cutter: float | None = None,
    most_sizes: int | None = None,
) -> Process:
    """A process with these drills at hand."""
    return replace(
        PLAIN,
        drills=Drills(sizes or None, tolerance=tolerance, most_sizes=most_sizes),
        outline=EdgeWork(cutter=cutter),
    )


def unchecked(name: str, facts: Facts, process: Process) -> list[Unchecked]:
    """What one rule could not check."""
    return [one for one in RULES[name].check(facts, process) if isinstance(one, Unchecked)]
