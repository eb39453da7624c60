"""What the rules on holes share: which tool makes a hole, and how a hole is called."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from checker.board import Unchecked
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Board, Hole
    from checker.process.model import Process

EXACT = 1e-6  # mm; sizes in inches are no round binary fractions


def unread(board: Board, subject: str) -> Unchecked | None:
    """What a rule on holes says where no drill file told of any."""
    reasons = [one.why for one in board.unchecked if one.what == "holes" and not board.holes]
    return Unchecked(subject, reasons[0]) if reasons else None


def two_sided(board: Board) -> bool:
    """Whether both outer sides hold copper."""
    return {"top", "bottom"} <= {layer.side for layer in board.copper if len(layer.islands)}


def drill_for(process: Process, diameter: float) -> float | None:
    """The drill at hand for a hole: the nearest within the tolerance, of two the wider."""
    return process.drills.serving(diameter)


def milled(process: Process, diameter: float) -> bool:
    """Whether the outline cutter makes a hole by going round in it."""
    return process.outline.goes_round(diameter)


@lru_cache(maxsize=1)  # most rules on holes ask, for every process
def rounds(board: Board) -> Sequence[tuple[int, Hole]]:
    """The round holes with their indices."""
    return tuple((i, hole) for i, hole in enumerate(board.holes) if not hole.is_slot)


def names(board: Board, holes: Iterable[int]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Nets and pins of holes, each once, in the order of the holes."""
    uses, every = uses_of(board), list(holes)
    nets = dict.fromkeys(net for hole in every for net in uses.nets[hole])
    return tuple(nets), tuple(dict.fromkeys(pin for hole in every for pin in uses.pins[hole]))


def word(board: Board, hole: int) -> str:
    """What a sentence on a hole begins with: "Hole" or "Slot"."""
    return "Slot" if board.holes[hole].is_slot else "Hole"


def where(board: Board, hole: int) -> str:
    """What to call a hole after a colon: ": J1.2 (GND)", ": via GND"; "" where nothing helps."""
    uses = uses_of(board)
    nets, pins = ", ".join(uses.nets[hole]), ", ".join(uses.pins[hole])
    via = "via " * bool(uses.use[hole] == Use.VIA)
    if pins:
        return f": {via and 'via in '}{pins}" + f" ({nets})" * bool(nets)
    return f": {via}{nets}" if nets else ""
