"""Cases of the rules on what a bite or an etchant leaves of the copper."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Footprint, Land, Layout

_ETCHED = """\
# Etched: the resist is eaten under by as much as the foil is thick.
based_on: etch
undercut: 0.035 mm
"""

_BITES = """\
# A shop that bites into copper to get through and trusts every hair of it.
based_on: cone-30-0.1
bite: 0.05 mm
minimum_trace: 0.05 mm
"""


_TRIMS = """\
# A wide bit that may take a good bite to get through.
based_on: cone-60-0.2
bite: 0.1 mm
pad_clearance: 0.1 mm
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "eaten-copper": Case(_neck(0.2), _neck(0.4), {"profile.yaml": _ETCHED}),
        "severed-net": Case(_three(0.12, 0.15), _three(0.5, 0.4), {"profile.yaml": _BITES}),
        "shrunk-pad": Case(_slim(0.3, 0.13), _slim(0.6, 0.5), {"profile.yaml": _TRIMS}),
    }


def _neck(width: float) -> Layout:
    """A sensor line that is ``width`` wide over 6 mm and 0.8 elsewhere."""
    board = Layout("sensor", (30.0, 12.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 6.0, ["SENSE"])
    board.place(parts.header(1), "J2", 26.0, 6.0, ["SENSE"])
    board.track("bottom", 0.8, "SENSE", (4.0, 6.0), (12.0, 6.0))
    board.track("bottom", width, "SENSE", (12.0, 6.0), (18.0, 6.0))
    board.track("bottom", 0.8, "SENSE", (18.0, 6.0), (26.0, 6.0))
    return board


def _three(width: float, gap: float) -> Layout:
    """Three lines that run close together over 4 mm, the middle one ``width`` wide."""
    board = Layout("three", (30.0, 16.0), sides=("bottom",), plated=False)
    for number, net in enumerate(("UP", "HOLD", "DOWN")):
        board.place(parts.header(1), f"J{number + 1}", 4.0, 4.0 + 4 * number, [net])
        board.place(parts.header(1), f"J{number + 4}", 26.0, 4.0 + 4 * number, [net])
    apart = round(width / 2 + gap + 0.25, 4)
    for net, y, middle in (("UP", 4.0, 8.0 - apart), ("DOWN", 12.0, 8.0 + apart)):
        way = ((4.0, y), (9.0, y), (13.0, middle), (17.0, middle), (21.0, y), (26.0, y))
        board.track("bottom", 0.5, net, *way)
    board.track("bottom", 0.5, "HOLD", (4.0, 8.0), (12.0, 8.0))
    board.track("bottom", width, "HOLD", (12.0, 8.0), (18.0, 8.0))
    board.track("bottom", 0.5, "HOLD", (18.0, 8.0), (26.0, 8.0))
    return board


def _slim(width: float, gap: float) -> Layout:
    """Two slim contacts of a connector, each ``width`` wide, side by side."""
    board = Layout("contacts", (24.0, 16.0), sides=("top",), plated=False)
    pitch = round(width + gap, 4)
    lands = tuple(
        Land(str(number + 1), 0.0, number * pitch, 2.0, width, function="SMDPad,CuDef")
        for number in range(2)
    )
    board.place(Footprint(lands, (-2.0, -1.0, 2.0, 2.0)), "J1", 12.0, 8.0, ["IN", "OUT"])
    board.holes += [(3.0, 3.0, 3.0), (21.0, 13.0, 3.0)]
    return board
