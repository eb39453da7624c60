"""Set-ups of the machine, drawn at random from the spreads of a profile. Lengths in mm.

The ends of a spread are taken as two standard deviations from its value (JCGM 100:2008, 6.3.3). A
spread that is wider to one side is drawn from a two-piece normal distribution: the most frequent
value is the nominal one, and either side has a standard deviation of its own (Fechner's
distribution, see Wallis, Statistical Science 29, 2014). What cannot be negative is cut off at 0.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.process.units import COVERAGE

if TYPE_CHECKING:
    from numpy.random import Generator
    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.process.bit import Spread
    from checker.process.model import Process

DRAWS = 2000
SEED = 1

# One stream of numbers for each quantity: what one draws leaves the others alone, so two profiles
# are compared on the same days.
STREAMS = (
    "tip", "runout", "overcut", "measured", "depth", "foil", "bed", "registration", "flip",
    "wander",
)  # fmt: skip


def stream(name: str, seed: int, *which: int) -> Generator:
    """The random numbers of a quantity, or of that of one thing among several."""
    return np.random.default_rng([seed, STREAMS.index(name), *which])


class Setups(Struct, frozen=True, eq=False):
    """Drawn set-ups, one a row; columns of two are top and bottom.

    Attributes:
        shape, angle, diameter: of the bit, see `Bit`.
        tip: (draws,) tip width, spot or diameter.
        depth: (draws, 2) below where the machine believes the surface; each side is set anew.
        foil: (draws,) thickness of the copper.
        trial: (draws, 2) width at the surface that a trial cut of that day shows: the drawn tool
            at the drawn depth on a spot without bed residual.
        bed: standard deviation of the bed's residual.
    """

    shape: str
    angle: float
    diameter: float
    tip: Floats
    depth: Floats
    foil: Floats
    trial: Floats
    bed: float

    def foot(self, side: int, residual: Floats, draw: Ints) -> Floats:
        """Width of the cut at the foot of the copper, 0 where the foil is not cut through.

        Args:
            side: column of the side.
            residual: how much higher the surface lies at some place than believed, mm.
            draw: the draw in which it does, of a shape that broadcasts with it.
        """
        trial = self.trial[draw, side]
        if self.shape == "beam":
            return np.broadcast_to(trial, np.broadcast_shapes(residual.shape, draw.shape))
        tip, depth, foil = self.tip[draw], self.depth[draw, side], self.foil[draw]
        below = depth + residual - foil
        wider = self._swept(tip, below) - self._swept(tip, depth)
        return np.where(below >= 0, np.maximum(trial + wider, 0.0), 0.0)

    def _swept(self, tip: Floats, depth: Floats) -> Floats:
        return swept(self.shape, tip, self.angle, self.diameter, depth)


def swept(shape: str, size: Floats, angle: float, diameter: float, depth: Floats) -> Floats:
    """`checker.process.width.swept_width` of many tools at many depths."""
    deep = np.maximum(depth, 0.0)
    if shape == "cone":
        slope = 2 * np.tan(np.radians(angle) / 2)
        width = np.minimum(size + deep * slope, np.maximum(size, diameter))
    elif shape == "ball":
        half = np.minimum(deep, size / 2)
        width = 2 * np.sqrt(half * (size - half))
    else:
        width = np.broadcast_to(size, np.broadcast_shapes(size.shape, deep.shape))
    return width if shape == "beam" else np.where(depth < 0, 0.0, width)


def setups(process: Process, draws: int = DRAWS, seed: int = SEED) -> Setups:
    """Draw set-ups of a process that has a bit."""
    bit = process.bit
    if bit is None:
        raise ValueError(f"{process.method} has no bit")

    def drawn(name: str, spread: Spread, columns: int = 1) -> Floats:
        return two_piece(spread, *_numbers(name, draws, columns, seed))

    tip = np.maximum(drawn("tip", bit.tip_width)[:, 0], 0.0)
    depth = drawn("depth", bit.depth, 2)
    if bit.measured_width is not None:
        trial = np.maximum(drawn("measured", bit.measured_width, 2), 0.0)
    elif bit.shape == "beam":
        trial = np.repeat(tip[:, None] + np.maximum(drawn("overcut", bit.overcut), 0.0), 2, axis=1)
    else:
        true = swept(bit.shape, tip[:, None], bit.angle, bit.diameter, depth)
        runout = np.maximum(drawn("runout", bit.runout), 0.0)
        trial = np.where(depth < 0, 0.0, true + runout)
    foil = np.maximum(drawn("foil", process.foil)[:, 0], 0.0)
    bed = 0.0 if bit.shape == "beam" else process.bed_error / COVERAGE
    return Setups(bit.shape, bit.angle, bit.diameter, tip, depth, foil, trial, bed)


def two_piece(spread: Spread, normal: Floats, uniform: Floats) -> Floats:
    """From standard normal and uniform numbers to a spread's; of the same shape."""
    low = (spread.nominal - spread.least) / COVERAGE
    high = (spread.most - spread.nominal) / COVERAGE
    if low + high <= 0:
        return np.full(normal.shape, spread.nominal)
    size = np.abs(normal)
    return spread.nominal + np.where(uniform * (low + high) < low, -low * size, high * size)


def offsets(name: str, most: float, draws: int, seed: int) -> Floats:
    """(draws, 2) how far something lies off in x and in y, ± ``most`` two standard deviations."""
    return most / COVERAGE * _numbers(name, draws, 2, seed)[0]


def wanders(holes: Ints, most: float, draws: int, seed: int) -> Floats:
    """(2, draws, n) how far each of some holes lies off by itself, in x and in y."""
    numbers = np.zeros((2, draws, len(holes)))
    for k, hole in enumerate(holes.tolist()):
        numbers[:, :, k] = _wander(hole, draws, seed)
    numbers *= most / COVERAGE
    return numbers


@lru_cache(maxsize=2048)  # 16 kB each at 2000 draws
def _wander(hole: int, draws: int, seed: int) -> NDArray[np.float32]:
    """(2, draws) standard normal numbers of one hole."""
    return stream("wander", seed, hole).standard_normal((2, draws), dtype=np.float32)


@lru_cache(maxsize=32)
def _numbers(name: str, draws: int, columns: int, seed: int) -> tuple[Floats, Floats]:
    """(draws, columns) standard normal, and uniform numbers."""
    random = stream(name, seed)
    normal = random.standard_normal((draws, columns))
    uniform = random.random((draws, columns))
    normal.flags.writeable = uniform.flags.writeable = False
    return normal, uniform
