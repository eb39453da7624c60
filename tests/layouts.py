"""Random layouts of copper, a few millimetres wide: the same family and seed, the same islands.

``ordinary`` looks like a piece of a board. The others are made to trip a gap census: dots much
smaller than the cutter, combs, needles, copper inside copper, long wedges, and all of it at once.
Positions are often snapped to a grid, so that ties, collinear edges and contacts of two corners
occur as often as they do on drawn boards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, affinity, box

from checker.board import Board, CopperLayer, DrawnObjects, Kind

if TYPE_CHECKING:
    from checker.board import Shapes

NEAREST = 0.012
"""No two islands of a layout come nearer than this (mm)."""

Islands = tuple[Polygon, ...]


def layout(family: str, seed: int) -> Islands:
    """The islands of one layout: disjoint, valid, exteriors counter-clockwise."""
    rng = Random(f"{family} {seed}")
    return FAMILIES[family](rng).islands()


def objects_of(
    shapes: Iterable[Any] = (),
    spines: Iterable[Any] | None = None,
    pens: Iterable[float] | None = None,
) -> DrawnObjects:
    """Dark objects of unknown net and function; without spines they are regions."""
    column = list(shapes)
    n = len(column)
    shape: Shapes = np.empty(n, dtype=object)
    shape[:] = column
    spine: Shapes = np.empty(n, dtype=object)
    spine[:] = [None] * n if spines is None else list(spines)
    unknown = np.full(n, -1, dtype=np.int64)
    return DrawnObjects(
        shape=shape,
        spine=spine,
        pen=np.zeros(n) if pens is None else np.array(list(pens), dtype=float),
        dark=np.ones(n, dtype=bool),
        kind=np.full(n, Kind.POUR, dtype=np.int8),
        function=unknown,
        net=unknown,
        component=unknown,
        pin=unknown,
        line=np.arange(1, n + 1),
        names=(),
    )


def copper_layer(islands: Iterable[Polygon], side: str = "top") -> CopperLayer:
    """A layer of these islands, each a net of its own, with nothing said of what drew them."""
    column = list(islands)
    shapes: Shapes = np.empty(len(column), dtype=object)
    shapes[:] = [shapely.orient_polygons(island) for island in column]
    return CopperLayer(
        side=side,
        source=f"{side}.gbr",
        objects=objects_of(),
        islands=shapes,
        net=np.arange(len(column)),
        net_name=(None,) * len(column),
        island_of=np.zeros(0, dtype=np.int64),
    )


def board_of(*layers: Iterable[Polygon]) -> Board:
    """A board whose layers, from top to bottom, are these islands."""
    sides = ["top", *(f"inner {k}" for k in range(1, len(layers) - 1)), "bottom"]
    return Board(
        name="layout",
        sources=(),
        copper=tuple(copper_layer(layer, side) for layer, side in zip(layers, sides, strict=False)),
    )


class _Plan:
    """Copper placed so far; what would come too near to it is not placed."""

    def __init__(self, rng: Random, size: float, clearance: float) -> None:
        self.rng, self.size, self.clearance = rng, size, clearance
        self.placed: list[Any] = []

    def spot(self, grid: float = 0.05) -> tuple[float, float]:
        x, y = self.rng.uniform(0, self.size), self.rng.uniform(0, self.size)
        if self.rng.random() < 0.5:
            x, y = round(x / grid) * grid, round(y / grid) * grid
        return x, y

    def add(self, *shapes: Any) -> bool:
        """Place shapes as they stand, all of them or none."""
        group: list[Any] = []
        for shape in shapes:
            if not shape.is_valid or shape.geom_type != "Polygon":
                return False
            if any(shape.distance(other) < self.clearance for other in (*self.placed, *group)):
                return False
            group.append(shape)
        self.placed += group
        return True

    def drop(self, *shapes: Any, tries: int = 8) -> bool:
        """Place shapes drawn about the origin at the first free spot of a few."""
        for _ in range(tries):
            dx, dy = self.spot()
            if self.add(*(affinity.translate(shape, dx, dy) for shape in shapes)):
                return True
        return False

    def beside(self, shape: Any, gap: float) -> bool:
        """Push a shape, drawn about the origin, from some placed copper's side out to a gap."""
        if not self.placed:
            return self.drop(shape)
        near = self.rng.choice(self.placed)
        edge = near.exterior
        start = edge.interpolate(self.rng.uniform(0, edge.length))
        angle = self.rng.choice([k * math.pi / 4 for k in range(8)])
        if self.rng.random() < 0.5:
            angle = self.rng.uniform(0, 2 * math.pi)
        low, high = 0.0, 3.0
        for _ in range(30):
            step = (low + high) / 2
            moved = affinity.translate(
                shape, start.x + step * math.cos(angle), start.y + step * math.sin(angle)
            )
            low, high = (low, step) if moved.distance(near) >= gap else (step, high)
        return self.add(
            affinity.translate(
                shape, start.x + high * math.cos(angle), start.y + high * math.sin(angle)
            )
        )

    def islands(self) -> Islands:
        kept: list[Any] = []
        for shape in sorted(self.placed, key=lambda shape: -shape.area):
            if all(shape.distance(other) >= NEAREST for other in kept):
                kept.append(shape)
        return tuple(shapely.orient_polygons(shape) for shape in kept)


