"""What a cut leaves of the drawn copper when it comes out as wide as it may.

The path is led for the nominal width. Where the cut is wider, half of the excess comes off every
edge; where the process bites to pass a gap, the bite comes off as well; an etchant takes its
undercut off every edge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from msgspec import Struct

from checker.losses import losses

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.process.model import Process


class Left(Struct, frozen=True):
    """Copper after the cut, outer sides together.

    Attributes:
        drawn: area of the copper as drawn, mm2.
        eaten: what the cut may take of it, mm2: its boundary times what comes off an edge, which
            is no less than the truth, and the bites as simulated.
        thinnest: width in mm of the narrowest copper left that joins two parts of a net.
        beyond: nothing drawn is so narrow that it was measured: ``thinnest`` is at least that.
    """

    drawn: float
    eaten: float
    thinnest: float
    beyond: bool

    @property
    def share(self) -> float:
        """The part of the drawn copper that may be eaten, 0 to 1."""
        return min(1.0, self.eaten / self.drawn) if self.drawn else 0.0


def off_an_edge(process: Process) -> float:
    """What comes off every edge of the copper at the worst, mm."""
    if process.cut is None:
        return 0.0
    if process.bit is None:
        return process.undercut
    return (process.cut.most - process.cut.nominal) / 2


def left_of(facts: Facts, process: Process) -> Left | None:
    """What a process leaves; None for one that takes no copper away, or a board without any."""
    outer = [layer for layer in facts.board.copper if layer.side in ("top", "bottom")]
    drawn = float(sum(shapely.area(layer.islands).sum() for layer in outer))
    boundary = float(sum(shapely.length(layer.islands).sum() for layer in outer))
    if process.cut is None or not drawn:
        return None
    off, bitten = off_an_edge(process), [loss for _, loss in losses(facts, process)]
    widths = [necks.width[necks.carries] - 2 * off for necks in facts.necks]
    widths += [loss.neck_width[loss.neck_carries] for loss in bitten]
    known = [float(column.min()) for column in widths if len(column)]
    most = facts.reach.copper - 2 * off
    thinnest = min([most, *known])
    return Left(
        drawn=drawn,
        eaten=boundary * off + sum(loss.area for loss in bitten),
        thinnest=max(0.0, thinnest),
        beyond=thinnest == most,
    )
