"""The board's edge as a cutter sees it: its runs, and what a cutter of some diameter can't clear.

A cutter of diameter D clears the void round the boards and inside their cut-outs as far as a disk
of that diameter reaches: the rest of the void stays. What stays is a rounded inside corner, a notch
or cut-out that the cutter does not enter, or the gap of two boards that is narrower than it.
"""

from __future__ import annotations

import math
from enum import IntEnum
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely
from msgspec import Struct

from checker.exact import tie
from checker.measure.boundary.minima import double_normals, screen
from checker.measure.boundary.segments import Segments
from checker.measure.holes.paths import paths_of
from checker.measure.plane import dot

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints, Shapes

ERROR = 0.003
"""Bound in mm on the error of a width or of what stays: chords of arcs, drawn and swept."""

STEP = np.radians(30)
"""Turns below this between chords of like length belong to one arc, others are corners."""

ROUGH = 1.0
"""What the edge strays from a side by less than this (mm) belongs to the side."""

_STRAIGHT = np.radians(0.2)  # turns of rounded coordinates
_ALIKE = 4.0  # chords of one arc differ in length by no more than this factor
_FACING = np.radians(150)  # two turns together that make walls face each other
_QUARTER = 48  # segments of a quarter circle: a cutter's disk within 0.02 % of its radius
_LEAST_AREA = 1e-4  # mm2: less is arithmetic
_TOUCH = 2e-3  # mm
_FILM = 2e-5  # mm: what is no thicker is arithmetic
_FINE = 0.001  # mm: how near the widest disk in a cut-out is found


class Waste(IntEnum):
    """What kind of place a cutter does not clear."""

    CORNER = 0
    NARROW = 1  # a notch, slot or cut-out
    BETWEEN = 2  # two boards of a panel


class Wastes(Struct, frozen=True, eq=False):
    """Places that a cutter does not clear; columns of length n.

    Attributes:
        kind: (n,) values of `Waste`.
        at: (n, 2) the corner as drawn, or the middle of the narrowest place.
        stays: (n,) for a corner, mm from there to the cutter; else what the width lacks.
        width: (n,) width of a narrow place in mm, nan for a corner.
        angle: (n,) opening of a corner in degrees, nan elsewhere.
        radius: (n,) drawn radius of a corner in mm, 0 where it is sharp, nan elsewhere.
        closed: (n,) True inside a cut-out, False at the outer edge.
    """

    kind: NDArray[np.int8]
    at: Floats
    stays: Floats
    width: Floats
    angle: Floats
    radius: Floats
    closed: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.kind)


class Contour(Struct, frozen=True, eq=False, dict=True):
    """The edge in runs: straight stretches and arcs.

    Attributes:
        area: the material.
        boards: (m,) its Polygons.
        segments: the edge, material on the left.
        turn: (n,) angle in radians by which the edge turns at each start point, negative where
            the material is hollow.
        smooth: (n,) True where a segment goes on the run of the one before it.
        run: (n,) number of the run of each segment.
    """

    area: Any
    boards: Shapes
    segments: Segments
    turn: Floats
    smooth: NDArray[np.bool_]
    run: Ints

    @cached_property
    def lines(self) -> Any:
        """The edge as one MultiLineString or LinearRing."""
        return shapely.boundary(self.area)

    @cached_property
    def corners(self) -> Floats:
        """(k, 2) where two runs meet at a turn of at least `STEP`."""
        corners: Floats = self.segments.a[np.abs(self.turn) > STEP]
        return corners

    @cached_property
    def side(self) -> Ints:
        """(n,) number of the side of each segment.

        Sides are those of the edge with what is less than `ROUGH` smoothed away, so that a ragged
        or a curved edge has sides too.
        """
        sides, count = np.zeros(len(self.segments), np.int64), 0
        for ring in np.unique(self.segments.ring):
            rows = np.flatnonzero(self.segments.ring == ring)
            points = self.segments.a[rows]
            # A point far from the middle is a corner, wherever the ring was begun.
            rows = np.roll(rows, -int(np.argmax(np.hypot(*(points - points.mean(0)).T))))
            points = self.segments.a[np.append(rows, rows[0])]
            coarse = shapely.get_coordinates(
                shapely.simplify(shapely.linestrings(points), ROUGH, preserve_topology=False)
            )
            kept = {(x, y) for x, y in coarse.tolist()}
            starts = np.array([(x, y) in kept for x, y in points[:-1].tolist()])
            sides[rows] = count + np.cumsum(starts)
            count += int(starts.sum())
        return sides

    def drawn(self, row: int) -> tuple[float, float]:
        """Opening in degrees and radius in mm of the inside corner at a segment's start."""
        segments = self.segments
        if not self.smooth[row]:
            return float(180 - np.degrees(abs(self.turn[row]))), 0.0
        run = np.flatnonzero(self.run == self.run[row])
        ends = np.union1d(run, segments.next[run])
        ends = ends[(self.turn[ends] < 0) & (self.turn[ends] > -STEP)]
        chord = (segments.length[row] + segments.length[segments.prev[row]]) / 2
        radius = chord / (2 * np.sin(abs(self.turn[row]) / 2))
        return float(180 - np.degrees(np.abs(self.turn[ends]).sum())), float(radius)


