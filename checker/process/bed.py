"""How flat a probed surface is known to be. Lengths in mm.

A surface is probed on a grid; between the points the machine follows a plane or a twisted patch
(bilinear), the blank a curve. Where that curve is even and bows by ``s`` over a length ``L``, a
stretch ``h`` of it bows by ``s h²/L²`` off its chord. In both directions together that is twice as
much off a patch of ``h`` by ``h``, in the middle of it.
"""

from __future__ import annotations

import math

PER = 100  # a bow is told over so many mm


def off_chord(bow: float, length: float) -> float:
    """How far a blank lies off the straight line over a length of it.

    Args:
        bow: of the blank as held down, mm over `PER` mm; small beside that.
        length: of the line.
    """
    return bow * (length / PER) ** 2


def off_flat(bow: float, spacing: float) -> float:
    """How far it lies at most off the patches between points probed ``spacing`` apart."""
    return 2 * off_chord(bow, spacing)


def grid_for(bow: float, error: float) -> float:
    """The widest spacing of points between which it lies at most ``error`` off; inf without bow."""
    return PER * math.sqrt(error / (2 * bow)) if bow > 0 else math.inf
