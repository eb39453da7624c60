"""Tide logger: a pressure gauge for a salt meadow's ditch, read out and charged over USB-C.

Two sides. The designer kept 0.28 between tracks with a fine cone in mind, but left the ground
pour at the 0.127 (5 mil) that a board house would take, and the receptacle's contacts are 0.20
apart whatever the layout does.
"""

from __future__ import annotations

from samples import parts
from samples.layout import Layout
from samples.pour import Fill, pour
from samples.route import Rules, route


def layout(clearance: float = 0.127) -> Layout:
    """The board, 50 x 30 mm; ``clearance`` is that of the ground pour."""
    board = Layout("tide-logger", (50.0, 30.0), letter=1.0)
    _usb(board)
    _logger(board)
    board.text("TIDE LOGGER", 14.0, 27.5, 1.4)
    board.holes += [(2.8, 27.2, 2.2), (47.2, 2.8, 2.2)]
    # A joint under the bodies of headers could not be soldered from above.
    under = [box for part, box in board.bodies if part in ("J2", "J3")]
    rules = Rules(
        grid=0.125,
        clearance=0.28,
        width={"": 0.25, "VBUS": 0.4},
        via=(1.4, 0.7),
        edge=0.7,
        via_cost=4.0,
        keep_out={
            "top": [(0.0, 8.0, 6.6, 20.0), *under],
            "via": [box for part, box in board.bodies if part[0] in "UJ"],
        },
        side_cost={"bottom": 1.5},
        joined=frozenset({"GND"}),
    )
    route(board, rules, first=("GND",))
    fill = Fill(clearance, spoke=0.4, relief=0.25, least=0.3, edge=0.7, holes_as="clear")
    pour(board, "bottom", "GND", fill)
    return board


def _usb(board: Layout) -> None:
    board.place(
        parts.usb_c(), "J1", 7.4, 14.0,
        {"A1": "GND", "B1": "GND", "S1": "GND", "A4": "VBUS", "B4": "VBUS", "A5": "CC1",
         "B5": "CC2", "A6": "D+", "B6": "D+", "A7": "D-", "B7": "D-"},
        turn=1,
    )  # fmt: skip
    # Each data line has two contacts: D- is joined in front of the row, D+ behind it.
    for net, width, *points in (
        ("D-", 0.25, (7.4, 13.25), (8.65, 13.25), (8.65, 14.25), (7.4, 14.25)),
        ("D-", 0.25, (8.65, 13.75), (12.585, 13.75), (14.96, 11.375), (22.1, 11.375)),
        (
            "D+",
            0.25,
            (7.4, 13.75),
            (6.4, 13.75),
            (6.4, 14.75),
            (13.0, 14.75),
            (15.725, 12.025),
            (22.1, 12.025),
        ),
        ("CC1", 0.25, (7.4, 12.75), (8.25, 12.75), (8.6, 12.4), (9.2, 12.4)),
        ("CC2", 0.25, (7.4, 15.75), (9.2, 15.75)),
        ("VBUS", 0.4, (7.4, 11.6), (8.8, 11.6)),
        ("VBUS", 0.4, (7.4, 16.4), (8.8, 16.4)),
        ("GND", 0.4, (7.4, 10.8), (6.48, 9.68)),
        ("GND", 0.4, (7.4, 17.2), (6.48, 18.32)),
    ):
        board.track("top", width, net, *points)


def _logger(board: Layout) -> None:
    chip, large = parts.chip("0603"), parts.chip("0805")
    board.place(chip, "R1", 12.6, 11.0, ["CC1", "GND"], turn=3)
    board.place(chip, "R2", 12.6, 17.0, ["CC2", "GND"], turn=1)
    board.place(parts.sot223(), "U2", 16.0, 22.4, ["GND", "3V3", "VBUS", "3V3"], turn=1)
    board.place(large, "C1", 9.6, 24.4, ["VBUS", "GND"], turn=1)
    board.place(large, "C2", 22.4, 23.6, ["3V3", "GND"], turn=1)
    board.place(
        parts.tssop(20), "U1", 25.0, 13.0,
        ["GND", "SDA", "SCL", "RESET", "3V3", "LAMP", "", "", "", "CS",
         "CLK", "MISO", "MOSI", "", "GND", "3V3", "D+", "D-", "SWDIO", "SWCLK"],
        turn=2,
    )  # fmt: skip
    board.place(chip, "C3", 18.2, 14.2, ["3V3", "GND"], turn=1)
    board.place(chip, "C4", 33.8, 12.6, ["3V3", "GND"])
    board.place(chip, "C5", 33.8, 9.4, ["RESET", "GND"])
    board.place(
        parts.soic(8), "U3", 34.0, 22.0,
        ["CS", "MISO", "3V3", "GND", "MOSI", "CLK", "3V3", "3V3"], turn=1,
    )  # fmt: skip
    board.place(parts.header(4), "J2", 46.0, 15.0, ["GND", "3V3", "SCL", "SDA"], turn=1)
    board.place(parts.header(5), "J3", 22.0, 3.2, ["GND", "SWCLK", "SWDIO", "RESET", "3V3"])
    board.place(chip, "R3", 40.6, 14.4, ["SCL", "3V3"], turn=1)
    board.place(chip, "R4", 42.4, 19.6, ["SDA", "3V3"], turn=1)
    board.place(chip, "R5", 35.4, 4.6, ["LAMP", "SIGN"])
    board.place(chip, "D1", 40.6, 4.6, ["GND", "SIGN"], turn=2)
