"""The shape an aperture leaves when it is flashed at the origin.

Holes and exposure are composed inside the aperture: a hole in a pad never cuts what lies below.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker.read.crossings import crossings, is_crowded
from checker.read.gerber.curves import chords, circle, obround
from checker.read.gerber.drawing import cos_sin
from checker.read.gerber.units import check_size
from checker.read.gerber.words import StatementError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from checker.board import Floats
    from checker.read.gerber.apertures import Aperture
    from checker.read.gerber.macro import Primitive

NOTHING = shapely.Polygon()

# Corners of all primitives of one macro together.
_MOST_CORNERS = 100_000
# Crossings of one outline of a macro with itself.
_MOST_CROSSINGS = 10_000


def stamp(aperture: Aperture, scale: float) -> tuple[Any, int]:
    """Polygon or MultiPolygon in mm, empty where nothing is drawn, and the corners it took.

    Raises:
        StatementError: a macro primitive that cannot be made.
    """
    sizes = [size * scale for size in aperture.sizes]
    match aperture.shape:
        case "C":
            shape = disc(sizes[0])
        case "R":
            shape = rectangle(sizes[0], sizes[1])
        case "O":
            shape = polygon(obround(sizes[0], sizes[1]))
        case "P":
            shape = regular(sizes[0], int(aperture.sizes[1]), aperture.sizes[2])
        case _:
            if aperture.composed is not None and scale == 1:
                return aperture.composed
            return compose(aperture.primitives, aperture.unit * scale)
    hole = [size * scale for size in aperture.hole]
    if hole:
        cut = disc(hole[0]) if len(hole) == 1 else rectangle(hole[0], hole[1])
        shape = areas(shapely.difference(shape, cut))
    return shape, int(shapely.get_num_coordinates(shape))


def polygon(corners: Floats) -> Any:
    """A polygon of (n, 2) corners, empty where they enclose nothing."""
    if len(corners) < 3:
        return NOTHING
    return areas(shapely.polygons(corners))


def areas(shape: Any) -> Any:
    """What of a geometry has an area, made valid: Polygon or MultiPolygon."""
    if not shapely.is_valid(shape):
        shape = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape if shape.area > 0 else NOTHING
    parts = [part for part in shapely.get_parts(shape) if part.area > 0]
    return shapely.union_all(parts) if parts else NOTHING


def disc(diameter: float) -> Any:
    """A disc about the origin."""
    return polygon(circle(diameter / 2)) if diameter > 0 else NOTHING


def rectangle(width: float, height: float) -> Any:
    """A rectangle about the origin."""
    if width <= 0 or height <= 0:
        return NOTHING
    return shapely.box(-width / 2, -height / 2, width / 2, height / 2)


def regular(diameter: float, corners: int, degrees: float) -> Any:
    """A regular polygon about the origin, its first corner at ``degrees`` from the x axis."""
    if diameter <= 0:
        return NOTHING
    turn = math.radians(degrees) + np.arange(corners) * (2 * math.pi / corners)
    return polygon(diameter / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1))


# Macro primitives, parameters after the exposure in the order of the format


def compose(primitives: Sequence[Primitive], unit: float) -> tuple[Any, int]:
    """A macro in mm: primitives drawn one on the other, exposure 0 clears what the earlier drew.

    Returns the shape and the corners it took to make.

    Raises:
        StatementError: a primitive that cannot be made.
    """
    image = NOTHING
    run: list[Any] = []
    running = 1.0
    corners = 0
    for code, values in primitives:
        exposure, shape = _primitive(code, values, unit)
        corners += int(shapely.get_num_coordinates(shape))
        _check_corners(corners)
        if exposure == 2:  # withdrawn: turn the exposure over
            exposure = 1 - running
        if exposure != running:
            image, run, running = _apply(image, run, running), [], exposure
        run.append(shape)
    return _apply(image, run, running), corners


def _check_corners(corners: float) -> None:
    if corners > _MOST_CORNERS:
        raise StatementError("macro expands without bound", f"{_MOST_CORNERS} corners at most")


def _apply(image: Any, run: list[Any], exposure: float) -> Any:
    if not run:
        return image
    drawn = run[0] if len(run) == 1 else shapely.union_all(run)
    if exposure and image.is_empty:
        return areas(drawn)
    return areas(shapely.union(image, drawn) if exposure else shapely.difference(image, drawn))


def _primitive(code: int, values: tuple[float, ...], unit: float) -> tuple[float, Any]:
    """Exposure and shape of one primitive."""
    if code not in _PRIMITIVES:
        raise StatementError(
            f"macro primitive {code}", "1, 4, 5, 7, 20 or 21 (or the older 2, 6, 22)"
        )
    name, exposed, make, least = _PRIMITIVES[code]
    if len(values) < least:
        raise StatementError(f"macro {name} with {len(values)} parameters", f"at least {least}")
    exposure = values[0] if exposed else 1.0
    if exposure not in (0, 1, 2):
        raise StatementError(f"exposure {exposure:g} of a macro {name}", "0 or 1")
    return exposure, make(values[1:] if exposed else values, unit)


def _rotated(shape: Any, values: Sequence[float], index: int) -> Any:
    """Turn about the origin of the macro by the last parameter, which may be left out."""
    degrees = values[index] if len(values) > index else 0.0
    if degrees % 360 == 0:
        return shape
    c, s = cos_sin(degrees % 360)
    return shapely.transform(shape, lambda xy: xy @ np.array([[c, s], [-s, c]]))


def _at(shape: Any, x: float, y: float, unit: float) -> Any:
    shift = np.array([x * unit, y * unit])
    if np.abs(shift).max() > 0:
        check_size(float(np.abs(shift).max()), "offset in a macro")
        return shapely.transform(shape, lambda xy: xy + shift)
    return shape


def _size(value: float, unit: float) -> float:
    return check_size(value * unit, "primitive of a macro")


def _circle(v: Sequence[float], unit: float) -> Any:
    diameter, x, y = v[:3]
    degrees = v[3] if len(v) > 3 else 0.0
    c, s = cos_sin(degrees % 360)
    return _at(disc(_size(diameter, unit)), c * x - s * y, s * x + c * y, unit)


def _vector_line(v: Sequence[float], unit: float) -> Any:
    width = _size(v[0], unit)
    start, end = np.array(v[1:3]) * unit, np.array(v[3:5]) * unit
    length = _size(float(np.hypot(*(end - start))) / unit, unit)
    if not length or not width:
        return NOTHING
    across = np.array([start[1] - end[1], end[0] - start[0]]) * (width / 2 / length)
    corners = np.array([start - across, end - across, end + across, start + across])
    return _rotated(polygon(corners), v, 5)


def _centre_line(v: Sequence[float], unit: float) -> Any:
    width, height, x, y = v[:4]
    return _rotated(_at(rectangle(_size(width, unit), _size(height, unit)), x, y, unit), v, 4)


def _lower_left_line(v: Sequence[float], unit: float) -> Any:
    width, height, x, y = v[:4]
    box = rectangle(_size(width, unit), _size(height, unit))
    return _rotated(_at(box, x + width / 2, y + height / 2, unit), v, 4)


def _outline(v: Sequence[float], unit: float) -> Any:
    corners = v[0]
    if corners != round(corners) or corners < 1 or len(v) < 3 + 2 * corners:
        raise StatementError(
            f"macro outline of {corners:g} corners with {(len(v) - 1) // 2} points",
            "one point more than corners",
        )
    n = int(corners) + 1
    points = np.array(v[1 : 1 + 2 * n]).reshape(n, 2) * unit
    check_size(float(np.abs(points).max()), "outline of a macro")
    if is_crowded(points) and crossings(shapely.linestrings(points)) > _MOST_CROSSINGS:
        raise StatementError(
            "macro outline that crosses itself without bound",
            f"{_MOST_CROSSINGS} crossings at most",
        )
    return _rotated(polygon(points), v, 1 + 2 * n)


def _polygon(v: Sequence[float], unit: float) -> Any:
    corners, x, y, diameter = v[:4]
    if corners != round(corners) or not 3 <= corners <= 1000:
        raise StatementError(f"macro polygon of {corners:g} corners", "a whole number from 3")
    shape = regular(_size(diameter, unit), int(corners), 0.0)
    return _rotated(_at(shape, x, y, unit), v, 4)


def _moire(v: Sequence[float], unit: float) -> Any:
    x, y, diameter, thickness, gap, rings, cross, length = v[:8]
    outer = _size(diameter, unit)
    step = 2 * (_size(thickness, unit) + _size(gap, unit))
    _check_corners(rings * 2 * chords(outer / 2))
    shapes = [
        rectangle(_size(length, unit), _size(cross, unit)),
        rectangle(_size(cross, unit), _size(length, unit)),
    ]
    for _ in range(int(rings)):
        if outer <= 0:
            break
        inner = outer - 2 * thickness * unit
        shapes.append(shapely.difference(disc(outer), disc(inner)) if inner > 0 else disc(outer))
        outer -= step
    return _rotated(_at(shapely.union_all(shapes), x, y, unit), v, 8)


def _thermal(v: Sequence[float], unit: float) -> Any:
    x, y, outer, inner, gap = v[:5]
    outer, inner, gap = _size(outer, unit), _size(inner, unit), _size(gap, unit)
    ring = shapely.difference(disc(outer), disc(inner))
    cross = shapely.union(rectangle(2 * outer, gap), rectangle(gap, 2 * outer))
    return _rotated(_at(shapely.difference(ring, cross), x, y, unit), v, 5)


# Code: name, whether it has an exposure, how to make it, least number of parameters.
_PRIMITIVES: dict[int, tuple[str, bool, Callable[[Sequence[float], float], Any], int]] = {
    1: ("circle", True, _circle, 4),
    2: ("vector line", True, _vector_line, 6),
    20: ("vector line", True, _vector_line, 6),
    21: ("centre line", True, _centre_line, 5),
    22: ("lower left line", True, _lower_left_line, 5),
    4: ("outline", True, _outline, 6),
    5: ("polygon", True, _polygon, 5),
    6: ("moire", False, _moire, 8),
    7: ("thermal", False, _thermal, 5),
}
