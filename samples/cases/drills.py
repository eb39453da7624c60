"""Cases of the rules on holes among themselves and on the drills at hand."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Footprint, Land, Layout

_FEW_DRILLS = """\
# A shop with three drills.
based_on: cone-30-0.1
drills:
  sizes: [0.8 mm, 1 mm, 3 mm]
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    tie = [(x, 6.0, 2.0) for x in (13.0, 17.0)]
    return {
        "thin-web": Case(
            _strap([(13.0, 6.0, 2.0), (15.25, 6.0, 2.0)]),
            _strap([(13.0, 6.0, 2.0), (17.0, 6.0, 2.0)]),
        ),
        "overlapping-holes": Case(
            _strap([(14.0 + 0.5 * k, 6.0, 1.0) for k in range(5)]), _strap(tie)
        ),
        "unowned-drill": Case(_resistor(0.9), _resistor(1.0), {"profile.yaml": _FEW_DRILLS}),
        "undersized-hole": Case(_bridge(0.4), _bridge(0.9)),
        "narrow-slot": Case(_blade(0.6), _blade(1.0)),
        "many-drills": Case(_gauge(7), _gauge(6)),
        "missing-dowels": Case(_bridge(0.9, dowels=False), _bridge(0.9)),
    }


def _strap(holes: list[tuple[float, float, float]]) -> Layout:
    """A wire from end to end, and holes for the strap that holds its cable."""
    board = Layout("strap", (30.0, 18.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 5.0, 12.0, ["LINE"])
    board.place(parts.header(1), "J2", 25.0, 12.0, ["LINE"])
    board.track("bottom", 0.8, "LINE", (5.0, 12.0), (25.0, 12.0))
    board.holes += holes
    return board


def _resistor(hole: float) -> Layout:
    """A resistor between two posts; its leads stand in holes of that diameter."""
    board = Layout("resistor", (30.0, 12.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 6.0, ["IN"])
    board.place(parts.axial(hole=hole), "R1", 15.0, 6.0, ["IN", "OUT"])
    board.place(parts.header(1), "J2", 26.0, 6.0, ["OUT"])
    board.track("bottom", 0.8, "IN", (4.0, 6.0), (9.92, 6.0))
    board.track("bottom", 0.8, "OUT", (20.08, 6.0), (26.0, 6.0))
    return board


def _bridge(hole: float, dowels: bool = True) -> Layout:
    """A line that leaps over another one on the top side, through two vias."""
    board = Layout("bridge", (40.0, 24.0))
    for part, x, y, net in (
        ("J1", 5.0, 12.0, "LINE"), ("J2", 35.0, 12.0, "LINE"),
        ("J3", 20.0, 4.0, "CROSS"), ("J4", 20.0, 20.0, "CROSS"),
    ):  # fmt: skip
        board.place(parts.header(1), part, x, y, [net])
    for x in (13.0, 27.0):
        board.via(x, 12.0, "LINE", 1.9, hole)
    board.track("bottom", 0.8, "LINE", (5.0, 12.0), (13.0, 12.0))
    board.track("top", 0.8, "LINE", (13.0, 12.0), (27.0, 12.0))
    board.track("bottom", 0.8, "LINE", (27.0, 12.0), (35.0, 12.0))
    board.track("bottom", 0.8, "CROSS", (20.0, 4.0), (20.0, 20.0))
    if dowels:
        board.holes += [(x, y, 3.2) for x in (4.0, 36.0) for y in (4.0, 20.0)]
    return board


def _blade(width: float) -> Layout:
    """Two blades that stand in slots of that width."""
    land = Land("1", 0.0, 0.0, 4.4, 3.0, "obround", width, 2.4)
    blade = Footprint((land,), (-2.5, -2.0, 2.5, 2.0))
    board = Layout("blades", (30.0, 14.0), sides=("bottom",), plated=False)
    board.place(blade, "J1", 6.0, 7.0, ["LINE"])
    board.place(blade, "J2", 24.0, 7.0, ["LINE"])
    board.track("bottom", 1.2, "LINE", (6.0, 7.0), (24.0, 7.0))
    return board


def _gauge(count: int) -> Layout:
    """A row of holes of as many sizes, each 0.1 mm wider than the last, up to 1.2 mm."""
    board = _strap([])
    for k in range(count):
        board.holes.append((6.0 + 3.0 * k, 5.0, round(1.2 - 0.1 * k, 1)))
    return board
