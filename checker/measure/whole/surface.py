"""Pads that lie on the board without a lead through them, and the parts that sit on such pads.

A part belongs to the surface if two of its pins or more have pads on an outer side and no hole for
a lead. One such pad is a heat tab, a test point or a mark, and its part needs no surface for it.
Pads for vias, tests, marks and washers are none by their function; a via in a pad is no lead. Where
the solder mask covers a pad that nobody names a part for, nothing is soldered to it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.labels import kinds_of, labels_of, natural
from checker.measure.holes.owners import Paths, filled
from checker.measure.holes.pads import outer
from checker.measure.holes.uses import Use, uses_of
from checker.measure.whole.masks import openings_of, within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints

    Bools = NDArray[np.bool_]

ERROR = 1e-6
"""Bound in mm on the error of places: middles of boxes of pads as drawn."""

_SURFACE = ("SMDPad", "BGAPad", "ConnectorPad")  # .AperFunction of the Gerber layer format
_NO_PART = (
    "ViaPad", "ComponentPad", "FiducialPad", "TestPad", "WasherPad", "ThermalReliefPad", "AntiPad",
    "HeatsinkPad", "CastellatedPad",
)  # fmt: skip


class Surface(Struct, frozen=True, eq=False):
    """Parts on surface pads: columns of length n, by name as people count, and nameless pads.

    Attributes:
        part: names.
        side: "top" or "bottom", where the first of its pads lies.
        at: (n, 2) middle of its pads, mm.
        pins: (n,) how many of its pins have surface pads.
        apart: (n,) distance between the middles of the two pads of a part of two, mm; else nan.
        nameless: (k, 2) middles of surface pads that nobody names a part for, that copper leaves
            and no mask covers; ``nameless_side`` (k,) 0 top, 1 bottom.
    """

    part: tuple[str, ...]
    side: tuple[str, ...]
    at: Floats
    pins: Ints
    apart: Floats
    nameless: Floats
    nameless_side: Ints


@lru_cache(maxsize=1)
def surface_of(board: Board) -> Surface:
    """The parts of a board that sit on surface pads; asks for the holes of a drill file."""
    labels, pads = labels_of(board), dict[str, dict[str, list[tuple[int, float, float]]]]()
    nameless: list[tuple[int, float, float]] = []
    for column, layer in outer(board):
        index = board.copper.index(layer)
        rows, drilled = _flat(board, layer)
        x0, y0, x1, y1 = shapely.bounds(layer.objects.shape[rows]).T
        middles = np.column_stack([(x0 + x1) / 2, (y0 + y1) / 2]).round(6).tolist()
        alone = np.bincount(layer.island_of[layer.island_of >= 0], minlength=len(layer.islands))
        openings, bare = openings_of(board, layer.side), np.ones(len(middles), bool)
        if openings is not None and len(middles):
            bare = within(openings, np.array(middles))
        for row, via, (x, y) in zip(
            rows.tolist(), (drilled | ~bare).tolist(), middles, strict=True
        ):
            pin = labels.pin(index, row)
            if pin is not None:
                part = pin.rpartition(".")[0] or pin
                pads.setdefault(part, {}).setdefault(pin, []).append((column, x, y))
            elif not via and alone[layer.island_of[row]] > 1:
                nameless.append((column, x, y))
    parts = sorted((part for part in pads if len(pads[part]) > 1), key=natural)
    spots = [[np.mean(pads[part][pin], axis=0) for pin in pads[part]] for part in parts]
    ends = [np.array(found)[:, 1:] for found in spots]
    lone = np.array(sorted(nameless)).reshape(-1, 3)
    return Surface(
        tuple(parts),
        tuple("bottom" if min(spot[0] for spot in found) > 0 else "top" for found in spots),
        np.array([(e.min(0) + e.max(0)) / 2 for e in ends]).reshape(-1, 2),
        np.array([len(e) for e in ends], dtype=np.int64),
        np.array([np.hypot(*(e[0] - e[1])) if len(e) == 2 else np.nan for e in ends]),
        lone[:, 1:],
        lone[:, 0].astype(np.int64),
    )


def pairs(at: Floats, reach: float) -> Ints:
    """(m, 2) which of some places have but each other within a reach (mm)."""
    points = shapely.points(at)
    near = shapely.STRtree(points).query(points, "dwithin", distance=reach).T
    near = near[near[:, 0] < near[:, 1]]
    found: Ints = near[(np.bincount(near.ravel(), minlength=len(at))[near] == 1).all(axis=1)]
    return found


def _flat(board: Board, layer: CopperLayer) -> tuple[Ints, Bools]:
    """Rows of a layer's surface pads, and whether a via stands in each."""
    objects, uses = layer.objects, uses_of(board)
    everyone = np.arange(len(objects))
    pads = objects.dark & (kinds_of(layer, everyone) == Kind.PAD) & (layer.island_of >= 0)
    says = np.array([(name or "").partition(",")[0] for name in objects.names], dtype=object)
    surface = np.append(np.isin(says, _SURFACE), False)[objects.function]
    rows = np.flatnonzero(pads & ~np.append(np.isin(says, _NO_PART), False)[objects.function])
    holes = Paths.of(board)
    hole, found = shapely.STRtree(filled(objects.shape[rows])).query(
        holes.path, "dwithin", distance=holes.radius
    )
    lead, via = np.zeros(len(rows), bool), np.zeros(len(rows), bool)
    is_via = uses.use[hole] == Use.VIA
    lead[found[~is_via]], via[found[is_via]] = True, True
    kept = ~lead | (surface[rows] & ~_holds(board, layer, rows, lead))
    return rows[kept], via[kept]


def _holds(board: Board, layer: CopperLayer, rows: Ints, lead: Bools) -> Bools:
    """Whether a hole's middle lies in a pad that touches one: a neighbour's hole only cuts it."""
    middles, held = Paths.of(board).middle, np.zeros(len(rows), bool)
    touched = np.flatnonzero(lead)
    tree = shapely.STRtree(middles)
    pad, _ = tree.query(filled(layer.objects.shape[rows[touched]]), "intersects")
    held[touched[pad]] = True
    return held