# Shapes about the origin


def _disc(radius: float, quad_segs: int = 8, turn: float = 0.0) -> Any:
    return affinity.rotate(Point(0, 0).buffer(radius, quad_segs=quad_segs), turn)


def _rectangle(width: float, height: float) -> Any:
    return box(-width / 2, -height / 2, width / 2, height / 2)


def _turned(rng: Random, shape: Any) -> Any:
    """By a quarter or an eighth mostly, sometimes by any angle."""
    angle = rng.choice([0.0, 0.0, 90.0, 45.0, rng.uniform(0, 360)])
    return affinity.rotate(shape, angle, origin=(0, 0))


def _pad(rng: Random) -> Any:
    kind = rng.randrange(4)
    if kind == 0:
        return _disc(rng.choice([0.25, 0.3, 0.4, rng.uniform(0.2, 0.6)]), rng.choice([4, 8, 12]))
    width, height = rng.uniform(0.25, 0.7), rng.uniform(0.3, 1.4)
    if kind == 1:
        return _turned(rng, _rectangle(width, height))
    if kind == 2:
        corner = 0.25 * min(width, height)
        core = _rectangle(width - 2 * corner, height - 2 * corner)
        return _turned(rng, core.buffer(corner, quad_segs=4))
    return _turned(rng, LineString([(0, 0), (0, height)]).buffer(width / 2, quad_segs=8))


def _track(rng: Random, legs: int) -> Any:
    """A polyline of 45 degree bends drawn with a round pen, some with a pad at the end."""
    heading = rng.randrange(8)
    points = [(0.0, 0.0)]
    for _ in range(legs):
        reach = rng.choice([0.4, 0.6, 0.8, rng.uniform(0.3, 1.5)])
        x, y = points[-1]
        angle = heading * math.pi / 4
        points.append((x + reach * math.cos(angle), y + reach * math.sin(angle)))
        heading += rng.choice([-1, 0, 1, 1, -2])
    pen = rng.choice([0.15, 0.2, 0.25, 0.3, 0.4])
    track = LineString(points).buffer(pen / 2, quad_segs=8)
    if rng.random() < 0.5:
        end = Point(points[-1]).buffer(rng.uniform(0.2, 0.45), quad_segs=8)
        track = track.union(end)
    return track


def _arc(radius: float, width: float, start: float, sweep: float, step: float = 8.0) -> Any:
    """A band along a circle about the origin, round ends, angles in degrees."""
    count = max(2, math.ceil(sweep / step))
    angles = np.radians(start + np.linspace(0, sweep, count + 1))
    path = np.column_stack([np.cos(angles), np.sin(angles)]) * radius
    return LineString(path).buffer(width / 2, quad_segs=6)


