"""Cases of the rules on the board's edge: what lies near to it, and how it is cut."""

from __future__ import annotations

from math import cos, pi, sin

import shapely

from samples import parts
from samples.cases.case import Case
from samples.layout import Arc, Layout, Point, Pour

_PASSES = """\
# The default bit and a cutter of 1 mm, {what}.
based_on: cone-30-0.1
outline: {{pass_depth: {depth}}}
"""


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "broken-outline": Case(_jumper(_opened(0.3)), _jumper()),
        "copper-at-edge": Case(_ground(0.2), _ground(0.5)),
        "hole-at-edge": Case(_hung(1.85), _hung(3.0)),
        "round-corner": Case(_framed(0.0), _framed(0.6)),
        "narrow-cutout": Case(_split(0.8), _split(1.2)),
        "crowded-panel": Case(_pair(0.6), _pair(2.0)),
        "oversize-board": Case(_strip(172.0), _strip(160.0)),
        "no-room-for-tabs": Case(_pendant(8.6), _pendant(12.0)),
        "deep-pass": Case(
            _jumper(),
            _jumper(),
            {
                f"{which}/profile.yaml": _PASSES.format(what=what, depth=depth)
                for which, what, depth in (
                    ("bad", "sent through the laminate at once", "1.6 mm"),
                    ("good", "in four passes", "0.4 mm"),
                )
            },
        ),
    }


def _box(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    return ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))


def _jumper(*edges: tuple[Point | Arc, ...]) -> Layout:
    """A wire from post to post; the edge is a rectangle of 30 by 18 mm where none is given."""
    board = Layout("jumper", (30.0, 18.0), sides=("bottom",), plated=False)
    board.edges += edges
    board.place(parts.header(1), "J1", 5.0, 9.0, ["LINE"])
    board.place(parts.header(1), "J2", 25.0, 9.0, ["LINE"])
    board.track("bottom", 0.8, "LINE", (5.0, 9.0), (25.0, 9.0))
    return board


def _opened(gap: float) -> tuple[Point, ...]:
    """A rectangle whose lower side has an opening about its middle."""
    return (
        (15.0 + gap / 2, 0.0), (30.0, 0.0), (30.0, 18.0), (0.0, 18.0), (0.0, 0.0),
        (15.0 - gap / 2, 0.0),
    )  # fmt: skip


def _ground(off: float) -> Layout:
    """A bar of ground along the lower edge, at that distance from it."""
    board = _jumper()
    bar = shapely.box(3.0, off, 27.0, off + 3.0)
    board.pours.append(Pour("bottom", bar, "GND"))
    return board


def _hung(up: float) -> Layout:
    """Two holes of 3.2 mm to hang the board up, their middles so far from the upper edge."""
    board = _jumper()
    board.holes += [(10.0, 18.0 - up, 3.2), (20.0, 18.0 - up, 3.2)]
    return board


def _framed(radius: float) -> Layout:
    """A board with a window for a part that is sunk into it, its corners of that radius."""
    left, bottom, right, top = 11.0, 11.0, 19.0, 15.0
    if not radius:
        return _jumper(_box(0.0, 0.0, 30.0, 18.0), _box(left, bottom, right, top))
    inner = left + radius, bottom + radius, right - radius, top - radius
    window: tuple[Point | Arc, ...] = (
        (inner[0], bottom),
        (inner[2], bottom),
        Arc((right, inner[1]), (inner[2], inner[1])),
        (right, inner[3]),
        Arc((inner[2], top), (inner[2], inner[3])),
        (inner[0], top),
        Arc((left, inner[3]), (inner[0], inner[3])),
        (left, inner[1]),
        Arc((inner[0], bottom), (inner[0], inner[1])),
    )
    return _jumper(_box(0.0, 0.0, 30.0, 18.0), window)


def _split(width: float) -> Layout:
    """A board with a slit from above, round at its end, that keeps the halves apart."""
    left, right, low = 15.0 - width / 2, 15.0 + width / 2, 13.0
    edge: tuple[Point | Arc, ...] = (
        (0.0, 0.0), (30.0, 0.0), (30.0, 18.0), (right, 18.0), (right, low),
        Arc((left, low), (15.0, low), clockwise=True), (left, 18.0), (0.0, 18.0), (0.0, 0.0),
    )  # fmt: skip
    return _jumper(edge)


def _pair(apart: float) -> Layout:
    """Two boards side by side, so far apart."""
    board = Layout("pair", (40.0 + apart, 16.0), sides=("bottom",), plated=False)
    for number, left in enumerate((0.0, 20.0 + apart)):
        board.edges.append(_box(left, 0.0, left + 20.0, 16.0))
        line = f"LINE{number + 1}"
        for place, x in enumerate((4.0, 16.0)):
            part = f"J{2 * number + place + 1}"
            board.place(parts.header(1), part, left + x, 8.0, [line])
        board.track("bottom", 0.8, line, (left + 4.0, 8.0), (left + 16.0, 8.0))
    return board


def _strip(length: float) -> Layout:
    """A long strip with a post at each end."""
    board = Layout("strip", (length, 14.0), sides=("bottom",), plated=False)
    board.place(parts.header(1), "J1", 5.0, 7.0, ["LINE"])
    board.place(parts.header(1), "J2", length - 5.0, 7.0, ["LINE"])
    board.track("bottom", 0.8, "LINE", (5.0, 7.0), (length - 5.0, 7.0))
    return board


def _pendant(size: float) -> Layout:
    """An octagon so wide from side to side, with one post in its middle."""
    half = size / 2
    far = half / cos(pi / 8)
    corners = [
        (
            round(half + far * cos(pi / 8 + k * pi / 4), 4),
            round(half + far * sin(pi / 8 + k * pi / 4), 4),
        )
        for k in range(8)
    ]
    board = Layout("pendant", (size, size), sides=("bottom",), plated=False)
    board.edges.append((*corners, corners[0]))
    board.place(parts.header(1), "J1", half, half, ["LINE"])
    return board
