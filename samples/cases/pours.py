"""Cases of the rules on pours and on letters in copper."""

from __future__ import annotations

import shapely

from samples import parts
from samples.cases.case import Case
from samples.font import strokes_of
from samples.layout import Layout, Pad, Pour, Track, copper_of
from samples.pour import Fill, pour


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "lost-relief": Case(_relieved(0.15), _relieved(0.4)),
        "solid-joint": Case(_filled(0), _relieved(0.4)),
        "powdered-fill": Case(_filled(0.25), _relieved(0.4)),
        "fine-lettering": Case(_lettered(0.15), _lettered(0.4)),
        "merged-lettering": Case(_lettered(0.4, 1.27), _lettered(0.4)),
    }


def _supply() -> Layout:
    """A supply and the capacitor that smooths it, on the bottom."""
    board = Layout("supply", (30.0, 24.0), sides=("bottom",), plated=False)
    board.place(parts.terminal(2), "J1", 6.0, 10.0, ["GND", "SUPPLY"], turn=1)
    board.place(parts.radial(5.08, 6.0), "C1", 24.0, 10.0, ["GND", "SUPPLY"], turn=1)
    (x0, y0), (x1, y1) = ((pad.x, pad.y) for pad in board.pads if pad.net == "SUPPLY")
    top = y1 + 5
    board.track("bottom", 0.8, "SUPPLY", (x0, y0), (x0 + 2, top), (x1 - 2, top), (x1, y1))
    return board


def _relieved(relief: float) -> Layout:
    """Ground poured, with slots ``relief`` wide round its pads."""
    board = _supply()
    pour(board, "bottom", "GND", Fill(clearance=0.6, spoke=0.6, relief=relief, least=0.5))
    return board


def _filled(opening: float) -> Layout:
    """Ground poured over its pads, solid or hatched with square openings of a width."""
    board = _supply()
    things: list[Pad | Track] = [*board.pads, *board.tracks]
    foreign = [copper_of(thing, 0.6) for thing in things if thing.net != "GND"]
    if not opening:
        area = shapely.box(1, 1, 29, 19) - shapely.union_all(foreign)
        board.pours.append(Pour("bottom", shapely.MultiPolygon([_largest(area)]), "GND"))
        return board
    own = [copper_of(pad, 0.3) for pad in board.pads if pad.net == "GND"]
    area = shapely.union_all([shapely.box(3, 6, 9, 8), shapely.box(9, 5, 14, 10), *own])
    area = area - shapely.union_all(foreign)
    pitch = opening + 0.27
    holes = [
        shapely.box(x, y, x + opening, y + opening)
        for x in (9.6 + pitch * column for column in range(8))
        for y in (5.6 + pitch * row for row in range(8))
    ]
    area = _largest(area - shapely.union_all(holes))
    board.pours.append(Pour("bottom", shapely.MultiPolygon([area]), "GND", "clear"))
    board.track("bottom", 0.8, "GND", (12.0, 5.3), (22.0, 5.3), (24.0, board.pads[2].y))
    return board


def _largest(area: shapely.Geometry) -> shapely.Polygon:
    return max(shapely.get_parts(area), key=lambda part: part.area)


def _lettered(pen: float, pitch: float = 5.0) -> Layout:
    """Two letters written on the copper side with a pen, one so far from the other."""
    board = _supply()
    (x0, y0), (x1, y1) = ((pad.x, pad.y) for pad in board.pads if pad.net == "GND")
    board.track("bottom", 0.8, "GND", (x0, y0), (x1, y1))
    for number, letter in enumerate("LT"):
        for line in strokes_of(letter):
            points = tuple(
                (round(11 + pitch * number + 3 * x, 4), round(11 + 3 * y, 4)) for x, y in line
            )
            board.track("bottom", pen, "", *points)
    return board