def _c_shape(rng: Random) -> Any:
    width = rng.uniform(0.15, 0.35)
    if rng.random() < 0.5:
        mouth = rng.uniform(30, 140)
        return _arc(rng.uniform(0.35, 0.8), width, rng.uniform(0, 360), 360 - mouth)
    a, b = rng.uniform(0.4, 1.2), rng.uniform(0.4, 1.2)
    bracket = LineString([(a, 0), (0, 0), (0, b), (rng.uniform(0.3, 1.0) * a, b)])
    return _turned(rng, bracket.buffer(width / 2, cap_style="flat", join_style="mitre"))


def _pad_row(rng: Random) -> list[Any]:
    pitch = rng.choice([0.4, 0.5, 0.65, 0.8])
    width = pitch * rng.uniform(0.5, 0.7)
    length = rng.uniform(0.5, 1.3)
    angle = rng.choice([0.0, 90.0, 45.0])
    row = [affinity.translate(_rectangle(width, length), k * pitch, 0) for k in range(4)]
    return [affinity.rotate(pad, angle, origin=(0, 0)) for pad in row]


def _corner_pair(rng: Random) -> list[Any]:
    """Two square corners facing each other across a diagonal, or slid along each other."""
    gap, side = rng.uniform(0.05, 0.25), rng.uniform(0.3, 0.7)
    slide = rng.choice([0.0, rng.uniform(-0.1, 0.1)])
    first = box(-side, -side, 0, 0)
    second = box(gap + slide, gap - slide, gap + slide + side, gap - slide + side)
    angle = rng.choice([0.0, 90.0, rng.uniform(0, 360)])
    return [affinity.rotate(square, angle, origin=(0, 0)) for square in (first, second)]


def _star(rng: Random) -> Any:
    """A star of sharp points, or a triangle with corners well below 90 degrees."""
    if rng.random() < 0.5:
        turn = rng.uniform(0, 360)
        angles = [turn, turn + rng.uniform(100, 160), turn + rng.uniform(190, 250)]
        radii = [rng.uniform(0.2, 0.9) for _ in angles]
    else:
        points = rng.randrange(3, 8)
        outer, inner = rng.uniform(0.25, 0.7), rng.uniform(0.08, 0.2)
        turn = rng.choice([0.0, rng.uniform(0, 360)])
        angles = [turn + k * 180 / points for k in range(2 * points)]
        radii = [outer if k % 2 else inner for k in range(2 * points)]
    return Polygon(
        [
            (r * math.cos(math.radians(a)), r * math.sin(math.radians(a)))
            for r, a in zip(radii, angles, strict=True)
        ]
    )


def _comb(rng: Random, teeth: int, pitch: float, tooth: float, length: float) -> Any:
    """Teeth upward from a spine at y = 0, some shorter than the others."""
    spine = rng.uniform(0.12, 0.3)
    comb = box(0, -spine, (teeth - 1) * pitch + tooth, 0)
    for k in range(teeth):
        tall = length * rng.choice([1.0, 1.0, rng.uniform(0.3, 1.0)])
        wide = tooth * rng.choice([1.0, 1.0, rng.uniform(0.6, 1.1)])
        x = k * pitch
        shape = rng.randrange(3)
        if shape == 0:
            one = box(x, -spine, x + wide, tall)
        elif shape == 1:
            one = Polygon([(x, -spine), (x + wide, -spine), (x + wide, tall), (x + wide / 2, tall)])
        else:
            one = LineString([(x + wide / 2, -spine / 2), (x + wide / 2, tall)]).buffer(wide / 2)
        comb = comb.union(one)
    return comb


# Families


