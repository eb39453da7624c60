"""What relief takes off, where, and from whom. Lengths in mm, coordinates those of the files."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from checker.board import Board, Floats
    from checker.measure import Facts
    from checker.process import Process


class Options(Struct, frozen=True):
    """What the maker allows.

    Attributes:
        most_taken: most copper taken off any edge.
        only_pours: traces and pads give nothing.
    """

    most_taken: float = math.inf
    only_pours: bool = False


class Channel(Struct, frozen=True, eq=False):
    """A stroke that clears copper: the way of a round pen, on one layer.

    Attributes:
        layer: number of the layer in ``board.copper``.
        path: (n, 2) points that the pen's middle passes, n at least 2.
        pen: its width.
        keeper, giver: islands it runs between; it follows the edge of the first.
    """

    layer: int
    path: Floats
    pen: float
    keeper: int
    giver: int


class Taken(Struct, frozen=True):
    """What one side of a gap gives.

    Attributes:
        who: what stands there, such as "U1.3 (GND)"; ``kind`` the trade's word for it.
        most: how far its edge moves at the gap.
        spare: how much more it could give there; None where more than was looked for.
    """

    who: str
    kind: str
    most: float
    spare: float | None = None


class Place(Struct, frozen=True):
    """A gap too narrow for the process.

    Attributes:
        layer: number of the layer in ``board.copper``; ``row`` of its gaps.
        distance: between the two islands; ``fits`` the width of cut that passes.
        between: what stands on both sides, in words; ``nets`` their names.
        shut: the nominal cut doesn't open it.
        cause: places with one cause are shown together.
        channel: number of the channel that opens it; None where it stays as it is.
        taken: what each side gives.
        missing: how much more the sides would have to give, where that is what forbids it; else 0.
        lacking: which side has nothing more to give, or why the place stays as it is; "" if opened.
    """

    layer: int
    row: int
    side: str
    x: float
    y: float
    distance: float
    fits: float
    between: str
    nets: tuple[str, ...]
    shut: bool
    cause: str
    channel: int | None = None
    taken: tuple[Taken, ...] = ()
    missing: float = 0.0
    lacking: str = ""


class Relief(Struct, frozen=True, eq=False):
    """What would be opened, and what not and why.

    Attributes:
        facts: of the board as it was.
        width: the cut that has to pass at every place.
        channels: strokes that clear copper.
        places: every gap that lets no such cut pass, the narrowest first.
    """

    facts: Facts
    process: Process
    options: Options
    width: float
    channels: tuple[Channel, ...] = ()
    places: tuple[Place, ...] = ()

    @property
    def board(self) -> Board:
        """As it was."""
        return self.facts.board

    @property
    def closed(self) -> int:
        """How many of the places the nominal cut doesn't open."""
        return sum(place.shut for place in self.places)

    @property
    def opened(self) -> tuple[Place, ...]:
        """The places that relief opens."""
        return tuple(place for place in self.places if place.channel is not None)

    @property
    def left(self) -> tuple[Place, ...]:
        """Those that stay as they are."""
        return tuple(place for place in self.places if place.channel is None)
