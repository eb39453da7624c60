"""Holes without a lead that leave too little of the copper they cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from checker.exact import tie
from checker.findings import Observation, State
from checker.labels import labels_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.owners import Paths
from checker.measure.holes.pads import SIDES
from checker.measure.holes.remains import left_beside
from checker.remedy import up
from rules._holes import word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Board, CopperLayer, Ints
    from checker.process.model import Process


def bitten(
    board: Board, process: Process, column: int, layer: CopperLayer, holes: Ints
) -> Iterator[tuple[int, Observation]]:
    """Those of some holes that cut copper and leave less than ``minimum_trace`` of its way."""
    least = process.minimum_trace
    if least is None:
        return
    drilling, labels, paths = drilling_of(board), labels_of(board), Paths.of(board)
    index, band = board.copper.index(layer), tie(board)
    for hole in holes.tolist():
        island = int(drilling.foreign_island[hole, column])
        swept = paths.swept(holes[holes == hole])[0]
        found = left_beside(layer, island, swept, least)
        if found is None or found[1] >= min(found[0], least) - band:
            continue
        left, cut = found[1], float(-drilling.foreign[hole, column])
        if cut >= paths.radius[hole]:  # the hole's middle is in the copper, its rim is farther in
            edge = shapely.boundary(layer.islands[island])
            cut += float(shapely.distance(paths.path[hole], edge))
        what = labels.standing(index, int(drilling.foreign_object[hole, column]), island)
        x, y = drilling.foreign_at[hole, column].tolist()
        of = f"leaves {left:.3f} mm of" if left > band else "cuts in two"
        yield (
            hole,
            Observation(
                message=f"{word(board, hole)} of {board.holes[hole].diameter:.2f} mm {of} {what}, "
                f"copper survives from {least:.3f} mm",
                remedy=f"Move it {up(cut):.2f} mm away",
                cause=f"holes that part copper on the {SIDES[column]} side",
                state=State.NOT_MAKEABLE,
                measured=left,
                limit=least,
                side=layer.side,
                x=x,
                y=y,
                nets=(labels.net(index, island),),
            ),
        )