def _ordinary(rng: Random) -> _Plan:
    plan = _Plan(rng, rng.uniform(2.0, 3.2), 0.04)
    for _ in range(rng.randrange(8, 18)):
        kind = rng.random()
        if kind < 0.30:
            plan.drop(_pad(rng))
        elif kind < 0.60:
            plan.drop(_track(rng, rng.randrange(1, 5)))
        elif kind < 0.72:
            plan.drop(_c_shape(rng))
        elif kind < 0.80:
            plan.drop(*_pad_row(rng))
        elif kind < 0.87:
            plan.drop(*_corner_pair(rng))
        else:
            plan.beside(_pad(rng), rng.choice([0.1, 0.15, 0.2, rng.uniform(0.06, 0.4)]))
    if rng.random() < 0.5:
        _pour(plan)
    return plan


def _pour(plan: _Plan) -> None:
    """Fill a part of the layout round what is placed; one pad may join through spokes."""
    rng = plan.rng
    clearance = rng.choice([0.15, 0.2, 0.25, rng.uniform(0.1, 0.35)])
    least = rng.uniform(0.06, 0.12)
    size = plan.size
    field = box(-0.4, -0.4, size * rng.choice([0.5, 0.7, 1.2]), size * rng.choice([0.6, 1.2]))
    others = shapely.union_all(plan.placed)
    fill = field.difference(others.buffer(clearance, quad_segs=8))
    fill = fill.buffer(-least, quad_segs=6).buffer(least, quad_segs=6)
    pieces = [piece for piece in shapely.get_parts(fill) if piece.area > 0.05]
    joined: list[Any] = []
    for pad in list(plan.placed):
        if joined or pad.interiors or pad.area > 0.9 or rng.random() < 0.5:
            continue
        width = rng.uniform(0.15, 0.3)
        x, y = pad.centroid.x, pad.centroid.y
        arm = 0.5 * max(pad.bounds[2] - pad.bounds[0], pad.bounds[3] - pad.bounds[1])
        arm += clearance + 0.1
        spokes = [box(x - arm, y - width / 2, x + arm, y + width / 2)]
        spokes.append(affinity.rotate(spokes[0], 90))
        rest = [shape for shape in plan.placed if shape is not pad]
        free = [s for s in spokes if all(s.distance(shape) > 0.08 for shape in rest)]
        whole = shapely.union_all([pad, *free, *pieces])
        if free and len(shapely.get_parts(whole)) <= len(pieces):
            plan.placed = rest
            joined = [pad]
            pieces = [piece for piece in shapely.get_parts(whole) if piece.area > 0.05]
    plan.placed += pieces


def _dots(rng: Random) -> _Plan:
    plan = _Plan(rng, rng.uniform(0.7, 1.7), NEAREST)
    for _ in range(rng.randrange(8, 31)):
        radius = rng.uniform(0.02, 0.12)
        if rng.random() < 0.8:
            dot = _disc(radius, rng.choice([2, 4, 8]), rng.choice([0.0, rng.uniform(0, 90)]))
        else:
            dot = _turned(rng, _rectangle(2 * radius, 2 * radius * rng.uniform(0.5, 1)))
        if rng.random() < 0.6:
            plan.drop(dot)
        else:
            plan.beside(dot, rng.uniform(0.03, 0.3))
    if rng.random() < 0.4:
        plan.drop(_track(rng, 2))
    return plan


def _combs(rng: Random) -> _Plan:
    plan = _Plan(rng, 2.4, 0.02)
    tooth = rng.uniform(0.1, 0.3)
    gap = rng.uniform(0.06, 0.4)
    pitch = 2 * (tooth + gap) if rng.random() < 0.7 else tooth + gap
    teeth, length = rng.randrange(2, 5), rng.uniform(0.4, 1.2)
    plan.add(_comb(rng, teeth, pitch, tooth, length))
    other = affinity.rotate(_comb(rng, teeth, pitch, tooth, length), 180, origin=(0, 0))
    shift = rng.choice([pitch / 2, pitch / 2 + rng.uniform(-gap, gap) / 2, rng.uniform(0, pitch)])
    for depth in (rng.uniform(0.05, 0.5), 0.6, 1.0, 1.6):
        moved = affinity.translate(other, (teeth - 1) * pitch + tooth + shift, length + depth)
        if plan.add(moved):
            break
    for _ in range(rng.randrange(3, 9)):
        if rng.random() < 0.5:
            plan.beside(_disc(rng.uniform(0.05, 0.2), 6), rng.uniform(0.04, 0.3))
        else:
            plan.drop(_turned(rng, _comb(rng, rng.randrange(2, 4), pitch, tooth, 0.5)), tries=4)
    return plan


