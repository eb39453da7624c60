"""Figures that a bit engraves without being lifted: our own, each digit one stroke."""

from __future__ import annotations

import math
from itertools import pairwise, product
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checker.coupon.model import Point

# Points "xy" on a grid two wide and four high, in the order in which they are followed.
_FIGURES = {
    "0": "0020240400",
    "1": "031410",
    "2": "042422020020",
    "3": "04242212222000",
    "4": "040222242220",
    "5": "240402222000",
    "6": "240400202202",
    "7": "042410",
    "8": "0222200002042422",
    "9": "002024040222",
}
_ARROW = "1014031424"
_ADVANCE = 3  # grid units from digit to digit


def number(text: str, height: float) -> tuple[Point, ...]:
    """Digits from the origin to the upper right in one stroke, with short ways between them."""
    unit = height / 4
    shapes = [
        [(unit * (x + _ADVANCE * place), unit * y) for x, y in _points(_FIGURES[digit])]
        for place, digit in enumerate(text)
    ]
    ways = product(*((shape, shape[::-1]) for shape in shapes))
    best = min(ways, key=lambda way: sum(math.dist(a[-1], b[0]) for a, b in pairwise(way)))
    return tuple(point for shape in best for point in shape)


def width_of(text: str, height: float) -> float:
    """How wide digits are."""
    return height / 4 * (_ADVANCE * len(text) - 1)


def arrow(height: float) -> tuple[Point, ...]:
    """An arrow that points up, half as wide as high."""
    return tuple((height / 4 * x, height / 4 * y) for x, y in _points(_ARROW))


def _points(run: str) -> list[tuple[int, int]]:
    return list(zip(map(int, run[::2]), map(int, run[1::2]), strict=True))
