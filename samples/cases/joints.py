"""Cases of the rules on joints that are made by hand, and on what stands over them."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Layout

_VIA = (1.9, 0.9)

_FEW_JOINTS = """\
# The usual shop, with less patience.
based_on: cone-30-0.1
joints:
  most: 4
"""

_RIVETS = """\
# The usual shop, with rivets for vias.
based_on: cone-30-0.1
joints:
  method: rivet
  wire: 0.8 mm
  head: 2.6 mm
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    regulator = _regulator((20.0, 19.0))
    return {
        "hand-joint": Case(_leaps(3), _leaps(2), {"profile.yaml": _FEW_JOINTS}),
        "hidden-joint": Case(_regulator((20.0, 12.0)), regulator),
        "joint-under-part": Case(_span(over_vias=False), _span(over_vias=True)),
        "idle-pad": Case(_link(("top", "bottom")), _link(("bottom",))),
        "crowded-rivet": Case(_beside(1.45), _beside(2.5), {"profile.yaml": _RIVETS}),
        "drained-pad": Case(_regulator((20.0, 15.1)), regulator),
    }


def _two_sided(name: str, width: float, height: float) -> Layout:
    """An empty board of two sides with holes for dowels."""
    board = Layout(name, (width, height))
    corners = ((x, y) for x in (4.0, width - 4.0) for y in (4.0, height - 4.0))
    board.holes += [(x, y, 3.2) for x, y in corners]
    return board


def _leaps(count: int) -> Layout:
    """As many lines as that leap over another one on the top, each through two vias."""
    height = 20.0 + 8.0 * count
    board = _two_sided("leaps", 40.0, height)
    board.place(parts.header(1), "J1", 20.0, 4.0, ["CROSS"])
    board.place(parts.header(1), "J2", 20.0, height - 4.0, ["CROSS"])
    board.track("bottom", 0.8, "CROSS", (20.0, 4.0), (20.0, height - 4.0))
    for k in range(count):
        y, net = 14.0 + 8.0 * k, f"LINE{k + 1}"
        board.place(parts.header(1), f"J{2 * k + 3}", 5.0, y, [net])
        board.place(parts.header(1), f"J{2 * k + 4}", 35.0, y, [net])
        for x in (13.0, 27.0):
            board.via(x, y, net, *_VIA)
        board.track("bottom", 0.8, net, (5.0, y), (13.0, y))
        board.track("top", 0.8, net, (13.0, y), (27.0, y))
        board.track("bottom", 0.8, net, (27.0, y), (35.0, y))
    return board


def _regulator(via: tuple[float, float]) -> Layout:
    """A regulator that lies flat, its output taken to the bottom at ``via``."""
    board = _two_sided("regulator", 40.0, 34.0)
    board.place(parts.sot223(), "U1", 20.0, 12.0, ["GND", "OUT", "IN", "OUT"])
    for part, x, net in (("J1", 8.0, "GND"), ("J2", 20.0, "OUT"), ("J3", 32.0, "IN")):
        board.place(parts.header(1), part, x, 27.0, [net])
    for x, pad, net in ((8.0, 17.7, "GND"), (32.0, 22.3, "IN")):
        board.via(x, 8.9, net, *_VIA)
        board.track("top", 0.8, net, (pad, 8.9), (x, 8.9))
        board.track("bottom", 0.8, net, (x, 8.9), (x, 27.0))
    board.via(*via, "OUT", *_VIA)
    board.track("top", 0.8, "OUT", (20.0, 8.9), (20.0, max(15.1, via[1])))
    board.track("bottom", 0.8, "OUT", via, (20.0, 27.0))
    return board


def _span(over_vias: bool) -> Layout:
    """A line on the top between two terminals, from their own pads or from vias beside them."""
    board = _two_sided("span", 40.0, 24.0)
    for part, x in (("J1", 5.0), ("J2", 35.0)):
        board.place(parts.terminal(1), part, x, 12.0, ["LINE"])
    for part, y in (("J3", 4.0), ("J4", 20.0)):
        board.place(parts.header(1), part, 20.0, y, ["CROSS"])
    board.track("bottom", 0.8, "CROSS", (20.0, 4.0), (20.0, 20.0))
    left, right = (13.0, 27.0) if over_vias else (5.0, 35.0)
    board.track("top", 0.8, "LINE", (left, 12.0), (right, 12.0))
    if over_vias:
        for x, post in ((left, 5.0), (right, 35.0)):
            board.via(x, 12.0, "LINE", *_VIA)
            board.track("bottom", 0.8, "LINE", (post, 12.0), (x, 12.0))
    return board


def _link(sides: tuple[str, ...]) -> Layout:
    """A line between two posts on the bottom."""
    board = _two_sided("link", 30.0, 20.0)
    board.sides = sides
    board.plated = len(sides) > 1
    board.place(parts.header(1), "J1", 6.0, 10.0, ["LINE"])
    board.place(parts.header(1), "J2", 24.0, 10.0, ["LINE"])
    board.track("bottom", 0.8, "LINE", (6.0, 10.0), (24.0, 10.0))
    return board


def _beside(apart: float) -> Layout:
    """A line that leaps over another; a third passes its first via, its edge ``apart`` away."""
    board = _leaps(1)
    board.name = "beside"
    x = 13.0 - apart - 0.4
    board.place(parts.header(1), "J5", x, 4.0, ["PASS"])
    board.place(parts.header(1), "J6", x, 24.0, ["PASS"])
    board.track("top", 0.8, "PASS", (x, 8.0), (x, 20.0))
    for y, post in ((8.0, 4.0), (20.0, 24.0)):
        board.via(x, y, "PASS", *_VIA)
        board.track("bottom", 0.8, "PASS", (x, post), (x, y))
    return board