def _stars(rng: Random) -> _Plan:
    plan = _Plan(rng, rng.uniform(1.6, 2.6), 0.015)
    for _ in range(rng.randrange(6, 15)):
        if rng.random() < 0.5:
            plan.drop(_star(rng))
        else:
            plan.beside(_star(rng), rng.uniform(0.02, 0.25))
    return plan


def _rings(rng: Random) -> _Plan:
    """Rings, whole or open, with dots, pads and smaller rings inside, some exactly centred."""
    plan = _Plan(rng, 2.2, 0.015)
    for _ in range(rng.randrange(1, 4)):
        x, y = plan.spot()
        radius, width = rng.uniform(0.4, 0.9), rng.uniform(0.1, 0.25)
        segs = rng.choice([4, 8, 16])
        if rng.random() < 0.6:
            outer = _disc(radius + width / 2, segs)
            ring = outer.difference(_disc(radius - width / 2, segs))
            if rng.random() < 0.3:
                ring = _rectangle(2 * radius + width, 2 * radius).difference(
                    _rectangle(2 * radius - width, 2 * radius - 2 * width)
                )
        else:
            ring = _arc(radius, width, rng.uniform(0, 360), rng.uniform(200, 340))
        if not plan.add(affinity.translate(ring, x, y)):
            continue
        room = radius - width / 2
        if rng.random() < 0.4:
            core = _disc(room * rng.uniform(0.3, 0.85), segs)
            plan.add(affinity.translate(core, x, y))
        for _ in range(rng.randrange(0, 7)):
            size = rng.uniform(0.03, 0.25)
            inner = rng.choice([_disc(size, 6), _rectangle(size, 1.5 * size), _star(rng)])
            far, angle = rng.uniform(0, room), rng.uniform(0, 2 * math.pi)
            plan.add(
                affinity.translate(inner, x + far * math.cos(angle), y + far * math.sin(angle))
            )
    for _ in range(rng.randrange(2, 6)):
        plan.beside(
            rng.choice([_disc(rng.uniform(0.04, 0.2), 6), _pad(rng)]), rng.uniform(0.03, 0.3)
        )
    return plan


def _wedges(rng: Random) -> _Plan:
    """Long gaps that widen slowly, follow an arc, or are waved: the neck has no clear middle."""
    plan = _Plan(rng, 2.2, 0.015)
    for _ in range(rng.randrange(2, 5)):
        gap, length = rng.uniform(0.05, 0.3), rng.uniform(0.6, 1.8)
        kind = rng.randrange(3)
        if kind == 0:
            tilt = rng.uniform(-8, 8)
            first = box(0, -0.2, length, 0)
            second = affinity.rotate(box(0, gap, length, gap + 0.2), tilt)
        elif kind == 1:
            radius, sweep = rng.uniform(0.4, 1.2), rng.uniform(20, 200)
            first = _arc(radius, 0.2, 0, sweep, 5)
            second = affinity.translate(
                _arc(radius + 0.2 + gap, 0.2, 0, sweep, 7), rng.uniform(0, 0.05), 0
            )
        else:
            along = np.linspace(0, length, rng.randrange(8, 40))
            wave = rng.uniform(0.01, 0.1) * np.sin(along * rng.uniform(5, 25))
            line = np.column_stack([along, gap + wave])
            first = box(0, -0.2, length, 0)
            second = Polygon([*map(tuple, line), (length, gap + 0.4), (0, gap + 0.4)])
        turn = rng.choice([0.0, 45.0, rng.uniform(0, 360)])
        plan.drop(*(affinity.rotate(shape, turn, origin=(0, 0)) for shape in (first, second)))
    for _ in range(rng.randrange(2, 6)):
        plan.beside(_disc(rng.uniform(0.05, 0.3), 8), rng.uniform(0.05, 0.3))
    return plan


