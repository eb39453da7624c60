"""From a recorded drawing to shapes: stamps for flashes, swept pens for draws, filled regions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec.structs import replace

from checker.board import DrawnObjects, Kind
from checker.read.crossings import MOST_CROSSINGS, SHORT, crossings, is_crowded, pieces
from checker.read.gerber.curves import quarter_chords
from checker.read.gerber.drawing import (
    MOST_POINTS,
    Copies,
    Drawing,
    Flash,
    Matrix,
    Region,
    Stroke,
    Tag,
)
from checker.read.gerber.stamps import NOTHING, areas, disc, stamp
from checker.read.gerber.units import LARGEST
from checker.read.gerber.words import StatementError

if TYPE_CHECKING:
    from array import array
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from checker.board import Floats, Ints, Shapes
    from checker.read.gerber.apertures import Aperture
    from checker.read.gerber.drawing import Transform

# Decimals of a mm that corners keep: a picometre.
GRID = 9

# Making a stamp of many primitives costs as much as flashing it this often.
_COMPOSING = 20
# A point of a line that runs again and again over where it was costs as much as so many others.
_CROWDING = 50

# Corners that a bend adds to an outline on both of its sides, apart from the chords of its arc.
_AT_BEND = 5

_COLUMNS = ("shape", "spine", "pen", "dark", "kind", "function", "net", "component", "pin", "line")


def make_shapes(drawing: Drawing, names: Mapping[str, int], lines: Ints) -> DrawnObjects:
    """Shapes of all that a drawing records.

    Args:
        drawing: what was recorded.
        names: the index of each name that tags refer to.
        lines: the line of each word of the file.

    Raises:
        StatementError: a macro that cannot be made, or shapes that expand without bound.
    """
    pads = np.array([name.endswith("Pad") for name in names], bool)
    traces = np.array([name == "Conductor" for name in names], bool)
    objects = _Maker(tuple(names), pads, traces, lines).make(drawing)
    return replace(objects, shape=_settled(objects.shape))


def largest_scale(drawing: Drawing, known: dict[int, float] | None = None) -> float:
    """By how much any block in a drawing is enlarged, blocks in blocks together; 1 or more."""
    known = {} if known is None else known
    if id(drawing) not in known:
        inner = [
            abs(entry.matrix[0] * entry.matrix[3] - entry.matrix[1] * entry.matrix[2]) ** 0.5
            * largest_scale(entry.drawing, known)
            for entry in drawing.entries
            if isinstance(entry, Copies)
        ]
        known[id(drawing)] = max([1.0, *inner])
    return known[id(drawing)]


def _settled(shapes: Shapes) -> Shapes:
    """The shapes with corners rounded to `GRID`.

    Outlines meant to be the same then are the same to the last bit, or apart by no less than the
    grid. The union of two outlines that are a last bit apart may lose its holes without a word
    (GEOS 3.14: 7 of 1000 pairs of strokes, none where they are 1e-14 mm to 1e-6 mm apart).
    """
    corners = shapely.get_coordinates(shapes)
    return _valid(shapely.set_coordinates(shapes, np.round(corners, GRID)))


def _valid(shapes: Shapes) -> Shapes:
    """The shapes, those that touch or cross themselves made valid."""
    for bad in np.flatnonzero(~shapely.is_valid(shapes)):
        shapes[bad] = areas(shapes[bad])
    return shapes


class _Maker:
    def __init__(self, names: tuple[str, ...], pads: Any, traces: Any, lines: Ints) -> None:
        self._names = names
        self._pads = pads
        self._traces = traces
        self._lines = lines
        self._stamps: dict[tuple[int, Transform], Any] = {}
        self._blocks: dict[int, DrawnObjects] = {}
        self._points = 0
        self._crossings = 0.0

    def make(self, drawing: Drawing) -> DrawnObjects:
        """One drawing; blocks are made once and copied."""
        plain = [entry for entry in drawing.entries if not isinstance(entry, Copies)]
        sheet = self._plain(plain)
        if len(plain) < len(drawing.entries):
            sheets, order = [sheet], []
            order.append([i for i, e in enumerate(drawing.entries) if not isinstance(e, Copies)])
            for i, entry in enumerate(drawing.entries):
                if isinstance(entry, Copies):
                    sheets.append(self._copies(entry))
                    order.append([i] * len(sheets[-1]))
            sheet = _joined(sheets, np.argsort(np.concatenate(order), kind="stable"))
        # Before scaled blocks of scaled blocks run out of numbers.
        if len(sheet) and (np.abs(shapely.total_bounds(sheet.shape)) > 2 * LARGEST).any():
            raise StatementError("image leaves the plate", f"at most {2 * LARGEST:g} mm")
        return sheet

    def _plain(self, entries: Sequence[Flash | Stroke | Region]) -> DrawnObjects:
        n = len(entries)
        shape = np.full(n, NOTHING, object)
        spine = np.full(n, None, object)
        pen = np.zeros(n)
        kind = np.zeros(n, np.int8)
        makers: tuple[tuple[type, Kind, Callable[[Any], tuple[Any, Any, Any]]], ...] = (
            (Flash, Kind.PAD, self._flashes),
            (Stroke, Kind.TRACE, self._strokes),
            (Region, Kind.POUR, self._regions),
        )
        for drawn, of_kind, make in makers:
            rows = [i for i, entry in enumerate(entries) if isinstance(entry, drawn)]
            if rows:
                kind[rows] = of_kind
                shape[rows], spine[rows], pen[rows] = make([entries[i] for i in rows])
        tags = np.array([entry.tag for entry in entries], np.int64).reshape(n, 4)
        at = np.array([entry.at for entry in entries], np.int64)
        return DrawnObjects(
            shape=shape,
            spine=spine,
            pen=pen,
            dark=np.array([entry.dark for entry in entries], bool),
            kind=self._kinds(kind, tags[:, 0]),
            function=tags[:, 0],
            net=tags[:, 1],
            component=tags[:, 2],
            pin=tags[:, 3],
            line=self._lines[at],
            names=self._names,
        )

    def _kinds(self, kind: Any, function: Ints) -> Any:
        """A function such as "ViaPad" makes a pad of anything, "Conductor" a trace of a flash."""
        known = function >= 0
        if known.any():
            pad = known & self._pads[function]
            trace = known & self._traces[function] & (kind == Kind.PAD)
            kind = np.where(pad, Kind.PAD, np.where(trace, Kind.TRACE, kind)).astype(np.int8)
        return kind

    # Flashes

    def _stamp(self, aperture: Aperture, transform: Transform) -> Any:
        key = (id(aperture), transform)
        if key not in self._stamps:
            upright = transform._replace(mirror_x=False, mirror_y=False, degrees=0.0)
            if transform == upright:
                self._stamps[key], corners = stamp(aperture, transform.scale)
                self._spend(_COMPOSING * corners)
            elif aperture.diameter is not None and not aperture.hole:
                self._stamps[key] = self._stamp(aperture, upright)
            else:
                shape = np.array([self._stamp(aperture, upright)])
                self._stamps[key] = _moved(shape, transform.turn, np.zeros((1, 2)))[0]
        return self._stamps[key]

    def _spend(self, points: int) -> None:
        self._points += points
        if self._points > MOST_POINTS:
            raise StatementError(
                "flashes and repeats expand without bound", f"{MOST_POINTS} points at most"
            )

    def _flashes(self, flashes: Sequence[Flash]) -> tuple[Shapes, Shapes, Floats]:
        at = np.array([flash.point for flash in flashes])
        shapes = np.full(len(flashes), NOTHING, object)
        for (_, transform), rows in _grouped(
            (id(flash.aperture), flash.transform) for flash in flashes
        ).items():
            one = self._stamp(flashes[rows[0]].aperture, transform)
            self._spend(len(rows) * int(shapely.get_num_coordinates(one)))
            shapes[rows] = _moved(np.array([one]), None, at[rows])
        return shapes, shapely.points(at), np.zeros(len(flashes))

    # Draws

    def _strokes(self, strokes: Sequence[Stroke]) -> tuple[Shapes, Shapes, Floats]:
        points, index = _ragged([stroke.points for stroke in strokes])
        lines = shapely.linestrings(points, indices=index)
        widths = np.array(
            [(stroke.aperture.diameter or 0.0) * stroke.transform.scale for stroke in strokes]
        )
        shapes = np.full(len(strokes), NOTHING, object)
        dots = shapely.length(lines) == 0
        # GEOS rounds the chords of a bend to a whole number, so that one may span half as much
        # again as those of a full turn.
        quarters = np.array([math.ceil(1.5 * quarter_chords(width / 2)) for width in widths])
        self._spend(_corners_of(points, index, quarters))
        for q in np.unique(quarters[(widths > 0) & ~dots]):
            rows = np.flatnonzero((quarters == q) & (widths > 0) & ~dots)
            crowded = self._crowded(lines[rows], widths[rows] / 2)
            for row in rows[crowded].tolist():
                shapes[row] = _brushed(lines[row], widths[row] / 2, int(q))
            rows = rows[~crowded]
            shapes[rows] = shapely.buffer(lines[rows], widths[rows] / 2, quad_segs=int(q))
        for width in np.unique(widths[(widths > 0) & dots]):
            rows = np.flatnonzero((widths == width) & dots)
            at = np.array([strokes[row].points[:2] for row in rows.tolist()])
            shapes[rows] = _moved(np.array([disc(float(width))]), None, at)
        for row, stroke in enumerate(strokes):
            if stroke.aperture.diameter is None:
                pen = self._stamp(stroke.aperture, stroke.transform)
                shapes[row] = self._swept(pen, np.array(stroke.points).reshape(-1, 2))
        return shapes, lines, widths

    def _crowded(self, lines: Shapes, reach: Floats | None = None) -> NDArray[np.bool_]:
        """Which lines run again and again over where they were; few cross themselves as well."""
        crowded = np.zeros(len(lines), bool)
        for row in np.flatnonzero(shapely.get_num_coordinates(lines) > SHORT):
            points = shapely.get_coordinates(lines[row])
            crowded[row] = is_crowded(points, 0.0 if reach is None else float(reach[row]))
        if crowded.any():
            self._spend(_CROWDING * int(shapely.get_num_coordinates(lines[crowded]).sum()))
            self._crossings += sum(crossings(line) for line in lines[crowded])
            if self._crossings > MOST_CROSSINGS:
                raise StatementError(
                    "draws or regions that cross themselves without bound",
                    f"{MOST_CROSSINGS} crossings at most",
                )
        return crowded

    def _swept(self, pen: Any, points: Floats) -> Any:
        """The union over all segments of the hull of the pen at both ends: exact if convex."""
        corners = shapely.get_coordinates(shapely.convex_hull(pen))
        if not len(corners):
            return NOTHING
        self._crowded(shapely.linestrings(points[None]))
        self._spend(2 * len(points) * len(corners))
        ends = points[:, None, :] + corners[None, :, :]
        pairs = np.concatenate([ends[:-1], ends[1:]], axis=1)
        return areas(shapely.union_all(shapely.convex_hull(shapely.multipoints(pairs))))

    # Regions

    def _regions(self, regions: Sequence[Region]) -> tuple[Shapes, Any, float]:
        shapes = np.full(len(regions), NOTHING, object)
        full = [
            i
            for i, region in enumerate(regions)
            if len(region.points) >= 8 - 2 * (region.points[:2] != region.points[-2:])
        ]
        if full:
            points, index = _ragged([regions[i].points for i in full])
            rings = shapely.linearrings(points, indices=index)
            made = shapely.polygons(rings)
            bad = ~shapely.is_valid(made)
            self._crowded(rings[bad])
            made[bad] = [areas(shape) for shape in made[bad]]
            shapes[full] = made
        return shapes, None, 0.0

    # Copies

    def _copies(self, entry: Copies) -> DrawnObjects:
        key = id(entry.drawing)
        if key not in self._blocks:
            self._blocks[key] = self.make(entry.drawing)
        inner = self._blocks[key]
        (nx, ny), (dx, dy) = entry.count, entry.step
        copies = nx * ny
        self._spend(copies * int(shapely.get_num_coordinates(inner.shape).sum()))
        steps = np.stack(np.meshgrid(np.arange(nx) * dx, np.arange(ny) * dy, indexing="ij"), axis=2)
        offsets = steps.reshape(-1, 2) + entry.point
        xx, xy, yx, yy = entry.matrix
        scale = abs(xx * yy - xy * yx) ** 0.5
        columns = {name: np.tile(getattr(inner, name), copies) for name in _COLUMNS[2:]} | {
            name: _moved(getattr(inner, name), entry.matrix, offsets) for name in _COLUMNS[:2]
        }
        columns["pen"] = columns["pen"] * scale
        if not entry.dark:
            columns["dark"] = ~columns["dark"]
        for name, value in zip(Tag._fields, entry.tag, strict=True):
            columns[name] = np.where(columns[name] < 0, value, columns[name])
        return DrawnObjects(**columns, names=self._names)


def _corners_of(points: Floats, index: Ints, quarters: Ints) -> int:
    """How many corners outlines of strokes have, nearly: round ends, and an arc at each bend.

    More where strokes cross themselves, which `_crowded` looks at.

    Args:
        points: (n, 2) of all strokes.
        index: (n,) the stroke of each.
        quarters: chords a quarter circle of each stroke.
    """
    ahead = np.arctan2(*np.diff(points, axis=0).T[::-1])
    bend = np.abs(np.remainder(np.diff(ahead) + np.pi, 2 * np.pi) - np.pi)
    inside = index[2:] == index[:-2]
    arcs = quarters[index[2:][inside]] @ bend[inside] / (np.pi / 2)
    return int(arcs + _AT_BEND * len(points) + (4 * quarters).sum())


def _brushed(line: Any, reach: float, quarter: int) -> Any:
    """A line wider by ``reach`` mm all round, made piece by piece.

    The time of the buffer of a whole line grows with the square of the length where its own edges
    cross. Pieces end in round ends where the whole has its round bends.
    """
    parts = shapely.linestrings(pieces(shapely.get_coordinates(line)))
    return areas(shapely.union_all(_settled(shapely.buffer(parts, reach, quad_segs=quarter))))


def _grouped(keys: Iterable[Any]) -> dict[Any, list[int]]:
    groups: dict[Any, list[int]] = {}
    for i, key in enumerate(keys):
        groups.setdefault(key, []).append(i)
    return groups


def _ragged(many: Sequence[array[float]]) -> tuple[Floats, Ints]:
    """All points as (n, 2), and the index of the one each belongs to."""
    sizes = np.array([len(points) // 2 for points in many])
    flat = np.frombuffer(b"".join(many), float).reshape(-1, 2)
    return flat, np.repeat(np.arange(len(many)), sizes)


def _moved(shapes: Shapes, matrix: Matrix | None, offsets: Floats) -> Shapes:
    """All shapes, turned by the matrix, once at each of the (m, 2) offsets: (m * n,)."""
    points = shapely.get_coordinates(shapes)
    if matrix is not None and matrix != (1.0, 0.0, 0.0, 1.0):
        xx, xy, yx, yy = matrix
        points = points @ np.array([[xx, yx], [xy, yy]])
    many: Shapes = np.tile(shapes, len(offsets))
    return shapely.set_coordinates(  # type: ignore[no-any-return]
        many.copy(), (points[None, :, :] + offsets[:, None, :]).reshape(-1, 2)
    )


def _joined(sheets: Sequence[DrawnObjects], order: Ints) -> DrawnObjects:
    columns = {
        name: np.concatenate([getattr(sheet, name) for sheet in sheets])[order] for name in _COLUMNS
    }
    return DrawnObjects(**columns, names=sheets[0].names)
