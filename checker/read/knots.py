"""Where a closed line meets itself: it goes through one place twice, so that no edge goes round.

A line that is closed leaves each of its corners as often as it comes to it. So line work of which
every node has an even number of ends is one closed line, or several that cross; where it has four
ends or more at a node, it meets itself. What only touches along a doubled line does not count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.read.groups import Groups

if TYPE_CHECKING:
    from checker.board import Floats, Shapes

REACH = 0.2  # mm round a node in which the ways that leave it have to part
APART = 0.01  # mm by which they part there: 3 degrees; arcs drawn twice are nearer
MOST = 100  # nodes looked at; what has more is a drawing


def knots(parts: Shapes, rings: Shapes) -> Floats:
    """(n, 2) places where closed lines meet themselves.

    Args:
        parts: LineStrings that end where they meet.
        rings: Polygons; only what lies on their boundary is looked for. Anywhere where there are
            none.
    """
    if not len(parts):
        return np.empty((0, 2))
    ends = shapely.get_coordinates(shapely.get_point(parts[None], [[0], [-1]]))
    nodes, node = np.unique(ends, axis=0, return_inverse=True)
    start, end = node.reshape(2, -1)
    count = np.bincount(node.reshape(-1), minlength=len(nodes))
    if count.max() < 4:
        return np.empty((0, 2))
    group = Groups(len(nodes))
    group.join(start, end)
    piece = group.labels()
    open_ = np.isin(piece, piece[count % 2 == 1])
    found = np.flatnonzero((count >= 4) & ~open_)
    if len(rings):
        edge = shapely.boundary(shapely.multipolygons(rings))
        found = found[shapely.dwithin(shapely.points(nodes[found]), edge, APART)]
    if len(found) > MOST:
        return np.empty((0, 2))
    near = shapely.STRtree(parts)
    return nodes[[row for row in found.tolist() if _ways(parts, near, nodes[row]) >= 4]]


def _ways(parts: Shapes, tree: shapely.STRtree, place: Floats) -> int:
    """How many ways lead away from a place."""
    circle = shapely.boundary(shapely.buffer(shapely.points(place), REACH))
    lines = shapely.union_all(parts[tree.query(circle, "intersects")])
    met = shapely.buffer(shapely.intersection(circle, lines), APART / 2)
    return int(shapely.get_num_geometries(shapely.union_all(shapely.get_parts(met))))
