"""A tool as a profile describes it. Lengths in millimetres, angles in degrees."""

from __future__ import annotations

from msgspec import Struct


class Spread(Struct, frozen=True):
    """A length with what it may vary by: least, nominal, most (mm); the ends are the worst met."""

    least: float
    nominal: float
    most: float


class Bit(Struct, frozen=True):
    """The tool as the profile describes it.

    Attributes:
        shape: "cone", "flat", "ball" or "beam".
        tip_width: flat of a cone, spot of a beam; the diameter for flat and ball.
        angle: included angle of a cone in degrees, else 0.
        depth: depth of cut below where the machine believes the copper's surface, with the spread
            of setting it (`Process.reached` adds the bed); 0 for a beam.
        diameter: widest part of the tool (where a cone ends), else the diameter.
        runout: total indicated runout, least/nominal/most.
        overcut: what a beam burns beyond its spot, on the whole width.
        measured_width: width of the cut measured at that depth; None where nobody measured.
    """

    shape: str
    tip_width: Spread
    angle: float
    depth: Spread
    diameter: float
    runout: Spread
    overcut: Spread
    measured_width: Spread | None = None