@lru_cache(maxsize=1)
def contour_of(board: Board) -> Contour | None:
    """The edge of a board, None where the files give none."""
    if board.outline is None:
        return None
    area = board.outline.area
    boards = shapely.get_parts(area)
    segments = Segments.of(boards)
    before = segments.direction[segments.prev]
    turn = np.arctan2(segments.turn, dot(before, segments.direction))
    one, other = segments.length, segments.length[segments.prev]
    alike = np.maximum(one, other) <= _ALIKE * np.minimum(one, other)
    smooth = (np.abs(turn) <= _STRAIGHT) | (alike & (np.abs(turn) <= STEP))
    return Contour(area, boards, segments, turn, smooth, _runs(segments, smooth))


def _runs(segments: Segments, smooth: NDArray[np.bool_]) -> Ints:
    """(n,) number of the run of each segment; a run goes on over the start of its ring."""
    starts = ~smooth
    first = np.flatnonzero(np.diff(segments.ring, prepend=-1))
    starts_ring = np.zeros(len(segments), bool)
    starts_ring[first] = True
    run = np.cumsum(starts | starts_ring) - 1
    last = segments.prev[first]
    joined = smooth[first] & (run[last] != run[first])
    names = np.arange(len(segments) and int(run[-1]) + 1)
    names[run[first[joined]]] = run[last[joined]]
    found: Ints = names[run]
    return found


def crossings_of(board: Board) -> tuple[tuple[float, float], ...]:
    """Where the profile meets itself, and where rings of the edge touch, each place once."""
    told = list(board.crossed_edge)
    contour = contour_of(board)
    if contour is None:
        return tuple(told)
    rings = shapely.get_rings(contour.boards)
    one, other = shapely.STRtree(rings).query(rings, "intersects")
    met = shapely.intersection(rings[one[one < other]], rings[other[one < other]])
    for x, y in np.unique(shapely.get_coordinates(met), axis=0).tolist():
        if not any(math.dist((x, y), place) <= _TOUCH for place in told):
            told.append((x, y))
    return tuple(told)


