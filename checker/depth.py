"""The depths at which a bit makes a board: deep enough for the foil, shallow enough for the gaps.

Set deeper, a cone cuts wider and closes gaps; set shallower, the foil stays uncut where the surface
lies low. Between the two is the board's window of depths for that bit. Lengths in mm.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.exact import tie
from checker.process.width import deepest, nominal_width, width_at
from checker.remedy import FINE_STEP, STEP, up

if TYPE_CHECKING:
    from checker.measure import Facts
    from checker.process.bit import Bit
    from checker.process.model import Process

_EXACT = 1e-9


class Span(Struct, frozen=True):
    """Depths to set: from the least that goes through the foil to the most that opens every gap.

    Attributes:
        shallowest: depth from which the foil is cut.
        deepest: depth up to which every gap opens; inf where none is too deep, -inf where the bit
            is too wide at any.
    """

    shallowest: float
    deepest: float

    @property
    def empty(self) -> bool:
        """No depth does both."""
        return self.deepest < self.shallowest - _EXACT

    @property
    def room(self) -> float:
        """How much lies between the two; negative by what is missing."""
        return self.deepest - self.shallowest


class Window(Struct, frozen=True):
    """The depths of a bit for a board.

    Attributes:
        sure: with every error at its worst: within it the board's gaps and foil pass with margin.
        nominal: with every error at none: outside it the board cannot be made.
        flatness: how far the surface may lie off, ±, for one depth to be left in ``sure``; what
            setting the depth may err by is counted. Inf for a bit as wide at any depth, negative
            where no bed is flat enough.
        fits: the widest cut that passes the tightest gap.
        beyond: no gap is that tight: ``fits`` is how far gaps were looked for, and the deepest
            depth is at least what is told.
    """

    sure: Span
    nominal: Span
    flatness: float
    fits: float
    beyond: bool

    @property
    def best(self) -> float | None:
        """The shallowest sure depth that one would set, in whole hundredths or thousandths.

        Shallow is best: the foil is cut at the worst already, and every gap keeps the most margin.
        None where no depth is sure.
        """
        for step in (STEP, FINE_STEP):
            depth = up(self.sure.shallowest, step)
            if depth <= self.sure.deepest + _EXACT:
                return depth
        return None


def window_of(facts: Facts, process: Process, reach: float = inf) -> Window | None:
    """The window of a process for a board; None where the process sets no depth.

    Args:
        facts: of the board.
        process: as loaded.
        reach: gaps that pass a wider cut (mm) are left out, whether they were measured or not.

    Agrees with judging the board anew at every depth: `checker.isolation.fates` opens every gap and
    the least depth reached is no less than the thickest foil if and only if the depth is in
    ``sure``; no gap stays joined and the nominal foil is cut if and only if it is in ``nominal``.
    """
    bit, reached = process.bit, process.reached
    if bit is None or reached is None:
        return None
    from checker.isolation import tightest  # a window that was found before needs no numpy

    gap, band = tightest(facts, process, reach), tie(facts.board)
    shallowest = process.foil.most + bit.depth.nominal - reached.least
    at_worst = _deepest_at_worst(bit, process.bed_error, gap.fits + band)
    plainly = _deepest(bit, gap.bitten - band)  # a gap at the very limit is not called open
    # A flatter bed lets the tool be set shallower, and deeper unless the cut was measured on it.
    gains = 1 if bit.measured_width is not None else 2
    return Window(
        sure=Span(shallowest, min(at_worst, plainly)),
        nominal=Span(process.foil.nominal, _deepest(bit, gap.bitten + band)),
        flatness=process.bed_error + min((at_worst - shallowest) / gains, plainly - shallowest),
        fits=gap.fits,
        beyond=gap.row is None,
    )


def _deepest(bit: Bit, width: float) -> float:
    """The greatest depth at which the nominal cut is at most ``width``."""
    shift = width_at(bit, bit.depth.nominal) - nominal_width(bit, bit.depth.nominal)
    true = width - shift - bit.runout.nominal
    return deepest(bit.shape, bit.tip_width.nominal, bit.angle, bit.diameter, true)


def _deepest_at_worst(bit: Bit, bed_error: float, width: float) -> float:
    """The greatest depth at which the widest cut of the spread is at most ``width``."""
    measured = bit.measured_width
    if measured is not None:
        return _deepest(bit, width - (measured.most - measured.nominal))
    true = width - bit.runout.most
    below = deepest(bit.shape, bit.tip_width.most, bit.angle, bit.diameter, true)
    return below - (bit.depth.most - bit.depth.nominal) - bed_error
