"""Cases of the rules on isolation and of the first rules on copper and layers."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Layout
from samples.pour import Fill, pour

_BITES = """\
# The default bit, led up to 0.03 mm into the copper where a gap is too narrow.
based_on: cone-30-0.1
bite: 0.03 mm
"""

_THICK_FOIL = """\
# Twice the usual copper, cut {why}.
based_on: cone-30-0.1
foil: 2 oz ± 10 %
bit:
  depth: {depth} mm ± 0.01 mm
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    roomy = _header(None)
    return {
        "uncuttable-gap": Case(_header(0.15), roomy),
        "trimmed-gap": Case(_header(0.15), roomy, {"profile.yaml": _BITES}),
        "tight-gap": Case(_header(0.22), roomy),
        "uncut-foil": Case(
            roomy,
            roomy,
            {
                "bad/profile.yaml": _THICK_FOIL.format(why="no deeper for it", depth="0.09"),
                "good/profile.yaml": _THICK_FOIL.format(why="deeper for it", depth="0.13"),
            },
        ),
        "thin-copper": Case(_neck(0.2), _neck(0.4)),
        "excess-layers": Case(_lamp_on_four_layers(), _lamp()),
    }


def _header(gap: float | None) -> Layout:
    """A line that runs between two pins, with ``gap`` on either side, or round them for None."""
    board = Layout("header", (20.0, 15.0), sides=("bottom",), plated=False)
    pins = parts.header(2)
    board.place(pins, "J1", 10.0, 7.5, ["IN", "OUT"])
    board.place(parts.header(1), "J2", 10.0, 2.5, ["LINE"])
    board.place(parts.header(1), "J3", 10.0, 12.5, ["LINE"])
    if gap is None:
        way = ((10.0, 2.5), (13.5, 6.0), (13.5, 9.0), (10.0, 12.5))
        board.track("bottom", 0.5, "LINE", *way)
        return board
    between = pins.lands[1].x - pins.lands[0].x - pins.lands[0].width
    board.track("bottom", round(between - 2 * gap, 4), "LINE", (10.0, 2.5), (10.0, 12.5))
    return board


def _neck(width: float) -> Layout:
    """A supply line that is ``width`` wide over 4 mm and 0.8 elsewhere."""
    board = Layout("neck", (25.0, 12.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 6.0, ["SUPPLY"])
    board.place(parts.header(1), "J2", 21.0, 6.0, ["SUPPLY"])
    board.track("bottom", 0.8, "SUPPLY", (4.0, 6.0), (10.5, 6.0))
    board.track("bottom", width, "SUPPLY", (10.5, 6.0), (14.5, 6.0))
    board.track("bottom", 0.8, "SUPPLY", (14.5, 6.0), (21.0, 6.0))
    return board


def _lamp() -> Layout:
    """A lamp with its resistor, on the bottom."""
    board = _lamp_parts(("bottom",))
    board.track("bottom", 0.8, "SUPPLY", (5.0, 8.77), (8.0, 12.0))
    board.track("bottom", 0.8, "LAMP", (18.16, 12.0), (21.0, 8.77))
    board.track("bottom", 0.8, "GND", (5.0, 6.23), (21.0, 6.23))
    return board


def _lamp_on_four_layers() -> Layout:
    """The same, with the ground on a plane and the supply on a layer of its own."""
    board = _lamp_parts(("top", "inner 1", "inner 2", "bottom"))
    pour(board, "inner 1", "GND", Fill(clearance=0.5, spoke=0.6, relief=0.4, least=0.5))
    board.track("inner 2", 0.8, "SUPPLY", (5.0, 8.77), (8.0, 12.0))
    board.track("bottom", 0.8, "LAMP", (18.16, 12.0), (21.0, 8.77))
    return board


def _lamp_parts(sides: tuple[str, ...]) -> Layout:
    board = Layout("lamp", (26.0, 16.0), sides=sides, plated=len(sides) > 1)
    board.place(parts.header(2), "J1", 5.0, 7.5, ["GND", "SUPPLY"], turn=1)
    board.place(parts.axial(), "R1", 13.08, 12.0, ["SUPPLY", "LAMP"])
    board.place(parts.radial(2.54, 5.0, pad=1.6), "LED1", 21.0, 7.5, ["GND", "LAMP"], turn=1)
    board.holes += [(3.0, 2.5, 3.2), (23.0, 2.5, 3.2)]
    return board
