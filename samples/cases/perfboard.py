"""Cases of the rules on perfboard: leads on one grid of holes, wires instead of copper."""

from __future__ import annotations

from msgspec.structs import replace

from samples import parts
from samples.cases.case import Case
from samples.layout import Footprint, Layout

_HEAD = "# Perfboard and wire{}.\nbased_on: perfboard\n"
_PROFILE = {"profile.yaml": _HEAD.format("")}
_FEW_WIRES = {"profile.yaml": _HEAD.format(", and little patience") + "grid: {most_wires: 3}\n"}
_PITCH = 2.54
_FOUR = ("top", "inner 1", "inner 2", "bottom")


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "off-grid-hole": Case(_divider(aside=0.9), _divider(), _PROFILE),
        "surface-part": Case(_divider(chip=True, sides=("top", "bottom")), _divider(), _PROFILE),
        "thick-lead": Case(_divider(hole=1.3), _divider(), _PROFILE),
        "live-neighbour": Case(_supply(1), _supply(2), _PROFILE | _notes()),
        "wired-layers": Case(_divider(sides=_FOUR), _divider(), _PROFILE),
        "many-wires": Case(_ladder(near=False), _ladder(near=True), _FEW_WIRES),
    }


def _divider(
    aside: float = 0.0, hole: float = 1.0, chip: bool = False, sides: tuple[str, ...] = ("bottom",)
) -> Layout:
    """Two resistors and a header; the second one moved ``aside``, or a transistor instead."""
    board = Layout("divider", (30.48, 20.32), sides=sides, plated=len(sides) > 1)
    board.place(_drilled(parts.header(3), hole), "J1", 5.08, 10.16, ["GND", "MIDDLE", "SUPPLY"], 1)
    board.place(parts.axial(10.16), "R1", 17.78, 15.24, ["SUPPLY", "MIDDLE"])
    if chip:
        board.place(parts.sot23(), "Q1", 17.78, 5.08, ["GND", "MIDDLE", "SUPPLY"])
    else:
        board.place(parts.axial(10.16), "R2", 17.78 + aside, 5.08, ["GND", "MIDDLE"])
    return board


def _drilled(footprint: Footprint, hole: float) -> Footprint:
    return replace(footprint, lands=tuple(replace(land, hole=hole) for land in footprint.lands))


def _notes() -> dict[str, str]:
    text = "# A battery of four blocks.\nnets:\n  PLUS: {voltage: 48 V, current: 500 mA}\n"
    return {f"{which}/board-note.yaml": text for which in ("bad", "good")}


def _supply(apart: int) -> Layout:
    """Posts for plus and minus of a supply, so many holes apart, and a line away from them."""
    board = Layout("supply", (30.48, 15.24), sides=("bottom",), plated=False)
    for part, step, net in (("J1", 2, "MINUS"), ("J2", 2 + apart, "PLUS"), ("J3", 9, "MINUS")):
        board.place(parts.header(1), part, step * _PITCH, 7.62, [net])
    return board


def _ladder(near: bool) -> Layout:
    """Five posts of one net in a row, two of them next to each other or all of them apart."""
    board = Layout("ladder", (40.64, 15.24), sides=("bottom",), plated=False)
    steps = (2, 5, 6, 9, 12) if near else (2, 4, 6, 9, 12)
    for number, step in enumerate(steps):
        board.place(parts.header(1), f"J{number + 1}", step * _PITCH, 7.62, ["RAIL"])
    return board
