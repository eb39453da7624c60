"""Cases of the rules on voltages and currents."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Layout

_MAINS = """\
# The lamp hangs on the mains; all copper round its two nets is cleared with an end mill.
nets:
  LIVE: {voltage: 230 V ac, cleared: 5 mm}
  NEUTRAL: {voltage: 230 V ac, cleared: 5 mm}
  SENSE: 5 V
"""

_HEATER = """\
# The heater draws 3 A; the fan beside it next to nothing.
nets:
  12V: {voltage: 12 V, current: 3 A}
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "hot-copper": Case(_heater(0.8), _heater(2.0), _notes(_HEATER)),
        "voltage-gap": Case(_lamp(3.0), _lamp(6.0), _notes(_MAINS)),
    }


def _notes(text: str) -> dict[str, str]:
    return {f"{which}/board-note.yaml": text for which in ("bad", "good")}


def _lamp(apart: float) -> Layout:
    """Mains from one terminal to another, and a sensor's line ``apart`` from it."""
    board = Layout("lamp", (50.0, 38.0), sides=("bottom",), plated=False)
    board.place(parts.terminal(2, 7.62), "J1", 6.0, 26.0, ["NEUTRAL", "LIVE"], turn=1)
    board.place(parts.terminal(2, 7.62), "J2", 44.0, 26.0, ["NEUTRAL", "LIVE"], turn=1)
    board.track("bottom", 2.0, "LIVE", (6.0, 29.81), (44.0, 29.81))
    board.track("bottom", 2.0, "NEUTRAL", (6.0, 22.19), (44.0, 22.19))
    y = round(22.19 - 1.0 - apart - 0.4, 4)
    board.place(parts.header(2), "J3", 12.0, 6.0, ["SENSE", "GND"])
    board.place(parts.header(2), "J4", 38.0, 6.0, ["GND", "SENSE"])
    left, right = board.pads[-4].x, board.pads[-1].x
    board.track("bottom", 0.8, "SENSE", (left, 6.0), (left, y), (right, y), (right, 6.0))
    board.track("bottom", 0.8, "GND", (board.pads[-3].x, 6.0), (board.pads[-2].x, 6.0))
    return board


def _heater(width: float) -> Layout:
    """A supply that goes on to a heater, through a line ``width`` wide."""
    board = Layout("heater", (40.0, 20.0), sides=("bottom",), plated=False)
    board.place(parts.terminal(2), "J1", 6.0, 10.0, ["GND", "12V"], turn=1)
    board.place(parts.terminal(2), "J2", 34.0, 10.0, ["GND", "12V"], turn=1)
    for net, y, wide in (("GND", 7.46, 2.0), ("12V", 12.54, width)):
        board.track("bottom", wide, net, (6.0, y), (34.0, y))
    return board
