"""The copper of a plan, built with shapely from the plan alone, in mm.

Circles are drawn with `QUAD` chords a quarter, all corners on the circle: 0.3 um inside it at a
radius of 1 mm. Every object can be drawn with its boundary pushed out or in by a slack: an image
made of dark objects pushed out and clear ones pushed in holds every image whose boundaries are
within the slack of the true ones, and the reverse is held by all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby, pairwise, product
from typing import Any

import numpy as np
import shapely
from shapely import LineString, MultiPoint, Point, Polygon, affinity

from tests.gerber_boards.plan import (
    Aperture,
    Arc,
    Area,
    Bar,
    Bend,
    Block,
    Corners,
    Disc,
    Flash,
    Hole,
    Line,
    Loop,
    Macro,
    Mark,
    Obround,
    Part,
    Rectangle,
    Regular,
    Round,
    Steps,
    Stroke,
    Thermal,
    Turned,
    on_rim,
)
from tests.gerber_boards.plan import Point as Place

QUAD = 32
HAIR = 1e-9  # mm
NOTHING = Polygon()


def copper(marks: tuple[Mark, ...], mm: float, slack: float = 0.0) -> Any:
    """What all marks leave, drawn in turn; a step is ``mm`` long."""
    image: Any = NOTHING
    for dark, run in groupby(_drawn(marks, mm, slack, True, 1.0), key=lambda one: one[0]):
        drawn = shapely.union_all([shape for _, shape in run])
        image = image.union(drawn) if dark else image.difference(drawn)
    # Two edges that are one on paper may leave a hair, of which a closing would make copper.
    return shapely.set_precision(image, HAIR)


def pieces(image: Any) -> list[Any]:
    """The polygons of an image."""
    return [part for part in shapely.get_parts(image) if part.area > 0]


def axis(hole: Hole, mm: float) -> Any:
    """The middle of a hole, or the line along which a slot is cut."""
    points = [hole.at] if hole.end in (None, hole.at) else [hole.at, hole.end]
    places = [(x * mm, y * mm) for x, y in points]
    return Point(places[0]) if len(places) == 1 else LineString(places)


def _drawn(
    marks: tuple[Mark, ...], mm: float, slack: float, dark: bool, scale: float
) -> Iterator[tuple[bool, Any]]:
    """(dark, shape) of everything in turn; ``scale`` is what the shapes will yet be scaled by."""
    for mark in marks:
        thing, is_dark = mark.thing, mark.dark == dark
        signed = (slack if is_dark else -slack) / scale
        match thing:
            case Flash(Block(inner), at):
                inside = _drawn(inner, mm, slack, is_dark, scale * mark.turned.scale)
                for was_dark, shape in inside:
                    yield was_dark, _placed(shape, mark.turned, at, mm)
            case Flash(aperture, at):
                shape = _aperture(aperture, mm, signed / mark.turned.scale)
                yield is_dark, _placed(shape, mark.turned, at, mm)
            case Steps((nx, ny), (dx, dy), inner):
                once = list(_drawn(inner, mm, slack, dark, scale))
                for i, j in product(range(nx), range(ny)):
                    for was_dark, shape in once:
                        yield was_dark, affinity.translate(shape, i * dx * mm, j * dy * mm)
            case Stroke(pen, points):
                yield is_dark, _stroke(pen, points, mark.turned, mm, signed)
            case Arc(pen, centre, fifth, first, last, clockwise):
                bend = Bend(on_rim(centre, fifth, last), centre, clockwise)
                line = LineString(_along(on_rim(centre, fifth, first), bend, mm))
                yield is_dark, _wide(line, pen.size * mm * mark.turned.scale / 2 + signed)
            case Area():
                yield is_dark, _pushed(_area(thing, mm), signed)


def _pushed(shape: Any, slack: float) -> Any:
    return shape.buffer(slack, quad_segs=8) if slack else shape


def _wide(line: Any, reach: float) -> Any:
    return line.buffer(reach, quad_segs=QUAD) if reach > 0 else NOTHING


def _disc(size: float, slack: float) -> Any:
    return _wide(Point(0, 0), size / 2 + slack)


def _placed(shape: Any, turned: Turned, at: Place, mm: float) -> Any:
    c, s = math.cos(math.radians(turned.degrees)), math.sin(math.radians(turned.degrees))
    x = turned.scale * (-1 if "X" in turned.mirror else 1)
    y = turned.scale * (-1 if "Y" in turned.mirror else 1)
    return affinity.affine_transform(shape, [c * x, -s * y, s * x, c * y, at[0] * mm, at[1] * mm])


def _box(width: float, height: float) -> Any:
    return shapely.box(-width / 2, -height / 2, width / 2, height / 2)


def _aperture(aperture: Aperture, mm: float, slack: float) -> Any:
    match aperture:
        case Round(size, hole):
            shape = _disc(size * mm, slack)
        case Rectangle(width, height, hole):
            shape = _pushed(_box(width * mm, height * mm), slack)
        case Obround(width, height, hole):
            half = abs(width - height) * mm / 2
            line = [(-half, 0), (half, 0)] if width > height else [(0, -half), (0, half)]
            spine = LineString(line) if half else Point(0, 0)
            shape = _wide(spine, min(width, height) * mm / 2 + slack)
        case Regular(size, corners, turn, hole):
            shape = _pushed(_corners(size * mm, corners, turn), slack)
        case Macro(parts, _):
            image: Any = NOTHING
            for part in parts:
                on = getattr(part, "on", True)
                drawn = affinity.rotate(
                    _part(part, mm, slack if on else -slack), part.turn, origin=(0, 0)
                )
                image = image.union(drawn) if on else image.difference(drawn)
            return image
        case _:
            raise TypeError(aperture)
    return shape.difference(_disc(hole * mm, -slack)) if hole else shape


def _corners(size: float, corners: int, turn: float) -> Any:
    angles = np.radians(turn + 360 / corners * np.arange(corners))
    return Polygon(size / 2 * np.column_stack([np.cos(angles), np.sin(angles)]))


def _part(part: Part, mm: float, slack: float) -> Any:
    """A primitive before its turn."""
    match part:
        case Disc(_, size, (x, y), _):
            return affinity.translate(_disc(size * mm, slack), x * mm, y * mm)
        case Line(_, width, start, end, _):
            line = LineString([(x * mm, y * mm) for x, y in (start, end)])
            return _pushed(line.buffer(width * mm / 2, cap_style="flat"), slack)
        case Bar(_, width, height, (x, y), _):
            box = affinity.translate(_box(width * mm, height * mm), x * mm, y * mm)
            return _pushed(box, slack)
        case Loop(_, points, _):
            return _pushed(Polygon([(x * mm, y * mm) for x, y in points]), slack)
        case Corners(_, corners, size, (x, y), _):
            shape = affinity.translate(_corners(size * mm, corners, 0), x * mm, y * mm)
            return _pushed(shape, slack)
        case Thermal((x, y), outer, inner, slot, _):
            ring = _disc(outer * mm, slack).difference(_disc(inner * mm, -slack))
            wide, long = max(slot * mm - 2 * slack, 0), 2 * outer * mm
            cross = _box(long, wide).union(_box(wide, long))
            return affinity.translate(ring.difference(cross), x * mm, y * mm)


def _stroke(
    pen: Round | Rectangle, points: tuple[Place, ...], turned: Turned, mm: float, slack: float
) -> Any:
    path = [(x * mm, y * mm) for x, y in points]
    if isinstance(pen, Round):
        line = LineString(path) if len(set(path)) > 1 else Point(path[0])
        return _wide(line, pen.size * mm * turned.scale / 2 + slack)
    tip = _placed(_box(pen.width * mm, pen.height * mm), turned, (0, 0), mm)
    corners = shapely.get_coordinates(tip)
    swept = [
        MultiPoint(np.concatenate([corners + start, corners + end])).convex_hull
        for start, end in pairwise(path)
    ]
    return _pushed(shapely.union_all(swept), slack)


def _along(start: Place, bend: Bend, mm: float) -> list[tuple[float, float]]:
    """Points from start to end of a leg along a circle, some 0.05 um from it at most."""
    (x, y), (ex, ey), (cx, cy) = start, bend.end, bend.centre
    first, last = math.atan2(y - cy, x - cx), math.atan2(ey - cy, ex - cx)
    way = (first - last if bend.clockwise else last - first) % (2 * math.pi)
    if start == bend.end:
        way = 2 * math.pi
    radius = math.hypot(x - cx, y - cy)
    count = 2 + math.ceil(way * math.sqrt(radius * mm / 8 / 5e-5))
    turns = first + (-1 if bend.clockwise else 1) * np.linspace(0, way, count)
    inner = [
        ((cx + radius * math.cos(t)) * mm, (cy + radius * math.sin(t)) * mm) for t in turns[1:-1]
    ]
    return [(x * mm, y * mm), *inner, (ex * mm, ey * mm)]


def _area(area: Area, mm: float) -> Any:
    points = [(area.start[0] * mm, area.start[1] * mm)]
    at = area.start
    for leg in area.legs:
        if isinstance(leg, Bend):
            points += _along(at, leg, mm)[1:]
            at = leg.end
        else:
            points.append((leg[0] * mm, leg[1] * mm))
            at = leg
    # A contour with a cut-in runs there and back on one line, which holds no area.
    return shapely.make_valid(Polygon(points), method="structure", keep_collapsed=False)
