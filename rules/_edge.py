"""What the rules on the board's edge share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind, Unchecked
from checker.exact import tie
from checker.measure.edge.clearances import holes_of
from checker.measure.edge.contour import wastes_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.pads import drilled_away
from checker.measure.whole.cover import WHOLE, trails_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Ints
    from checker.measure.edge.clearances import EdgeCopper
    from checker.measure.edge.contour import Wastes
    from checker.process.model import Process

FELT = 0.05  # mm; half of the finest tolerance that board houses offer for an outline


def no_edge(board: Board, subject: str) -> Unchecked:
    """What a rule says of a board without an edge."""
    return Unchecked(subject, f"the board's edge {board.edge_wants}")


def unset(subject: str, key: str) -> Unchecked:
    """What a rule says where the profile leaves its limit open."""
    return Unchecked(subject, f"the profile sets no {key}")


def wastes_for(board: Board, process: Process, subject: str) -> tuple[float, Wastes] | Unchecked:
    """The diameter of the outline cutter, and what it leaves or cannot enter."""
    cutter = process.outline.cutter
    if cutter is None:
        return unset(subject, "outline.cutter")
    return no_edge(board, subject) if board.outline is None else (cutter, wastes_of(board, cutter))


def half_holes(board: Board) -> Ints:
    """Holes across the edge that make contact by their wall, if any hole at home did."""
    edge = holes_of(board)
    if edge is None:
        return np.empty(0, np.int64)
    copper = (drilling_of(board).island >= 0).any(axis=1)
    said = np.array([str(hole.plated) for hole in board.holes], dtype=np.str_)
    plated = (said == "True") | ((said == "None") & copper)
    found: Ints = np.flatnonzero(plated & edge.crosses(tie(board)))
    return found


def told_elsewhere(board: Board, copper: EdgeCopper) -> NDArray[np.bool_]:
    """(n,) True for pads of half holes, pads drilled away, and lines that show the edge."""
    told = np.zeros(len(copper), bool)
    pads = drilling_of(board).pad[half_holes(board)]
    trails = {trail.side: trail for trail in trails_of(board) if trail.share >= WHOLE}
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        mine = np.flatnonzero((copper.layer == index) & (copper.object >= 0))
        rows = copper.object[mine]
        halves = pads[:, int(layer.side == "bottom")]
        shapes = layer.objects.shape  # several pads together may make one
        touching = shapely.STRtree(shapes[rows]).query(shapes[halves[halves >= 0]], "intersects")[1]
        told[mine[touching]] = layer.objects.kind[rows[touching]] == Kind.PAD
        told[mine] |= np.isin(rows, drilled_away(board, layer))
        trail = trails.get(layer.side)
        if trail is not None:
            pen, distance = layer.objects.pen[rows], copper.distance[mine]
            lines = (layer.objects.kind[rows] == Kind.TRACE) & (pen > 0) & (pen <= trail.pen)
            # Both rims of a line on the edge lie half its pen from it, one of them outside.
            rim = lines & (np.abs(np.abs(distance) - pen / 2) <= trail.apart + tie(board))
            rims = copper.island[mine][rim & (distance < 0)]
            told[mine] |= rim & np.isin(copper.island[mine], rims)
    return told


def alone(board: Board, copper: EdgeCopper) -> NDArray[np.bool_]:
    """(n,) True for islands that are a net of their own: marks and letters outside the board."""
    nets = [layer.net for layer in board.copper]
    known, count = np.unique(np.concatenate(nets), return_counts=True)
    own = np.array(
        [nets[index][island] for index, island in zip(copper.layer, copper.island, strict=True)],
        np.int64,
    )
    alone: NDArray[np.bool_] = count[np.searchsorted(known, own)] == 1
    return alone


def parts_of(board: Board, holes: Ints) -> list[int]:
    """Which board of a panel each of some holes is of: the nearest."""
    if board.outline is None or not len(holes):
        return [0] * len(holes)
    points = shapely.points([board.holes[hole].path[0] for hole in holes.tolist()])
    return [int(i) for i in shapely.STRtree(shapely.get_parts(board.outline.area)).nearest(points)]
