"""The board's edge: closed chains of centre lines, of the profile layer or of routed paths.

A Gerber profile is a closed chain of draws and arcs whose centre line is the edge, or a contour;
it may contain cut-outs (Gerber layer format, section on the profile). Exporters also write
drawing frames, panels and open chains under the same name, so the edge is checked against copper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from checker.read.groups import Groups

if TYPE_CHECKING:
    from checker.board import DrawnObjects, Floats, Shapes

# mm between ends that count as joined: a little more than one step of inch 2.3, the coarsest
# number format in use, in x and y at once.
SNAP = 0.05
ENCLOSED = 0.95  # share of the islands that an edge must enclose
FRAME = 2.0  # mm; a closed line within another one closer than this is the same edge drawn twice


class Opening(NamedTuple):
    """A place where the edge is not closed, and the distance to the next loose end, in mm."""

    x: float
    y: float
    size: float


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """What closed lines enclose.

    Attributes:
        area: material inside the edge; None where no closed line encloses the copper.
        share: share of the islands inside.
        openings: loose ends, the widest opening first.
        remarks: what was left aside, in words.
    """

    area: MultiPolygon | None
    share: float
    openings: tuple[Opening, ...]
    remarks: tuple[str, ...]


def centre_lines(objects: DrawnObjects) -> Shapes:
    """Centre lines of draws and contours of regions of a layer, as LineStrings."""
    dark = objects.dark
    spines = objects.spine[dark]
    lines = spines[shapely.get_type_id(spines) == shapely.GeometryType.LINESTRING]
    regions = objects.shape[dark & shapely.is_missing(objects.spine)]
    rings = shapely.get_parts(shapely.boundary(regions))
    return np.concatenate([lines, rings])


def trace_edge(lines: Shapes, centres: Floats) -> Edge:
    """Find the closed line that encloses the copper, and the cut-outs within it.

    Args:
        lines: LineStrings.
        centres: (n, 2) a point of each island.
    """
    lines, openings = _join(lines)
    if not len(lines):
        return Edge(None, 0.0, openings, ())
    rings = _silhouettes(lines)
    if not len(rings):
        return Edge(None, 0.0, openings, ())
    points = shapely.points(centres) if len(centres) else np.empty(0, object)
    tree = shapely.STRtree(rings)
    shapely.prepare(rings)
    inside = np.zeros((len(rings), len(points)), bool)
    point, ring = tree.query(points, predicate="intersects")
    inside[ring, point] = True
    share = inside.mean(1) if len(points) else np.ones(len(rings))
    parent_count = _depths(rings, tree)
    remarks: list[str] = []
    around = np.flatnonzero(share >= ENCLOSED)
    if len(around):
        outer = [_board_ring(rings, around, remarks)]
    else:  # a panel: several boards side by side
        outer = [int(i) for i in np.flatnonzero(parent_count == 0) if share[i] > 0]
    if not outer:
        return Edge(None, 0.0, openings, ())
    area = shapely.union_all(rings[outer])
    within = [
        i
        for i in shapely.STRtree(rings).query(area, predicate="contains")
        if i not in outer and parent_count[i] == min(parent_count[outer]) + 1
    ]
    full = [i for i in within if inside[i].any()]
    if full:
        remarks.append(f"{len(full)} closed lines inside the edge hold copper: no cut-outs")
    empty = [i for i in within if not inside[i].any()]
    if empty:
        area = shapely.difference(area, shapely.union_all(rings[empty]))
    total = inside[outer].any(0).mean() if len(points) else 1.0
    return Edge(_multi(area), float(total), openings, tuple(remarks))


def remove_cutouts(area: MultiPolygon, cutouts: list[Polygon]) -> MultiPolygon:
    """The area without further cut-outs, such as routed paths and very large drills."""
    return _multi(shapely.difference(area, shapely.union_all(cutouts)))


def _board_ring(rings: Shapes, around: np.ndarray, remarks: list[str]) -> int:
    """Of nested lines round all copper, the board's: the innermost, but not a doubled line."""
    order = around[np.argsort(shapely.area(rings[around]))]
    chosen = int(order[0])
    for other in order[1:]:
        apart = np.abs(np.subtract(rings[chosen].bounds, rings[other].bounds)).max()
        if apart <= FRAME:
            chosen = int(other)
        else:
            x0, y0, x1, y1 = rings[other].bounds
            remarks.append(f"a frame of {x1 - x0:.1f} x {y1 - y0:.1f} mm round the edge left aside")
            break
    return chosen


