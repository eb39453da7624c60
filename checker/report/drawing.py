"""Exact geometry as SVG paths, on a grid of 1 um.

A drawing's own coordinates are whole micrometres from the upper left corner of its frame, y down,
as seen from above; a bottom side is mirrored by whoever shows it. Subpaths are relative to each
other, which is what makes them short.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, DrawnObjects, Floats, Hole, Shapes

    Whole = NDArray[np.int64]

QUANTUM = 0.001
"""Grid of the drawn coordinates in mm."""

_GRAPHIC = 0.002  # mm by which outlines of mask and legend may be simplified
_MARGIN = 2.0  # mm of paper round the board
_FEWEST = 3  # points of a ring


class Frame(Struct, frozen=True):
    """What a drawing shows, in mm of the files: a rectangle that the paths count from.

    Attributes:
        left, top: the upper left corner.
        width, height: of the rectangle.
    """

    left: float
    top: float
    width: float
    height: float

    @classmethod
    def of(cls, board: Board) -> Frame:
        """The board with some paper round it; everything that has copper or an edge is in it."""
        shapes = [layer.islands for layer in board.copper if len(layer.islands)]
        if board.outline is not None:
            shapes.append(np.array([board.outline.area], dtype=object))
        boxes = np.array([shapely.total_bounds(shape) for shape in shapes])
        boxes = boxes[np.isfinite(boxes).all(axis=1)] if len(boxes) else np.zeros((1, 4))
        x0, y0 = boxes[:, :2].min(axis=0) - _MARGIN
        x1, y1 = boxes[:, 2:].max(axis=0) + _MARGIN
        return cls(float(x0), float(y1), float(x1 - x0), float(y1 - y0))

    @classmethod
    def round(cls, x: float, y: float, width: float, height: float) -> Frame:
        """The rectangle with a middle."""
        return cls(x - width / 2, y + height / 2, width, height)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least x and y, most x and y, in mm of the files."""
        return self.left, self.top - self.height, self.left + self.width, self.top

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in whole micrometres."""
        return round(self.width / QUANTUM), round(self.height / QUANTUM)

    def whole(self, points: Floats) -> Whole:
        """(n, 2) points in mm -> the drawing's own coordinates."""
        moved = (points - (self.left, self.top)) * (1.0, -1.0)
        grid: Whole = np.rint(moved / QUANTUM).astype(np.int64)
        return grid

    def at(self, x: float, y: float) -> tuple[int, int]:
        """One point in mm in the drawing's own coordinates."""
        ((u, v),) = self.whole(np.array([[x, y]])).tolist()
        return u, v

    def path(self, shapes: shapely.Geometry | Shapes | Sequence[shapely.Geometry]) -> str:
        """Polygons with their holes (rule even-odd) and lines as the ``d`` of one path."""
        rings, lines = _rings_and_lines(shapes)
        strings = _strings(self, rings, closed=True)
        return "".join((*strings, *_strings(self, lines, closed=False, after=len(rings) > 0)))

    def paths(self, shapes: Shapes) -> Iterator[str]:
        """A path of its own for each shape."""
        for shape in shapes:
            yield self.path(shape)


def _rings_and_lines(
    shapes: shapely.Geometry | Shapes | Sequence[shapely.Geometry],
) -> tuple[Shapes, Shapes]:
    parts = shapely.get_parts(np.atleast_1d(np.asarray(shapes, dtype=object)))
    while (shapely.get_type_id(parts) == shapely.GeometryType.GEOMETRYCOLLECTION).any():
        parts = shapely.get_parts(parts)
    kinds = shapely.get_type_id(parts)
    rings = shapely.get_rings(parts[kinds == shapely.GeometryType.POLYGON])
    return rings, parts[
        np.isin(kinds, (shapely.GeometryType.LINESTRING, shapely.GeometryType.LINEARRING))
    ]


