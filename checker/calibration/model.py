"""What follows from what was read on a coupon. Lengths in mm, angles in degrees."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.calibration.fit import Estimate
    from checker.calibration.line import Line
    from checker.calibration.measurements import Comb, Measurements
    from checker.process.bit import Spread
    from checker.process.model import Process


class Width(Struct, frozen=True):
    """The width of the cut at the profile's depth.

    Scatter, setting and bed are independent, so their squares add up; each is half of a range that
    holds 95 %. Directions that differ are no chance: they are added in full.

    Attributes:
        depth: the profile's.
        fitted: of the mean width there.
        predicted: of one more cut with this setting on this blank: scatter of readings and between
            places, and the error of the fit.
        setting: what setting the depth anew moves the width by, from the profile.
        bed: what the profile's unevenness of the bed moves it by, as far as it is more than the
            scatter between places shows.
        aside: how far the narrowest and the widest direction lie off the mean of all, zeros where
            they do not differ.
        spread: what goes into a profile.
    """

    depth: float
    fitted: Estimate
    predicted: Estimate
    setting: float
    bed: float
    aside: tuple[float, float]
    spread: Spread


class Direction(Struct, frozen=True):
    """How much wider cuts along one direction come out than those along another."""

    along: str
    against: str
    wider: Estimate

    @property
    def differs(self) -> bool:
        """More than chance makes them."""
        low, high = self.wider.interval
        return low > 0 or high < 0


class Row(Struct, frozen=True):
    """What a comb's row allows: of all such traces or gaps at least and at most so many are good.

    Attributes:
        comb: as counted.
        least, most: shares, each a bound by itself with 95 % (Clopper and Pearson).
    """

    comb: Comb
    least: float
    most: float


class Offset(Struct, frozen=True):
    """Where the second side came to lie along one axis.

    Attributes:
        axis: "x" or "y".
        count: targets read.
        mean: of them; its error is inf where a single one was read.
        most: how far off the farthest was.
    """

    axis: str
    count: int
    mean: Estimate
    most: float

    @property
    def deviation(self) -> float | None:
        """The standard deviation between targets, None of a single one."""
        return self.mean.error * math.sqrt(self.count) if self.count > 1 else None


class Setting(Struct, frozen=True):
    """A key of the new profile: its value as written there, and where that comes from."""

    key: str
    value: str
    why: str


class Calibration(Struct, frozen=True):
    """What a coupon says of a process.

    Attributes:
        process: as it was before.
        measurements: as read.
        line: the fitted width by depth.
        tip: apparent width of a cone's tip, runout included: the width that the line has at depth
            nought. None where the line's slope was not fitted.
        angle: included angle of the cone, with its interval; None likewise.
        width: at the profile's depth.
        directions: differences between directions.
        gaps, traces: what the combs allow.
        registration: per axis.
        settings: what goes into the new profile.
        kept: key of the profile -> why it stays as it is.
        warnings: what speaks against the readings, one sentence each.
    """

    process: Process
    measurements: Measurements
    line: Line
    tip: Estimate | None
    angle: Spread | None
    width: Width
    directions: tuple[Direction, ...]
    gaps: tuple[Row, ...]
    traces: tuple[Row, ...]
    registration: tuple[Offset, ...]
    settings: tuple[Setting, ...]
    kept: Mapping[str, str]
    warnings: tuple[str, ...]
