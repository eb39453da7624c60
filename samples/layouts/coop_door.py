"""Coop door: at dusk a relay lets the hatch's mains motor run the other way. One side.

The light sensor on J2 and R1 with RV1 divide the supply; U1, a timer with both thresholds on one
node, is a comparator with hysteresis and drives the relay through Q1. C2 keeps a passing lamp from
moving the door. On the mains side the contact switches the live wire from "down" to "up"; the
motor has limit switches of its own.
"""

from __future__ import annotations

from samples import parts
from samples.layout import Layout
from samples.route import Rules, route

NOTE = """\
# What is on the nets. The motor's winding that is switched off carries mains too, and nobody knows
# which way round the plug is: all five nets of the mains side count as live. All copper between
# them and 5 mm round them is cleared with an end mill; no leftover copper stays there.
nets:
  LIVE: {voltage: 230 V ac, current: 1 A, cleared: 5 mm}
  NEUTRAL: {voltage: 230 V ac, current: 1 A, cleared: 5 mm}
  FUSED: {voltage: 230 V ac, current: 1 A, cleared: 5 mm}
  UP: {voltage: 230 V ac, current: 1 A, cleared: 5 mm}
  DOWN: {voltage: 230 V ac, current: 1 A, cleared: 5 mm}
  SUPPLY: {voltage: 12 V, current: 200 mA}
  12V: {voltage: 12 V, current: 200 mA}
  COIL: {voltage: 12 V, current: 100 mA}
"""


def layout() -> Layout:
    """The board, 100 x 64 mm."""
    board = Layout("coop-door", (100.0, 64.0), sides=("bottom",), plated=False)
    _low_voltage(board)
    _mains(board)
    board.text("COOP DOOR", 12.0, 59.5, 2.0)
    board.text("230 V", 66.0, 46.0, 2.5)
    board.strokes.append(((48.0, 1.0), (48.0, 24.0)))
    board.strokes.append(((48.0, 40.0), (48.0, 63.0)))
    board.holes += [(x, y, 3.2) for x in (4.0, 96.0) for y in (4.0, 60.0)]
    rules = Rules(
        grid=0.635,
        clearance=0.6,
        width={"": 0.8, "GND": 1.2, "12V": 1.2, "SUPPLY": 1.2, "COIL": 1.0},
        edge=1.5,
        # The mains is laid by hand; nothing of the low voltage enters its half of the board.
        keep_out={"bottom": [(45.0, 0.0, 100.0, 64.0)]},
    )
    route(board, rules)
    return board


def _low_voltage(board: Layout) -> None:
    board.place(parts.terminal(2), "J1", 7.62, 45.72, ["SUPPLY", "GND"], turn=3)
    board.place(parts.terminal(2), "J2", 7.62, 17.78, ["DUSK", "GND"], turn=3)
    diode = parts.axial(10.16, 1.1, 2.4)
    board.place(diode, "D2", 19.05, 53.34, ["12V", "SUPPLY"], turn=2)
    board.place(parts.radial(5.08, 10.0), "C1", 31.75, 53.34, ["12V", "GND"])
    board.place(
        parts.dip(8),
        "U1",
        24.13,
        27.94,
        ["GND", "DUSK", "OUT", "12V", "CONTROL", "DUSK", "", "12V"],
    )
    board.place(parts.axial(), "R1", 17.78, 10.16, ["12V", "TRIM"], turn=2)
    board.place(parts.trimmer(), "RV1", 17.78, 17.78, ["TRIM", "DUSK", "DUSK"])
    board.place(parts.radial(2.54, 6.3, pad=1.6), "C2", 13.97, 33.02, ["DUSK", "GND"], turn=1)
    board.place(parts.radial(5.08, 5.0), "C3", 33.02, 20.32, ["CONTROL", "GND"])
    board.place(parts.axial(), "R3", 26.67, 43.18, ["OUT", "BASE"])
    board.place(parts.to92(), "Q1", 38.1, 43.18, ["GND", "BASE", "COIL"])
    board.place(diode, "D1", 35.56, 31.75, ["12V", "COIL"], turn=1)
    board.place(parts.axial(), "R4", 33.02, 12.7, ["12V", "LAMP"])
    board.place(parts.radial(2.54, 5.0, pad=1.6), "LED1", 41.91, 17.78, ["COIL", "LAMP"], turn=1)


def _mains(board: Layout) -> None:
    board.place(
        parts.relay(), "K1", 40.64, 31.75,
        {"A1": "12V", "A2": "COIL", "11": "FUSED", "12": "DOWN", "14": "UP"},
    )  # fmt: skip
    board.place(parts.terminal(2, 7.62), "J3", 92.0, 48.0, ["NEUTRAL", "LIVE"], turn=1)
    board.place(parts.terminal(3, 7.62), "J4", 92.0, 20.0, ["DOWN", "UP", "NEUTRAL"], turn=1)
    board.place(parts.fuse(), "F1", 72.1, 54.0, ["FUSED", "LIVE"])
    for net, *points in (
        ("LIVE", (83.4, 54.0), (89.8, 54.0), (92.0, 51.81)),
        ("NEUTRAL", (92.0, 44.19), (92.0, 27.62)),
        ("FUSED", (60.8, 54.0), (60.8, 28.0)),
        ("UP", (65.8, 35.5), (65.8, 28.0), (73.8, 20.0), (92.0, 20.0)),
        ("DOWN", (55.8, 35.5), (55.8, 20.0), (63.42, 12.38), (92.0, 12.38)),
    ):
        board.track("bottom", 2.0, net, *points)