def _strings(frame: Frame, lines: Shapes, closed: bool, after: bool = False) -> Iterator[str]:
    """Each line as a subpath, relative to the start of the one before it."""
    points, line = shapely.get_coordinates(lines, return_index=True)
    if not len(points):
        return
    grid = frame.whole(points)
    first = np.diff(line, prepend=-1) > 0
    moved = first | np.diff(grid, axis=0, prepend=grid[:1]).any(axis=1)  # no step of no length
    if closed:  # z leads back to the first point by itself
        moved &= ~(np.diff(line, append=line[-1] + 1) > 0)
    grid, line, first = grid[moved], line[moved], first[moved]
    steps = np.diff(grid, axis=0, prepend=grid[:1])
    starts = np.flatnonzero(first)
    ends = np.append(starts[1:], len(grid))
    # After z the pen stands at the start of the subpath, after an open line at its end.
    before = grid[starts[:-1]] if closed else grid[ends[:-1] - 1]
    steps[starts[1:]] = grid[starts[1:]] - before
    words = steps.ravel().tolist()
    for number, (start, end) in enumerate(zip(starts.tolist(), ends.tolist(), strict=True)):
        if closed and end - start < _FEWEST:
            end = start + 1  # too small for the grid
        x, y = grid[0].tolist() if number == 0 else words[2 * start : 2 * start + 2]
        letter = "M" if number == 0 else "m"
        rest = " ".join(map(str, words[2 * start + 2 : 2 * end]))
        body = f"{letter}{x} {y}" + (f"l{rest}" if rest else "l0 0") + ("z" if closed else "")
        yield body.replace(" -", "-")


def strokes(frame: Frame, objects: DrawnObjects) -> tuple[str, dict[int, str]]:
    """Objects of a mask or legend: what is filled, and pen width in um -> what is drawn with it.

    Draws with a round pen stay centre lines. Where something is cleared again all is filled.
    """
    if not len(objects):
        return "", {}
    if not objects.dark.all():
        return frame.path(_composed(objects)), {}
    drawn = (objects.pen > 0) & (
        shapely.get_type_id(objects.spine) == shapely.GeometryType.LINESTRING
    )
    pens = np.rint(objects.pen / QUANTUM).astype(np.int64)
    lines = {
        int(pen): frame.path(objects.spine[drawn & (pens == pen)]) for pen in np.unique(pens[drawn])
    }
    filled = objects.shape[~drawn]
    return (frame.path(shapely.simplify(filled, _GRAPHIC)) if len(filled) else ""), lines


def _composed(objects: DrawnObjects) -> shapely.Geometry:
    """Dark and clear objects one on the other, in file order, runs of one polarity at once."""
    shape: shapely.Geometry = shapely.Polygon()
    edges = np.flatnonzero(np.diff(objects.dark, prepend=~objects.dark[0]))
    for start, end in zip(edges, [*edges[1:], len(objects)], strict=True):
        run = shapely.union_all(objects.shape[start:end])
        lay = shapely.union if objects.dark[start] else shapely.difference
        shape = lay(shape, run)
    return shapely.simplify(shape, _GRAPHIC)


def holes(frame: Frame, drilled: Sequence[Hole]) -> dict[int, str]:
    """Diameter in um -> path of zero length at each hole of it, or along each slot."""
    grouped: dict[int, list[Hole]] = {}
    for hole in drilled:
        grouped.setdefault(round(hole.diameter / QUANTUM), []).append(hole)
    paths = {}
    for diameter in sorted(grouped):
        words = []
        for hole in grouped[diameter]:
            (x, y), *rest = frame.whole(np.array(hole.path, dtype=float)).tolist()
            words.append(f"M{x} {y}L" + " ".join(f"{u} {v}" for u, v in (rest or [(x, y)])))
        paths[diameter] = "".join(words)
    return paths


def outer_layers(board: Board) -> list[tuple[int, CopperLayer]]:
    """Index and layer of the sides that a tool reaches; the first one where there are neither."""
    found = [(index, layer) for index, layer in enumerate(board.copper) if not _inner(layer)]
    return found or list(enumerate(board.copper[:1]))


def _inner(layer: CopperLayer) -> bool:
    return layer.side.startswith("inner")
