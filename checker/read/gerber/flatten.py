"""Islands of copper: what remains when all objects are drawn in turn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker import plural
from checker.read.crossings import MOST_CROSSINGS, crossings, meetings
from checker.read.gerber.curves import TOLERANCE
from checker.read.gerber.strokes import CRACK, cracks
from checker.read.gerber.words import StatementError

if TYPE_CHECKING:
    from collections.abc import Callable

    from checker.board import DrawnObjects, Ints, Shapes

# Copper that an erosion by this empties is an accident of chords.
SLIVER = 1.5 * TOLERANCE

# Corners from which a shape is joined in a step of its own; anything from 200 to 2000 is as fast.
MANY_CORNERS = 500

# Objects whose overlaps are counted; fewer take three seconds if all of them overlap.
MANY_OBJECTS = 4_000

# Dark and clear objects that are compared at one time.
MOST_PAIRS = 4_000_000

# Bounds on what the union can do in a few seconds. Layers of the open boards have at most 15 000
# crossings, 90 000 pairs of objects that overlap, and 3 300 of dark ones with later clear ones.
MOST_OVERLAPS = 2_000_000
MOST_BOXES = 12_000_000  # pairs of objects whose boxes meet; the open boards have 0.03 million
MOST_CUTS = 60_000


def flatten(
    objects: DrawnObjects, remark: Callable[[str], None] | None = None
) -> tuple[Shapes, Ints]:
    """Draw all objects in turn, dark over clear over dark, and part the copper into islands.

    Args:
        objects: what a layer draws.
        remark: told, in words, of each kind of sliver that was dropped.

    Returns:
        (m,) single Polygons with counter-clockwise exteriors, in no particular order but the
        same for the same objects, and (n,) for each object the island that holds it (the
        largest part of what is left of it), -1 where it is clear, empty or cleared away.

    Raises:
        StatementError: objects lie over each other, or cross, beyond all bounds.
    """
    _check_crossings(objects)
    parts, owner = _remaining(objects)
    islands = _union(parts)
    islands = _without_cracks(islands, objects, remark)
    islands = _without_slivers(islands, remark)
    return shapely.orient_polygons(islands), _island_of(islands, parts, owner, len(objects))


def _check_crossings(objects: DrawnObjects) -> None:
    """See that the union will end: shapes with many corners are few, and are not counted."""
    plain = shapely.get_num_coordinates(objects.shape) <= MANY_CORNERS
    regions = objects.shape[plain & shapely.is_missing(objects.spine)]
    lines = np.concatenate([objects.spine[objects.pen > 0], shapely.boundary(regions)])
    if crossings(lines) > MOST_CROSSINGS:
        raise StatementError("objects that cross without bound", f"{MOST_CROSSINGS} at most")
    if len(objects) <= MANY_OBJECTS:
        return
    shapes = objects.shape[plain & ~shapely.is_empty(objects.shape)]
    if meetings(shapes, "overlaps") > MOST_OVERLAPS:
        raise StatementError("objects that overlap without bound", f"{MOST_OVERLAPS} pairs at most")
    if meetings(shapely.box(*shapely.bounds(shapes).T), "intersects") > MOST_BOXES:
        raise StatementError(
            "long objects aslant beside each other without bound",
            f"{MOST_BOXES} pairs at most whose boxes meet",
        )


def _remaining(objects: DrawnObjects) -> tuple[Shapes, Ints]:
    """What later clearing leaves of each dark object: shapes, and the object of each."""
    filled = ~shapely.is_empty(objects.shape)
    dark = np.flatnonzero(objects.dark & filled)
    clear = np.flatnonzero(~objects.dark & filled)
    parts: Shapes = objects.shape[dark]
    if len(clear):
        tree = shapely.STRtree(objects.shape[clear])
        cuts = 0
        rows = max(1, MOST_PAIRS // len(clear))
        for first in range(0, len(dark), rows):
            hit, by = tree.query(parts[first : first + rows])
            hit += first
            later = clear[by] > dark[hit]
            cuts += _cut(parts, objects.shape, hit[later], clear[by[later]], MOST_CUTS - cuts)
    left = ~shapely.is_empty(parts)
    return parts[left], dark[left]


def _cut(parts: Shapes, shapes: Shapes, hit: Ints, by: Ints, most: int) -> int:
    """Take from each of the parts ``hit`` the shapes ``by`` of the same rows; how many were taken.

    Raises:
        StatementError: more than ``most``.
    """
    shapely.prepare(parts[hit])
    met = shapely.intersects(parts[hit], shapes[by])
    hit, by = hit[met], by[met]
    if len(hit) > most:
        raise StatementError("clear objects over dark ones without bound", f"{MOST_CUTS} at most")
    for rows in np.split(np.arange(len(hit)), np.flatnonzero(np.diff(hit)) + 1):
        if len(rows):
            part = hit[rows[0]]
            cut = shapely.disjoint_subset_union_all(shapes[by[rows]])
            parts[part] = shapely.difference(parts[part], cut)
    return len(hit)


def _union(parts: Shapes) -> Shapes:
    """Polygons of the union of all parts.

    The few parts with many corners, which are pours, are kept out of the union of the many small
    ones, which would overlay them again and again, and then meet in one overlay only those they
    touch: what lies in their clearances never does.
    """
    large = shapely.get_num_coordinates(parts) > MANY_CORNERS
    small = _joined(parts[~large])
    if not large.any():
        return small
    pours = _joined(parts[large])
    touched = np.zeros(len(small), bool)
    touched[shapely.STRtree(small).query(pours, predicate="intersects")[1]] = True
    met = shapely.union(shapely.multipolygons(pours), shapely.multipolygons(small[touched]))
    return np.concatenate([shapely.get_parts(met), small[~touched]])


def _joined(shapes: Shapes) -> Shapes:
    """Polygons of the union of shapes that are many and mostly apart."""
    polygons: Shapes = shapely.get_parts(shapely.disjoint_subset_union_all(shapes))
    return polygons


def _island_of(islands: Shapes, parts: Shapes, owner: Ints, n: int) -> Ints:
    """The island of each object, found by a point in the largest part of what is left of it."""
    island_of = np.full(n, -1, np.int64)
    if not len(islands):
        return island_of
    points = shapely.point_on_surface(_largest(parts))
    # The islands ask, because the asking geometries are prepared: some have many corners.
    island, row = shapely.STRtree(points).query(islands, predicate="intersects")
    island_of[owner[row]] = island
    return island_of


def _largest(shapes: Shapes) -> Shapes:
    """The largest polygon of each shape."""
    parts, index = shapely.get_parts(shapes, return_index=True)
    if len(parts) == len(shapes):
        return shapes
    order = np.lexsort((shapely.area(parts), index))
    last = np.flatnonzero(np.diff(index[order], append=len(shapes)))
    largest: Shapes = parts[order[last]]
    return largest


def _without_cracks(
    islands: Shapes, objects: DrawnObjects, remark: Callable[[str], None] | None
) -> Shapes:
    """Close what is open between strokes side by side, by growing and shrinking their islands."""
    rows, places = cracks(objects)
    if not len(rows) or not len(islands):
        return islands
    tree = shapely.STRtree(islands)
    points = shapely.points(places)
    near = tree.query(points, predicate="dwithin", distance=CRACK)[0]  # else cleared away
    still = np.setdiff1d(near, tree.query(points, predicate="intersects")[0])
    rows, places = rows[still], places[still]
    if not len(rows):
        return islands
    strokes = np.unique(rows)
    hit = np.unique(tree.query(objects.shape[strokes], predicate="intersects")[1])
    half = CRACK / 2 + TOLERANCE / 10
    grown = shapely.union_all(shapely.buffer(islands[hit], half, join_style="mitre"))
    closed = shapely.get_parts(shapely.buffer(grown, -half, join_style="mitre"))
    if remark is not None:
        x, y = places[0]
        remark(
            f"gaps of at most {CRACK:g} mm between {len(strokes)} strokes side by side closed, "
            f"one near ({x:.3f}, {y:.3f})"
        )
    return np.concatenate([closed, np.delete(islands, hit)])


def _without_slivers(islands: Shapes, remark: Callable[[str], None] | None) -> Shapes:
    """Drop islands that an erosion by `SLIVER` empties; fill holes no wider than `CRACK`."""
    thin = _thin(islands, SLIVER)
    if thin.any():
        _tell(remark, "piece", "of", islands[thin], 2 * SLIVER)
        islands = islands[~thin]
    rings, index = shapely.get_rings(islands, return_index=True)
    exterior = np.diff(index, prepend=-1) != 0
    holes = shapely.polygons(rings[~exterior])
    thin = _thin(holes, CRACK / 2)
    if thin.any():
        _tell(remark, "hole", "in", holes[thin], CRACK)
        keep = exterior.copy()
        keep[~exterior] = ~thin
        islands = shapely.polygons(rings[keep], indices=index[keep])
    return islands


def _thin(polygons: Shapes, by: float) -> Any:
    """Whether an erosion leaves nothing: (n,) bool."""
    # The area is at most the boundary's length times the largest inscribed radius, so only
    # those below that bound need the erosion itself.
    thin = shapely.area(polygons) <= shapely.length(polygons) * by
    thin[thin] = shapely.is_empty(shapely.buffer(polygons[thin], -by))
    return thin


def _tell(
    remark: Callable[[str], None] | None, what: str, of: str, dropped: Shapes, width: float
) -> None:
    if remark is not None:
        x, y = shapely.get_coordinates(dropped[0])[0]
        remark(
            f"{plural.count(len(dropped), what)} {of} copper nowhere wider than {width:g} mm "
            f"left out, one near ({x:.3f}, {y:.3f})"
        )