@lru_cache(maxsize=4)
def wastes_of(board: Board, diameter: float) -> Wastes:
    """What a cutter of a diameter (mm) leaves where the void should be; none without an edge."""
    contour = contour_of(board)
    if contour is None:
        return _table([])
    slack = tie(board)  # a notch as wide as the cutter is open, by whatever it was drawn
    radius = (diameter - slack) / 2
    grown = shapely.buffer(contour.area, radius, quad_segs=_QUARTER)
    closed = shapely.buffer(grown, -radius, quad_segs=_QUARTER)
    left = shapely.difference(closed, contour.area)
    # Rounding leaves films along the edge, which would hang the corners at their ends together.
    pieces = _areas(shapely.buffer(shapely.buffer(left, -_FILM / 2), _FILM / 2))
    if len(pieces):
        pieces = _areas(shapely.difference(shapely.union_all(pieces), _holes_at(board, pieces)))
    narrow, hollow = _narrow_places(contour, 2 * radius), _hollow(contour, grown, radius)
    hollow.depth[:] *= diameter / (2 * radius)  # what stays in a sharp corner grows in proportion
    return _table(
        [
            _judge(contour, piece, diameter, narrow.take(near), hollow.take(corners))
            for piece, near, corners in zip(
                pieces, _held(narrow.at, pieces), _held(hollow.at, pieces), strict=True
            )
        ]
    )


def _areas(shape: Any) -> Shapes:
    """The parts of a shape that have an area worth speaking of."""
    parts = shapely.get_parts(shape)
    kept: Shapes = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > _LEAST_AREA)]
    return kept


def _held(points: Floats, pieces: Shapes) -> list[Ints]:
    """The rows of the points that lie in or on each piece."""
    piece, point = shapely.STRtree(shapely.points(points)).query(pieces, "dwithin", distance=_TOUCH)
    order = np.argsort(piece, kind="stable")
    ends = np.searchsorted(piece[order], np.arange(len(pieces)), side="right")
    return np.split(point[order], ends)[:-1]


class _Row(NamedTuple):
    """A row of `Wastes`."""

    kind: int
    at: Floats
    stays: float
    width: float = np.nan
    angle: float = np.nan
    radius: float = np.nan
    closed: bool = False


class _Narrow(NamedTuple):
    """Places of the void narrower than a cutter; columns of length n."""

    at: Floats
    width: Floats
    between: NDArray[np.bool_]

    def take(self, rows: Ints) -> _Narrow:
        return _Narrow(self.at[rows], self.width[rows], self.between[rows])


class _Hollow(NamedTuple):
    """Points where the edge turns into the material; columns of length n.

    ``row`` is that of the segment which starts there, ``depth`` the distance in mm to a cutter.
    """

    at: Floats
    row: Ints
    depth: Floats

    def take(self, rows: Ints) -> _Hollow:
        return _Hollow(self.at[rows], self.row[rows], self.depth[rows])


def _holes_at(board: Board, pieces: Shapes) -> Any:
    """Holes at the pieces: what is drilled or milled as a hole is cleared."""
    paths = paths_of(board.holes)
    radii = np.array([hole.diameter / 2 + _TOUCH for hole in board.holes])
    near = np.unique(shapely.STRtree(pieces).query(paths, "dwithin", distance=radii)[0])
    return shapely.union_all(shapely.buffer(paths[near], radii[near], quad_segs=_QUARTER))


def _narrow_places(contour: Contour, diameter: float) -> _Narrow:
    """Where the void is narrower than a cutter, and whether it is so between two boards."""
    margin = 3 * diameter
    x0, y0, x1, y1 = contour.area.bounds
    room = shapely.box(x0 - margin, y0 - margin, x1 + margin, y1 + margin)
    void = Segments.of(shapely.get_parts(shapely.difference(room, contour.area)))
    found = double_normals(void, diameter, inside=True)
    found = found.take(screen(void, found, ERROR / 2))
    board = shapely.STRtree(contour.boards)
    owner = [board.nearest(shapely.points(point)) for point in (found.a, found.b)]
    return _Narrow(found.middle, found.distance, owner[0] != owner[1])


def _hollow(contour: Contour, grown: Any, radius: float) -> _Hollow:
    """The inside corners and the points of inside arcs; ``grown`` keeps off by the radius."""
    rows = np.flatnonzero(contour.turn < -_STRAIGHT)
    at = contour.segments.a[rows]
    rim = shapely.get_parts(shapely.boundary(grown))
    _, far = shapely.STRtree(_single(rim)).query_nearest(
        shapely.points(at), return_distance=True, all_matches=False
    )
    return _Hollow(at, rows, far - radius)


