"""What was read on a coupon. Lengths in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

if TYPE_CHECKING:
    from collections.abc import Mapping

DIRECTIONS = ("x", "y", "diagonal")


class Reading(Struct, frozen=True):
    """The width of one groove, read once.

    Attributes:
        depth: at which it was cut; 0 where the file does not say.
        width: at the top edge of the copper.
        along: one of `DIRECTIONS`, "" where the file does not say.
        place: where on the coupon, in words; "" where the file does not say.
        where: "file:line".
    """

    depth: float
    width: float
    along: str
    place: str
    where: str


class Comb(Struct, frozen=True):
    """Of a comb's traces or gaps of one drawn width, how many are as they should.

    ``along`` is the direction in which their width is measured.
    """

    along: str
    drawn: float
    good: int
    of: int


class Measurements(Struct, frozen=True):
    """A file of measurements.

    Attributes:
        source: the file, as people call it.
        coupon: the profile that the coupon was made for.
        date: when it was measured, as 2026-03-31.
        bit: which bit, in its owner's words.
        cut_before: metres that the bit had cut before.
        readings: widths of grooves, in the order of the file.
        gaps, traces: what the combs show, narrowest first, by direction.
        registration: where the bottom target lies against the top one, in x and y.
        backlash: axis -> play.
        resistance: of the serpentine in ohm, inf where it is broken.
    """

    source: str
    readings: tuple[Reading, ...]
    coupon: str | None = None
    date: str | None = None
    bit: str | None = None
    cut_before: float | None = None
    gaps: tuple[Comb, ...] = ()
    traces: tuple[Comb, ...] = ()
    registration: tuple[tuple[float, float], ...] = ()
    backlash: Mapping[str, float] = field(default_factory=dict)
    resistance: float | None = None
