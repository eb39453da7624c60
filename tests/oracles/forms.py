"""Arrangements of two islands whose merge width has a closed form.

A cutter of radius r standing on either side of the neck, as far in as copper (less the bite b)
lets it, leaves a thread between the islands as long as its two circles do not meet. They meet
when the centres are r off the neck's middle line, which gives for

* two discs of radius p at gap g:  (p + r - b)^2 = (p + g/2)^2 + r^2
* a disc of radius p at gap g from a straight edge (b = 0):  (2r - g)(2p + g) = r^2
* two square corners facing diagonally at distance g (b = 0):  r = (r + g/2) / sqrt(2)
* two straight edges in parallel:  2r = g + 2b
"""

from __future__ import annotations

import math
from typing import Any

from msgspec import Struct
from shapely import Point, affinity, box


class Form(Struct, frozen=True):
    """Two islands, the bite, their merge width and the error of drawing them with chords (mm)."""

    name: str
    islands: tuple[Any, Any]
    bite: float
    width: float
    error: float = 0.0

    def __str__(self) -> str:
        return self.name


def _disc(radius: float, x: float) -> Any:
    return Point(x, 0).buffer(radius, quad_segs=128)


def _discs(p: float, g: float, b: float) -> Form:
    width = (p * g + g * g / 4 + 2 * p * b - b * b) / (p - b)
    islands = (_disc(p, 0), _disc(p, 2 * p + g))
    return Form(f"discs p={p} g={g} b={b}", islands, b, width, 2e-4)


def _disc_and_edge(p: float, g: float) -> Form:
    width = 2 * (2 * p + g - math.sqrt(2 * p * (2 * p + g)))
    islands = (_disc(p, 0), box(p + g, -3, p + g + 1, 3))
    return Form(f"disc and edge p={p} g={g}", islands, 0.0, width, 2e-4)


def _corners(g: float, turn: float) -> Form:
    d = g / math.sqrt(2)
    islands = [box(-2, -2, 0, 0), box(d, d, d + 2, d + 2)]
    turned = tuple(affinity.rotate(square, turn, origin=(0, 0)) for square in islands)
    return Form(f"corners g={g} turned {turn}", (turned[0], turned[1]), 0.0, (1 + math.sqrt(2)) * g)


def _edges(g: float, b: float) -> Form:
    islands = (box(0, 0, 1, 3), box(1 + g, 0.5, 2 + g, 4))
    return Form(f"edges g={g} b={b}", islands, b, g + 2 * b)


FORMS = (
    _discs(0.5, 0.2, 0.0),
    _discs(0.3, 0.1, 0.0),
    _discs(0.25, 0.4, 0.0),
    _discs(0.4, 0.2, 0.01),
    _discs(0.4, 0.2, 0.025),
    _discs(0.3, 0.15, 0.05),
    _disc_and_edge(0.5, 0.2),
    _disc_and_edge(0.2, 0.3),
    _corners(0.2, 0.0),
    _corners(0.1, 0.0),
    _corners(0.15, 33.0),
    _edges(0.2, 0.0),
    _edges(0.2, 0.025),
)