def _single(rings: Shapes) -> Shapes:
    """Lines of two points each: many small boxes make a quick tree."""
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    lines: Shapes = shapely.linestrings(np.stack([points[:-1][same], points[1:][same]], 1))
    return lines


def _judge(
    contour: Contour, piece: Any, diameter: float, narrow: _Narrow, hollow: _Hollow
) -> _Row | None:
    """What kind of place a piece is that the cutter leaves, None where it is none."""
    window = _window(contour, piece)
    closed = window is not None
    if len(narrow.at):
        narrow = narrow.take(np.flatnonzero(narrow.width <= narrow.width.min() + ERROR))
        row = _central(narrow.at)
        width = float(narrow.width[row])
        kind = Waste.BETWEEN if narrow.between[row] else Waste.NARROW
        return _Row(kind, narrow.at[row], diameter - width, width, closed=closed)
    if window is not None and shapely.area(window) - shapely.area(piece) < _LEAST_AREA:
        disk = shapely.maximum_inscribed_circle(window, tolerance=_FINE)
        at, width = shapely.get_coordinates(disk)[0], 2 * float(shapely.length(disk))
        return _Row(Waste.NARROW, at, diameter - width, width, closed=True)
    if not len(hollow.at) or hollow.depth.max() < ERROR:
        return None
    deepest = hollow.take(np.flatnonzero(hollow.depth >= hollow.depth.max() - ERROR))
    best = _central(deepest.at)
    at, stays = deepest.at[best], float(deepest.depth[best])
    angle, radius = contour.drawn(int(deepest.row[best]))
    bottom = _bottom(contour, int(deepest.row[best]), hollow.row)
    if bottom is not None:
        width = float(np.hypot(*(bottom - at)))
        return _Row(Waste.NARROW, (at + bottom) / 2, diameter - width, width, closed=closed)
    return _Row(Waste.CORNER, at, stays, angle=angle, radius=radius, closed=closed)


def _bottom(contour: Contour, row: int, others: Ints) -> Floats | None:
    """The other corner at the bottom of a notch that is shallow or whose walls part a little.

    One run of the edge joins the two corners. The cutter, which leaves something in both at once,
    does not reach the bottom between them. None where there is no such corner.
    """
    turn, run, prev = contour.turn, contour.run, contour.segments.prev
    facing = ~contour.smooth[others] & (turn[others] + turn[row] < -_FACING)
    joined = (run[prev[others]] == run[row]) | (run[others] == run[prev[row]])
    others = others[facing & joined & (others != row)]
    if contour.smooth[row] or not len(others):
        return None
    points = contour.segments.a
    bottom: Floats = points[others[np.argmin(np.hypot(*(points[others] - points[row]).T))]]
    return bottom


def _window(contour: Contour, piece: Any) -> Any | None:
    """The cut-out that holds a piece, None at the outer edge."""
    for board in contour.boards:
        for ring in board.interiors:
            window = shapely.Polygon(ring)
            if shapely.intersects(window, shapely.point_on_surface(piece)):
                return window
    return None


def _central(points: Floats) -> int:
    """The point nearest to the middle of all: the choice that turning the board leaves alone."""
    return int(np.argmin(np.hypot(*(points - (points.min(0) + points.max(0)) / 2).T)))


def _table(rows: list[_Row | None]) -> Wastes:
    kept = sorted((row for row in rows if row is not None), key=lambda row: (row.kind, *row.at))
    columns = zip(*kept, strict=True) if kept else [()] * len(_Row._fields)
    kind, at, stays, width, angle, radius, closed = (
        np.array(column, dtype=float) for column in columns
    )
    return Wastes(
        kind=kind.astype(np.int8),
        at=at.reshape(-1, 2),
        stays=stays,
        width=width,
        angle=angle,
        radius=radius,
        closed=closed.astype(bool),
    )
