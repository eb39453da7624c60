"""What was read of a board in plain values: enough to report on it, without any geometry."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from checker.board import Board, Note


class LayerSummary(Struct, frozen=True):
    """A layer of copper: its side, how many islands and nets it holds, their area in mm2."""

    side: str
    islands: int
    copper: float
    nets: int


class Summary(Struct, frozen=True):
    """A board as a report tells of it.

    Attributes:
        name: folder, archive or file stem.
        sources: (file name, role) of every file looked at; role "not used" included.
        box: left, bottom, right, top in mm of the outline, or of the copper where there is none.
        layers: from top to bottom.
        holes, slots: how many.
        nets_from: "layer attributes", "netlist file" or "drawn connectivity".
        notes: what the reader ignored or guessed.
    """

    name: str
    sources: tuple[tuple[str, str], ...]
    box: tuple[float, float, float, float]
    layers: tuple[LayerSummary, ...]
    holes: int
    slots: int
    nets_from: str
    notes: tuple[Note, ...]

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that hold copper, from top to bottom."""
        return tuple(layer.side for layer in self.layers)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in mm."""
        left, bottom, right, top = self.box
        return right - left, top - bottom


@lru_cache(maxsize=4)  # a board is judged by several processes, each of which reports on it
def summary_of(board: Board) -> Summary:
    """The plain values of a board."""
    import numpy as np
    import shapely

    layers = tuple(
        LayerSummary(
            layer.side,
            len(layer.islands),
            float(np.sum(shapely.area(layer.islands))),
            len(np.unique(layer.net)),
        )
        for layer in board.copper
    )
    slots = sum(hole.is_slot for hole in board.holes)
    return Summary(
        board.name,
        board.sources,
        board.box,
        layers,
        len(board.holes) - slots,
        slots,
        board.nets_from,
        board.notes,
    )
