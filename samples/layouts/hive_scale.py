"""Hive scale: weighs a beehive and reads its brood temperature. Two sides, to be made at home.

U2, a 24-bit converter for bridges, drives the load cell on J2 from its own regulator with Q1;
U1, a controller in a socket, reads it and a one-wire thermometer on J4 and talks to a radio on J3.
Wires of 0.6 mm make the vias. Under terminals and cans no joint is needed on the part side.
"""

from __future__ import annotations

from samples import parts
from samples.layout import Layout
from samples.pour import Fill, pour
from samples.route import Rules, route

_VIA = (1.9, 0.9)


def layout() -> Layout:
    """The board, 84 x 56 mm."""
    board = Layout("hive-scale", (84.0, 56.0))
    _bridge(board)
    _controller(board)
    board.text("HIVE SCALE", 34.0, 51.5, 2.0)
    board.holes += [(x, y, 3.2) for x in (4.0, 80.0) for y in (4.0, 52.0)]
    bodies = dict(board.bodies)
    rules = Rules(
        grid=0.3175,
        clearance=0.35,
        width={"": 0.5, "VCC": 0.7, "GND": 0.7},
        via=_VIA,
        keep_out={
            # A joint under these bodies could not be soldered from above.
            "top": [bodies[part] for part in ("J1", "J2", "J3", "J4", "C1", "Y1", "LED1")],
            # Room for the spokes of U1's ground pins.
            "bottom": [(55.0, 11.0, 59.7, 47.0), (52.0, 27.0, 53.6, 29.0)],
            "via": [box for part, box in bodies.items() if part not in ("J1", "J2", "J4")],
        },
        side_cost={"bottom": 1.6},
        joined=frozenset({"GND"}),
    )
    route(board, rules)
    pour(board, "bottom", "GND", Fill(clearance=0.4, spoke=0.6, relief=0.4, least=0.5, screws=1.6))
    return board


def _bridge(board: Layout) -> None:
    board.place(parts.terminal(4), "J2", 7.62, 33.02, ["AVDD", "GND", "S-", "S+"], turn=3)
    board.place(
        parts.soic(16), "U2", 31.75, 31.75,
        ["VCC", "BASE", "AVDD", "FB", "GND", "VBG", "IN-", "IN+",
         "GND", "GND", "CLOCK", "DATA", "", "GND", "GND", "VCC"],
    )  # fmt: skip
    chip = parts.chip("1206")
    board.place(parts.sot23(), "Q1", 26.0, 44.0, ["BASE", "VCC", "AVDD"], turn=3)
    board.place(chip, "R1", 20.0, 39.37, ["AVDD", "FB"], turn=0)
    board.place(chip, "R2", 20.0, 35.56, ["GND", "FB"])
    board.place(chip, "R3", 15.5, 30.48, ["S-", "IN-"])
    board.place(chip, "R4", 15.5, 25.4, ["S+", "IN+"])
    board.place(chip, "C2", 21.6, 27.94, ["IN+", "IN-"], turn=1)
    board.place(chip, "C3", 20.0, 21.0, ["VBG", "GND"], turn=2)
    board.place(chip, "C4", 16.5, 44.45, ["GND", "AVDD"])
    board.place(chip, "C5", 38.1, 39.37, ["VCC", "GND"])


def _controller(board: Layout) -> None:
    board.place(
        parts.dip(28, wide=1.8), "U1", 54.61, 29.21,
        {"1": "RESET", "2": "RX", "3": "TX", "4": "HEAT", "5": "CLOCK", "6": "DATA", "7": "VCC",
         "8": "GND", "9": "X1", "10": "X2", "11": "LAMP", "20": "VCC", "21": "REF", "22": "GND"},
    )  # fmt: skip
    chip = parts.chip("1206")
    board.place(parts.crystal(), "Y1", 43.18, 22.86, ["X1", "X2"], turn=3)
    board.place(chip, "C6", 38.1, 25.4, ["X1", "GND"], turn=2)
    board.place(chip, "C7", 38.1, 20.32, ["X2", "GND"], turn=2)
    board.place(chip, "C8", 64.77, 27.94, ["GND", "REF"], turn=2)
    board.place(chip, "C9", 64.77, 22.86, ["GND", "VCC"], turn=2)
    board.place(chip, "R5", 44.45, 46.99, ["RESET", "VCC"], turn=2)
    board.place(chip, "R6", 64.77, 43.18, ["HEAT", "VCC"])
    board.place(chip, "R7", 44.45, 12.7, ["LAMP", "SIGN"], turn=2)
    board.place(parts.radial(2.54, 5.0, pad=1.6), "LED1", 38.1, 7.62, ["GND", "SIGN"], turn=1)
    board.place(parts.terminal(2), "J1", 15.24, 7.62, ["VCC", "GND"], turn=2)
    board.place(parts.radial(5.08, 10.0), "C1", 27.94, 10.16, ["GND", "VCC"], turn=3)
    board.place(parts.header(5), "J3", 68.58, 7.62, ["GND", "VCC", "TX", "RX", "RESET"], turn=2)
    board.place(parts.terminal(3), "J4", 76.2, 38.1, ["GND", "HEAT", "VCC"], turn=1)
