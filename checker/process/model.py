"""A process: one way of making the board, and the limits that follow from it. Knows no board.

Lengths in millimetres, angles in degrees.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from checker.process.bit import Bit, Spread
from checker.process.shop import (
    Drills,
    EdgeWork,
    Feeds,
    Hand,
    HoleGrid,
    Joints,
    Machine,
    Measured,
    Stock,
)
from checker.process.width import depth_for_width, reached

if TYPE_CHECKING:
    from collections.abc import Mapping

    from checker.board import Rating
    from checker.severity import Severity


class Process(Struct, frozen=True):
    """A resolved profile.

    Attributes:
        name: profile name or file stem; ``source`` the file it came from.
        method: "milling", "laser", "etching" or "perfboard".
        title: one line for people.
        bit: None for etching and perfboard.
        cut: width of the cut at the copper's surface; for etching the minimum gap. None where the
            method isolates nothing (perfboard).
        measured: True where ``cut`` comes from a measurement rather than the catalogue.
        foil: thickness of the copper; zeros for perfboard.
        bed_error: how far the surface may lie above or below where the machine believes it is (±).
        minimum_trace: narrowest copper that survives; None where the profile sets none.
        short_neck: length up to which copper narrower than that is only marginal.
        pad_clearance: gap wished round pads that are soldered; None where unset.
        layer_count: how many layers of copper the process can make.
        bite: how far the path may run into drawn copper to get through a gap.
        severity: rule name -> severity, where the profile sets one.
        limits_from: key -> what the profile names as the limit's source.
        resolved: the whole profile as plain values, for reports; written out as YAML it is a
            profile of its own that loads to the same process.
        cut_rss: the cut with the terms of its spread added as root sum of squares.
        foot: width of the cut at the foot of the copper; None where no tool cuts.
        cleared_width: copper-free width in mm cut round every net; None for a single pass.
        undercut: what etching takes off each edge.
        lettering: narrowest stroke of letters in copper.
        smallest_leftover: leftover copper smaller than this (mm2) comes loose.
        ring: copper to be left round a hole once every error is counted.
        web: laminate to be left between two holes.
        temperature_rise: how much warmer (K) a trace may get.
        legend_depth: how deep the bit engraves the legend; None where it does not.
        drills, outline, machine, stock, joints, feeds, hand, grid: see `checker.process.shop`.
        measurement: where the measured width comes from; see `checker.process.shop`.
        ratings: net name -> what the profile says of its voltage and current.
        places: key -> "file:line" that sets it.
    """

    name: str
    source: str
    method: str
    title: str
    bit: Bit | None
    cut: Spread | None
    measured: bool
    foil: Spread
    bed_error: float
    minimum_trace: float | None
    short_neck: float
    pad_clearance: float | None
    layer_count: int
    bite: float
    severity: Mapping[str, Severity] = field(default_factory=dict)
    limits_from: Mapping[str, str] = field(default_factory=dict)
    resolved: Mapping[str, object] = field(default_factory=dict)
    cut_rss: Spread | None = None
    foot: Spread | None = None
    places: Mapping[str, str] = field(default_factory=dict)
    cleared_width: float | None = None
    undercut: float = 0.0
    lettering: float | None = None
    smallest_leftover: float | None = None
    ring: float | None = None
    web: float | None = None
    temperature_rise: float | None = None
    legend_depth: float | None = None
    drills: Drills = field(default_factory=Drills)
    outline: EdgeWork = field(default_factory=EdgeWork)
    machine: Machine = field(default_factory=Machine)
    stock: Stock = field(default_factory=Stock)
    joints: Joints = field(default_factory=Joints)
    feeds: Feeds = field(default_factory=Feeds)
    grid: HoleGrid = field(default_factory=HoleGrid)
    hand: Hand = field(default_factory=Hand)
    measurement: Measured = field(default_factory=Measured)
    ratings: Mapping[str, Rating] = field(default_factory=dict)

    @property
    def clears(self) -> Spread | None:
        """Copper-free width round a net: a single cut, or the passes beside it that widen it.

        None where no tool clears a width of its own: etching leaves no undrawn copper.
        """
        if self.cut is None or self.bit is None:
            return None
        more = max(0.0, (self.cleared_width or 0.0) - self.cut.nominal)
        return Spread(self.cut.least + more, self.cut.nominal + more, self.cut.most + more)

    @property
    def reached(self) -> Spread | None:
        """Depth below the real surface, setting and bed at their worst; negative where it floats.

        None where no tool goes to a depth.
        """
        if self.bit is None or self.bit.shape == "beam":
            return None
        return reached(self.bit, self.bed_error)

    @property
    def spread_known(self) -> bool:
        """Whether anything that the cut follows from says by how much it varies.

        Where nothing does, the worst is the nominal and verdicts carry no margin. Tip, runout and
        overcut (or the measured width), depth and bed count, for etching the minimum gap. True
        where nothing is cut.
        """
        if self.cut is None:
            return True
        spreads = [self.cut]
        if self.bit is not None:
            bit = self.bit
            widths = (bit.measured_width,) if bit.measured_width else (
                bit.tip_width, bit.runout, bit.overcut,
            )  # fmt: skip
            spreads = [*widths, bit.depth]
        return self.bed_error > 0 or any(spread.least < spread.most for spread in spreads)

    @property
    def rules_named(self) -> Mapping[str, str]:
        """Rule name -> "file:line", for every rule to which the profile gives a severity."""
        return {rule: self.places[f"severity.{rule}"] for rule in self.severity}

    def depth_for_width(self, width: float) -> float | None:
        """The depth in mm at which the nominal cut is ``width`` wide, None where no depth is.

        Only a cone and a ball change width with depth; the answer is never negative.
        """
        return depth_for_width(self.bit, width)
