"""What the rules on pads in pours share: where the pad is, and what it is called."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.findings import Observation, State
from checker.labels import labels_of

if TYPE_CHECKING:
    from checker.board import Board


def at_pad(
    board: Board,
    layer: int,
    row: int,
    message: str,
    remedy: str,
    cause: str,
    state: State,
    measured: float | None = None,
    limit: float | None = None,
) -> Observation:
    """An observation at the middle of a pad; its name and net follow the message."""
    copper, labels = board.copper[layer], labels_of(board)
    island, pin = int(copper.island_of[row]), labels.pin(layer, row)
    net = labels.net(layer, island)
    x, y = copper.objects.shape[row].centroid.coords[0]
    return Observation(
        message=f"{message}: {pin or 'a pad'} in the pour {net}",
        remedy=remedy,
        cause=cause,
        state=state,
        measured=measured,
        limit=limit,
        side=copper.side,
        x=x,
        y=y,
        nets=(net,),
        pins=(pin,) if pin else (),
    )
