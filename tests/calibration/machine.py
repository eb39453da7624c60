"""A machine whose truth is known, the coupon it mills, and what its owner reads."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.calibration import Measurements
from checker.calibration.measurements import DIRECTIONS, Reading
from tests.oracles.mill import Tool

DEPTHS = (0.08, 0.11, 0.14, 0.17, 0.20)
PLACES = ("middle", "corner 1", "corner 2", "corner 3", "corner 4")
CORNER = 0.11  # the depth that is cut at the corners


class Machine(Struct, frozen=True):
    """The true tool, set to nought, and what varies.

    Attributes:
        tool: what it really cuts; ``extra`` is its runout.
        zero: how much deeper every cut goes than it is set.
        bed: standard deviation of the depth from place to place, mm.
        noise: standard deviation of a reading, burrs and microscope, mm.
        rng: what the day brings.
        wider: how much wider it cuts along y than otherwise.
    """

    tool: Tool
    zero: float
    bed: float
    noise: float
    rng: np.random.Generator
    wider: float = 0.0

    def true_width(self, depth: float) -> float:
        """Of the mean cut that is set to a depth, over all directions."""
        return float(self.tool.width(depth + self.zero)) + self.wider / len(DIRECTIONS)

    def one_more(self, depth: float) -> float:
        """A cut at a place of its own, as read."""
        return self._read(depth, self.rng.normal(0, self.bed), "x")

    def coupon(self) -> Measurements:
        """27 grooves: five depths in the middle, one at the corners, each in three directions."""
        higher = dict(zip(PLACES, self.rng.normal(0, self.bed, len(PLACES)), strict=True))
        grooves = [(depth, "middle") for depth in DEPTHS] + [(CORNER, at) for at in PLACES[1:]]
        readings = [
            Reading(
                depth, self._read(depth, higher[place], along), along, place, f"coupon.yaml:{line}"
            )
            for line, (depth, place, along) in enumerate(
                [(depth, place, along) for depth, place in grooves for along in DIRECTIONS], 6
            )
        ]
        return Measurements("coupon.yaml", tuple(readings))

    def _read(self, depth: float, higher: float, along: str) -> float:
        width = float(self.tool.width(depth + self.zero + higher)) + self.wider * (along == "y")
        return width + self.rng.normal(0, self.noise)


def machine(seed: int, angle: float = 30.0, bed: float = 0.008) -> Machine:
    """A machine drawn at random: a tip that cuts 0.18 to 0.30 mm where its packet says 0.1."""
    rng = np.random.default_rng(seed)
    tool = Tool(
        "cone",
        size=rng.uniform(0.12, 0.24),
        angle=angle + rng.normal(0, 2),
        depth=0.0,
        foil=0.0,
        extra=rng.uniform(0.01, 0.04),
    )
    return Machine(tool, rng.uniform(-0.015, 0.015), bed, 0.005, rng)


def even(made: Machine) -> Machine:
    """The same without any scatter: what is read is the truth."""
    return replace(made, bed=0.0, noise=0.0)
