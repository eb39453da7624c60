"""What is said of a board in plain values: by its reader, its maker, a rule; and where."""

from __future__ import annotations

from msgspec import Struct


class Rating(Struct, frozen=True):
    """What a maker says of a net.

    Attributes:
        volts: peak against the board's common ground; None where only the current is given.
        alternating: whether it changes its sign.
        amperes: current the net carries; None where unknown.
        cleared: copper-free width in mm that the maker cuts round the net; None where no more
            than round any other.
        where: "file:line" that says so.
    """

    volts: float | None
    alternating: bool
    amperes: float | None
    cleared: float | None
    where: str


class Note(Struct, frozen=True):
    """Something the reader ignored, guessed or could not use; ``line`` 0 means the whole file."""

    source: str
    line: int
    text: str


class Unchecked(Struct, frozen=True):
    """What could not be checked, and why. Never a pass."""

    what: str
    why: str


class Origin(Struct, frozen=True):
    """A thing on the board and where it is drawn.

    Attributes:
        source: file name as the board has it.
        line: 1-based; 0 where the whole file is meant.
        what: in words, such as "U1.3 (GND)".
    """

    source: str
    line: int
    what: str
