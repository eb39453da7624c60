"""Cases of the rules on leftover copper, room round joints, lone pads, slots and the legend."""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Footprint, Land, Layout, Point

_ENGRAVED = """\
# The legend is engraved with the bit that isolates, {why}.
based_on: cone-30-0.1
legend:
  depth: {depth} mm
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    deep, shallow = ("as deep as it cuts the foil", "0.09"), ("but not through the foil", "0.015")
    profiles = {
        f"{which}/profile.yaml": _ENGRAVED.format(why=why, depth=depth)
        for which, (why, depth) in (("bad", deep), ("good", shallow))
    }
    return {
        "loose-strip": Case(_twin(0.9), _twin(1.2)),
        "stranded-copper": Case(_window(0.98), _window(2.0)),
        "crowded-joint": Case(_passing(0.28), _passing(0.4)),
        "small-pad": Case(_spare(1.5), _spare(1.8)),
        "closed-slot": Case(_coil(0.12), _coil(0.4)),
        "legend-through-copper": Case(_label(), _label(), profiles),
    }


def _twin(gap: float) -> Layout:
    """Two lines side by side over 12 mm, with a post at every end."""
    board = Layout("twin", (30.0, 18.0), sides=("bottom",), plated=False)
    for sign, net, names in ((1, "IN", ("J1", "J2")), (-1, "OUT", ("J3", "J4"))):
        y, near = 9.0 + sign * 4.0, round(9.0 + sign * (0.4 + gap / 2), 4)
        board.place(parts.header(1), names[0], 4.0, y, [net])
        board.place(parts.header(1), names[1], 26.0, y, [net])
        board.track("bottom", 0.8, net, (4.0, y), (9.0, near), (21.0, near), (26.0, y))
    return board


def _window(room: float) -> Layout:
    """A line that parts and meets again round a square of that size."""
    board = Layout("window", (30.0, 12.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 6.0, ["LINE"])
    board.place(parts.header(1), "J2", 26.0, 6.0, ["LINE"])
    half = room / 2 + 0.4
    left, right, low, high = 15.0 - half, 15.0 + half, 6.0 - half, 6.0 + half
    board.track("bottom", 0.8, "LINE", (4.0, 6.0), (left, 6.0))
    board.track("bottom", 0.8, "LINE", (right, 6.0), (26.0, 6.0))
    corners = ((left, low), (right, low), (right, high), (left, high), (left, low))
    board.track("bottom", 0.8, "LINE", *corners)
    return board


def _passing(gap: float) -> Layout:
    """A line that passes a pin of another net at that distance."""
    board = Layout("passing", (30.0, 15.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 15.0, 8.0, ["PIN"])
    board.place(parts.header(1), "J2", 15.0, 3.0, ["PIN"])
    board.track("bottom", 0.8, "PIN", (15.0, 3.0), (15.0, 8.0))
    y = round(8.0 + 0.85 + gap + 0.4, 4)
    board.place(parts.header(1), "J3", 4.0, y, ["LINE"])
    board.place(parts.header(1), "J4", 26.0, y, ["LINE"])
    board.track("bottom", 0.8, "LINE", (4.0, y), (26.0, y))
    return board


def _spare(size: float) -> Layout:
    """A line between two posts, and a spare post that joins nothing."""
    board = Layout("spare", (30.0, 15.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 10.0, ["LINE"])
    board.place(parts.header(1), "J2", 26.0, 10.0, ["LINE"])
    board.track("bottom", 0.8, "LINE", (4.0, 10.0), (26.0, 10.0))
    post = Footprint((Land("1", 0.0, 0.0, size, size, "circle", 0.9),), (-1.27, -1.27, 1.27, 1.27))
    board.place(post, "J3", 15.0, 5.0, [""])
    return board


def _coil(slot: float) -> Layout:
    """A coil of three turns, 0.8 mm wide, with that slot between them."""
    board = Layout("coil", (40.0, 40.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 4.0, 4.0, ["COIL"])
    board.place(parts.header(1), "J2", 20.0, 20.0, ["COIL"])
    step = 0.8 + slot
    way: list[Point] = [(4.0, 4.0), (8.0, 8.0)]
    for turn in range(3):
        near, far = 8.0 + turn * step, 32.0 - turn * step
        way += [(far, near), (far, far), (near, far), (near, near + step)]
    way += [(20.0, way[-1][1]), (20.0, 20.0)]
    board.track("bottom", 0.8, "COIL", *((round(x, 4), round(y, 4)) for x, y in way))
    return board


def _label() -> Layout:
    """Two chips on the top and lines between them, with a name across each."""
    board = Layout("label", (30.0, 16.0), sides=("top",), plated=False)
    for part, x in (("R1", 6.0), ("R2", 24.0)):
        board.place(parts.chip("1206"), part, x, 8.0, ["IN", "OUT"], turn=1)
    ends = sorted((pad.y, pad.net) for pad in board.pads if pad.part == "R1")
    for y, net in ends:
        board.track("top", 0.8, net, (6.0, y), (24.0, y))
    board.text("IN", 14.0, round(ends[0][0] - 0.9, 4), 1.8)
    board.text("N", 17.0, round(ends[1][0] - 0.9, 4), 1.8)
    board.holes += [(3.0, 3.0, 3.0), (27.0, 13.0, 3.0)]
    return board
