"""What another reader, gerbonara, makes of a Gerber file: its shapes, drawn finely with shapely.

Arcs have their corners on the curve and stay inside it by `SAGITTA` at most, so that areas come
out too small by less than that times the length of the boundary.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, Any

import gerbonara
import numpy as np
import shapely
from gerbonara import graphic_primitives as drawn
from gerbonara.apertures import PolygonAperture
from PIL import Image, ImageDraw
from shapely import LineString, Point, Polygon, affinity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

SAGITTA = 1e-4  # mm


def image(text: str, sagitta: float = SAGITTA) -> Any:
    """The copper of a layer in mm, all objects drawn in turn."""
    objects = _objects(text)
    copper: Any = Polygon()
    for dark, run in groupby(objects, key=lambda thing: bool(thing.polarity_dark)):
        shapes = shapely.union_all([_stamped(_turned(thing), sagitta) for thing in run])
        copper = copper.union(shapes) if dark else copper.difference(shapes)
    return copper


def painted(text: str, pixel: float) -> NDArray[np.bool_]:
    """The same copper on pixels, object painted over object: nothing is united or taken away.

    A pixel counts as copper where the edge of a dark object crosses it, so that islands come out
    up to a pixel larger all round.
    """
    drawn_as = [
        (bool(thing.polarity_dark), part)
        for thing in _objects(text)
        for part in shapely.get_parts(_stamped(_turned(thing), pixel / 10))
        if not part.is_empty
    ]
    left, bottom, right, top = shapely.total_bounds([part for _, part in drawn_as])
    size = (math.ceil((right - left) / pixel) + 3, math.ceil((top - bottom) / pixel) + 3)
    sheet = Image.new("1", size)
    for dark, part in drawn_as:
        x, y = (int(v // pixel) for v in (part.bounds[0] - left, part.bounds[1] - bottom))
        low = (left + x * pixel, bottom + y * pixel)
        width, height = (
            int((part.bounds[2] - low[0]) // pixel) + 2,
            int((part.bounds[3] - low[1]) // pixel) + 2,
        )
        mask = Image.new("1", (width, height))
        brush = ImageDraw.Draw(mask)
        for ring in shapely.get_rings(part):
            corners = ((shapely.get_coordinates(ring) - low) / pixel).tolist()
            outside = ring.equals(part.exterior)
            brush.polygon([tuple(corner) for corner in corners], fill=int(outside))
        sheet.paste(int(dark), (x + 1, y + 1), mask)
    return np.asarray(sheet)


def _objects(text: str) -> list[Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it remarks on what is old or odd
        return list(gerbonara.GerberFile.from_string(text).objects)


def _stamped(thing: Any, sagitta: float) -> Any:
    """One object; what of it has the other polarity is a hole in it and cuts nothing below."""
    shape: Any = Polygon()
    for one in thing.to_primitives("mm"):
        part = _shape(one, sagitta)
        if bool(one.polarity_dark) != bool(thing.polarity_dark):
            shape = shape.difference(part)
        else:
            shape = part if shape.is_empty else shape.union(part)
    return shape


def _turned(thing: Any) -> Any:
    """With a regular polygon turned by degrees, as the format says; it takes them for radians."""
    aperture = getattr(thing, "aperture", None)
    if isinstance(aperture, PolygonAperture):
        turned = replace(aperture, rotation=math.radians(aperture.rotation))
        return replace(thing, aperture=turned)
    return thing


def _shape(one: Any, sagitta: float) -> Any:
    match one:
        case drawn.Circle():
            return _wide(Point(one.x, one.y), one.r, sagitta)
        case drawn.Line():
            return _wide(LineString([(one.x1, one.y1), (one.x2, one.y2)]), one.width / 2, sagitta)
        case drawn.Arc():
            ends = (one.x1, one.y1), (one.x2, one.y2)
            path = [ends[0], *_arc(*ends, (one.cx, one.cy), one.clockwise, sagitta)]
            return _wide(LineString(path), one.width / 2, sagitta)
        case drawn.Rectangle():
            box = shapely.box(-one.w / 2, -one.h / 2, one.w / 2, one.h / 2)
            turned = affinity.rotate(box, one.rotation, origin=(0, 0), use_radians=True)
            return affinity.translate(turned, one.x, one.y)
        case drawn.ArcPoly():
            return _area(one.segments, sagitta)
    raise TypeError(f"{one} is drawn in a way not known here")


def _wide(line: Any, reach: float, sagitta: float) -> Any:
    quarter = max(4, math.ceil(math.pi / 4 / math.sqrt(2 * sagitta / max(reach, sagitta))))
    return line.buffer(reach, quad_segs=quarter) if reach > 0 else Polygon()


def _area(segments: Iterable[Any], sagitta: float) -> Any:
    points: list[Any] = []
    for start, end, (clockwise, centre) in segments:
        points = points or [start]
        points += [end] if clockwise is None else _arc(start, end, centre, clockwise, sagitta)
    if len(points) < 3:
        return Polygon()
    return shapely.make_valid(Polygon(points), method="structure", keep_collapsed=False)


def _arc(start: Any, end: Any, centre: Any, clockwise: bool, sagitta: float) -> list[Any]:
    """Points after the start of an arc, its end last."""
    (x, y), (ex, ey), (cx, cy) = start, end, centre
    first, last = math.atan2(y - cy, x - cx), math.atan2(ey - cy, ex - cx)
    way = (first - last if clockwise else last - first) % (2 * math.pi)
    if math.dist(start, end) < 1e-6:
        way = 2 * math.pi
    radius, end_radius = math.dist(start, centre), math.dist(end, centre)
    count = 1 + math.ceil(way / 2 / math.sqrt(2 * sagitta / max(radius, sagitta)))
    inner = []
    for part in (k / count for k in range(1, count)):
        turn, reach = first + part * (-way if clockwise else way), radius
        reach += part * (end_radius - radius)
        inner.append((cx + reach * math.cos(turn), cy + reach * math.sin(turn)))
    return [*inner, end]