def _mixed(rng: Random) -> _Plan:
    plan = _Plan(rng, rng.uniform(1.2, 2.2), NEAREST)
    makers: list[Callable[[Random], Any]] = [
        _pad,
        _star,
        _c_shape,
        lambda rng: _track(rng, rng.randrange(1, 4)),
        lambda rng: _disc(rng.uniform(0.02, 0.2), rng.choice([2, 6])),
        lambda rng: _turned(rng, _comb(rng, 3, rng.uniform(0.2, 0.5), 0.1, rng.uniform(0.2, 0.6))),
    ]
    for _ in range(rng.randrange(12, 28)):
        shape = rng.choice(makers)(rng)
        if rng.random() < 0.4:
            plan.drop(shape)
        else:
            plan.beside(shape, rng.choice([0.05, 0.1, rng.uniform(0.02, 0.3)]))
    return plan


def _webs(rng: Random) -> _Plan:
    """A few islands, each of pads, tracks and brackets laid over each other, full of necks."""
    plan = _Plan(rng, rng.uniform(2.0, 3.0), 0.02)
    makers: list[Callable[[Random], Any]] = [
        _pad,
        _c_shape,
        lambda rng: _track(rng, rng.randrange(1, 5)),
        lambda rng: _disc(rng.uniform(0.1, 0.4), 8),
    ]
    for _ in range(rng.randrange(2, 5)):
        shapes = [
            affinity.translate(rng.choice(makers)(rng), *plan.spot())
            for _ in range(rng.randrange(4, 14))
        ]
        for web in sorted(shapely.get_parts(shapely.union_all(shapes)), key=lambda web: -web.area):
            plan.add(web)
    return plan


def _pours(rng: Random) -> _Plan:
    """A pour full of clearances, some with a pad inside, that leave webs of any width between."""
    plan = _Plan(rng, rng.uniform(2.2, 3.2), 0.02)
    fill: Any = box(-0.5, -0.5, plan.size + 0.5, plan.size + 0.5)
    clearance = rng.choice([0.15, 0.2, rng.uniform(0.08, 0.3)])
    spokes: list[Any] = []
    for _ in range(rng.randrange(6, 16)):
        pad = affinity.translate(_pad(rng) if rng.random() < 0.8 else _track(rng, 2), *plan.spot())
        hole = pad.buffer(clearance, quad_segs=8)
        if any(hole.distance(other) < 0.01 for other in plan.placed):
            continue
        fill = fill.difference(hole)
        choice = rng.random()
        if choice < 0.3:
            width, reach = rng.uniform(0.1, 0.3), 1.0 + clearance
            arms = [box(-reach, -width / 2, reach, width / 2), box(-width / 2, 0, width / 2, reach)]
            turned = [affinity.rotate(arm, 45 * rng.randrange(2), origin=(0, 0)) for arm in arms]
            x, y = pad.centroid.x, pad.centroid.y
            ring = hole.buffer(0.05)
            spokes += [pad, *(affinity.translate(arm, x, y).intersection(ring) for arm in turned)]
        elif choice < 0.7:
            plan.placed.append(pad)
    apart = shapely.union_all(plan.placed).buffer(0.8 * clearance)
    pour = shapely.union_all([fill, *spokes]).difference(apart)
    pour = pour.buffer(-0.012, quad_segs=4).buffer(0.012, quad_segs=4)
    plan.placed += [piece for piece in shapely.get_parts(pour) if piece.area > 0.03]
    return plan


FAMILIES: dict[str, Callable[[Random], _Plan]] = {
    "ordinary": _ordinary,
    "dots": _dots,
    "combs": _combs,
    "stars": _stars,
    "rings": _rings,
    "wedges": _wedges,
    "webs": _webs,
    "pours": _pours,
    "mixed": _mixed,
}
ADVERSARIAL = tuple(family for family in FAMILIES if family != "ordinary")
