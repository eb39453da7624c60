"""Orchard camera: looks at the blossom once an hour. Four layers, for a board house.

A controller without leads at 0.40 pitch takes eight bits from a camera on a flat cable; ground and
supply are inner planes. A home shop can make neither the planes nor the gaps at U1.
"""

from __future__ import annotations

from samples import parts
from samples.layout import Layout
from samples.pour import Fill, pour
from samples.route import Rules, route


def layout() -> Layout:
    """The board, 38 x 30 mm."""
    board = Layout(
        "orchard-cam", (38.0, 30.0), sides=("top", "inner 1", "inner 2", "bottom"), letter=1.0
    )
    _camera(board)
    _supply(board)
    board.text("ORCHARD CAM", 5.0, 1.0, 1.2)
    board.holes += [(2.6, 2.6, 2.2), (2.6, 27.4, 2.2), (35.8, 2.6, 2.2), (35.8, 27.4, 2.2)]
    for x in (16.8, 19.2):
        for y in (13.8, 16.2):
            board.via(x, y, "GND", 0.6, 0.3)
    bodies = dict(board.bodies)
    rules = Rules(
        grid=0.1,
        clearance=0.15,
        width={"": 0.15, "BATTERY": 0.6, "LAMP": 0.4, "3V3": 0.2, "GND": 0.2},
        via=(0.6, 0.3),
        edge=0.5,
        via_cost=2.0,
        keep_out={"via": [bodies["J1"], bodies["U2"]]},
        joined=frozenset({"GND", "3V3"}),
    )
    route(board, rules, first=("GND", "3V3"))
    fill = Fill(clearance=0.2, spoke=0.3, relief=0.2, least=0.2, edge=0.5)
    pour(board, "inner 1", "GND", fill)
    pour(board, "inner 2", "3V3", fill)
    return board


def _camera(board: Layout) -> None:
    left = ["SDA", "SCL", "CAMRST", "VSYNC", "HREF", "D7", "XCLK", "D6", "D5", "PCLK", "D4", "D3"]
    bottom = ["D2", "D1", "D0", "GND", "3V3", "CS", "CLK", "MISO", "MOSI", "WP", "", ""]
    right = ["", "TX", "RX", "3V3", "GND", "", "XIN", "XOUT", "GND", "", "FLASH", ""]
    top = ["3V3", "GND", "SWCLK", "SWDIO", "", "RESET", "BOOT", "", "", "3V3", "GND", "PWDN"]
    board.place(parts.qfn(48), "U1", 18.0, 15.0, [*left, *bottom, *right, *top, "GND"])
    cable = ["", "", "GND", "3V3", *(f"D{k}" for k in range(5)), "GND", "PCLK", "D5", "D6", "XCLK"]
    cable += ["D7", "GND", "3V3", "HREF", "VSYNC", "CAMRST", "SCL", "SDA", "PWDN", "GND"]
    board.place(parts.fpc(24), "J1", 7.0, 15.0, {**_numbered(cable), "S1": "GND"}, turn=1)
    small = parts.chip("0402")
    for part, x, y, net, turn in (
        ("C1", 14.0, 20.6, "3V3", 1),
        ("C2", 21.4, 20.0, "3V3", 0),
        ("C3", 23.4, 14.4, "3V3", 3),
        ("C4", 16.4, 9.6, "3V3", 3),
    ):
        board.place(small, part, x, y, [net, "GND"], turn=turn)
    board.place(small, "R1", 10.2, 22.6, ["3V3", "SDA"])
    board.place(small, "R2", 13.4, 22.6, ["3V3", "SCL"], turn=2)
    board.place(small, "R3", 18.8, 22.0, ["BOOT", "GND"], turn=1)
    board.place(parts.crystal_smd(), "Y1", 27.0, 16.6, ["XIN", "GND", "XOUT", "GND"], turn=1)
    board.place(small, "C5", 25.4, 12.6, ["XIN", "GND"], turn=3)
    board.place(small, "C6", 27.0, 20.2, ["XOUT", "GND"])
    board.place(
        parts.soic(8), "U2", 18.4, 4.4,
        ["CS", "MISO", "WP", "GND", "MOSI", "CLK", "3V3", "3V3"], turn=1,
    )  # fmt: skip


def _supply(board: Layout) -> None:
    board.place(parts.header(2), "J2", 28.0, 2.6, ["GND", "BATTERY"])
    board.place(parts.sot223(), "U3", 30.6, 8.6, ["GND", "3V3", "BATTERY", "3V3"], turn=0)
    board.place(parts.chip("0603"), "C7", 25.2, 6.4, ["BATTERY", "GND"], turn=1)
    board.place(parts.chip("0603"), "C8", 35.4, 9.6, ["3V3", "GND"], turn=1)
    board.place(
        parts.header(5), "J3", 20.6, 26.2, ["GND", "SWCLK", "SWDIO", "RESET", "3V3"], turn=2
    )
    board.place(parts.header(3), "J4", 35.6, 21.0, ["GND", "TX", "RX"], turn=1)
    board.place(parts.sot23(), "Q1", 31.6, 22.2, ["FLASH", "GND", "LAMP"], turn=1)
    board.place(parts.header(2), "J5", 31.4, 26.8, ["3V3", "LAMP"])


def _numbered(nets: list[str]) -> dict[str, str]:
    return {str(number): net for number, net in enumerate(nets, 1)}
