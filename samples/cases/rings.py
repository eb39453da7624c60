"""Cases of the rules on holes against copper."""

from __future__ import annotations

from msgspec.structs import replace

from samples import parts
from samples.cases.case import Case
from samples.layout import Footprint, Land, Layout


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "thin-ring": Case(_blade(1.6), _blade(2.0)),
        "broken-ring": Case(_blade(1.0), _blade(2.0)),
        "foreign-copper-at-hole": Case(_crossing(12.95), _crossing(16.0)),
        "copper-under-screw": Case(_screw(2.6), _screw(4.0)),
        "plated-edge": Case(_divider(), _divider(), retouch=_half_hole),
    }


def _blade(width: float) -> Layout:
    """A coil between two posts; its leads stand in long pads of that width, with holes of 1.2."""
    lands = tuple(Land(pin, x, 0.0, width, 4.0, hole=1.2) for pin, x in (("1", -5.0), ("2", 5.0)))
    board = Layout("coil", (34.0, 14.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 5.0, 7.0, ["IN"])
    board.place(Footprint(lands, (-4.0, -3.0, 4.0, 3.0)), "L1", 17.0, 7.0, ["IN", "OUT"])
    board.place(parts.header(1), "J2", 29.0, 7.0, ["OUT"])
    board.track("bottom", 1.0, "IN", (5.0, 7.0), (10.5, 8.5), (12.0, 8.5))
    board.track("bottom", 1.0, "OUT", (22.0, 8.5), (23.5, 8.5), (29.0, 7.0))
    return board


def _crossing(y: float) -> Layout:
    """A line leaps over another one on the top, close to a post that has a pad only below."""
    board = Layout("crossing", (40.0, 26.0))
    for part, x, at, net in (
        ("J1", 5.0, 12.0, "LINE"), ("J2", 35.0, 12.0, "LINE"),
        ("J3", 20.0, 4.0, "CROSS"), ("J4", 20.0, 20.0, "CROSS"),
    ):  # fmt: skip
        board.place(parts.header(1), part, x, at, [net])
    board.place(parts.header(1), "J5", 20.0, y, ["CROSS"])
    board.pads[-1] = replace(board.pads[-1], sides=("bottom",))
    for x in (13.0, 27.0):
        board.via(x, 12.0, "LINE", 1.9, 0.9)
    board.track("bottom", 0.8, "LINE", (5.0, 12.0), (13.0, 12.0))
    board.track("top", 0.8, "LINE", (13.0, 12.0), (27.0, 12.0))
    board.track("bottom", 0.8, "LINE", (27.0, 12.0), (35.0, 12.0))
    board.track("bottom", 0.8, "CROSS", (20.0, 4.0), (20.0, 20.0))
    board.holes += [(x, at, 3.2) for x in (4.0, 36.0) for at in (4.0, 22.0)]
    return board


def _screw(away: float) -> Layout:
    """Two lines, ``away`` to either side of the middle of a hole for a screw of 3 mm."""
    board = Layout("rail", (40.0, 20.0), sides=("bottom",), plated=False)
    for net, y in (("LINE", 10.0 - away), ("RETURN", 10.0 + away)):
        for place, x in (("1", 5.0), ("2", 35.0)):
            board.place(parts.header(1), f"{net[0]}{place}", x, y, [net])
        board.track("bottom", 0.8, net, (5.0, y), (35.0, y))
    board.holes.append((20.0, 10.0, 3.2))
    return board


def _divider() -> Layout:
    """A resistor between two posts."""
    board = Layout("resistor", (30.0, 12.0), sides=("bottom",))
    board.place(parts.header(1), "J1", 4.0, 6.0, ["IN"])
    board.place(parts.axial(), "R1", 15.0, 6.0, ["IN", "OUT"])
    board.place(parts.header(1), "J2", 26.0, 6.0, ["OUT"])
    board.track("bottom", 0.8, "IN", (4.0, 6.0), (9.92, 6.0))
    board.track("bottom", 0.8, "OUT", (20.08, 6.0), (26.0, 6.0))
    return board


def _half_hole(texts: dict[str, str]) -> dict[str, str]:
    """A plated hole of the posts' size more, cut in half by the right edge."""
    name = "holes-plated.drl"
    post = "X4.0000Y6.0000\n"
    assert texts[name].count(post) == 1
    return texts | {name: texts[name].replace(post, post + "X30.2000Y6.0000\n")}