def _multi(area: shapely.Geometry) -> MultiPolygon:
    parts = [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]
    return MultiPolygon(parts)


def _join(lines: Shapes) -> tuple[Shapes, tuple[Opening, ...]]:
    """Lines with ends nearer than `SNAP` made equal, cut where they cross, and the loose ends."""
    lines = lines[shapely.length(lines) > 0]
    if not len(lines):
        return lines, ()
    coordinates, owner = shapely.get_coordinates(lines, return_index=True)
    first = np.searchsorted(owner, np.arange(len(lines)))
    last = np.searchsorted(owner, np.arange(len(lines)), side="right") - 1
    ends = np.concatenate([first, last])
    points = shapely.points(coordinates[ends])
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=SNAP)
    group = Groups(len(points))
    group.join(a, b)
    root = group.labels()
    _, leader = np.unique(root, return_index=True)
    coordinates[ends] = coordinates[ends[leader[np.searchsorted(root[leader], root)]]]
    joined = shapely.linestrings(coordinates, indices=owner)
    joined = joined[shapely.length(joined) > 0]
    parts = shapely.get_parts(shapely.union_all(joined))
    return parts, _openings(parts)


def _end_points(parts: Shapes) -> tuple[Floats, Floats]:
    start = shapely.get_coordinates(shapely.get_point(parts, 0))
    return start, shapely.get_coordinates(shapely.get_point(parts, -1))


def _openings(parts: Shapes) -> tuple[Opening, ...]:
    """Ends that meet no other end, each with the distance to the nearest other such end."""
    ends = np.concatenate(_end_points(parts))
    places, count = np.unique(ends, axis=0, return_counts=True)
    loose = places[count == 1]
    if len(loose) < 2:
        return ()
    points = shapely.points(loose)
    _, distance = shapely.STRtree(points).query_nearest(
        points, exclusive=True, return_distance=True, all_matches=False
    )
    order = np.argsort(-distance)
    return tuple(
        Opening(float(x), float(y), float(d))
        for (x, y), d in zip(loose[order], distance[order], strict=True)
    )


def _silhouettes(parts: Shapes) -> Shapes:
    """The filled outer shape of each connected piece of line work that encloses anything."""
    start, end = _end_points(parts)
    _, node = np.unique(np.concatenate([start, end]), axis=0, return_inverse=True)
    node = node.reshape(2, -1)
    group = Groups(int(node.max()) + 1)
    group.join(node[0], node[1])
    piece = group.labels()[node[0]]
    faces: Shapes = shapely.get_parts(shapely.polygonize(parts))
    if not len(faces):
        return faces
    # A face belongs to the piece that its outer ring is part of.
    corners = shapely.get_point(shapely.get_exterior_ring(faces), 0)
    tree = shapely.STRtree(parts)
    at, line = tree.query_nearest(corners, all_matches=False)
    owner = piece[line[np.argsort(at)]]
    filled = shapely.polygons(shapely.get_exterior_ring(faces))
    found = [
        shapely.polygons(shapely.get_exterior_ring(part))
        for label in np.unique(owner)
        for part in shapely.get_parts(shapely.union_all(filled[owner == label]))
    ]
    return np.array(found, object)


def _depths(rings: Shapes, tree: shapely.STRtree) -> np.ndarray:
    """How many other rings contain each ring."""
    inner, outer = tree.query(shapely.point_on_surface(rings), predicate="intersects")
    larger = shapely.area(rings[outer]) > shapely.area(rings[inner])
    return np.bincount(inner[larger], minlength=len(rings))
