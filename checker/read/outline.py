"""The board's edge: closed chains of centre lines, of the profile layer or of routed paths.

A Gerber profile is a closed chain of draws and arcs whose centre line is the edge, or a contour;
it may contain cut-outs (Gerber layer format, section on the profile). Exporters also write
drawing frames, panels and open chains under the same name, so the edge is checked against copper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely import MultiPolygon, Polygon

from checker import plural
from checker.read.crossings import crossings, pairs_within
from checker.read.groups import Groups
from checker.read.knots import knots

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import DrawnObjects, Floats, Ints, Shapes

# mm between ends that count as joined: a little more than one step of inch 2.3, the coarsest
# number format in use, in x and y at once.
SNAP = 0.05
BRIDGE = 0.5  # mm; an opening narrower than any edge cutter, closed for the check and reported
GRID = 0.001  # mm; lines are cut where they come this near, so that doubled lines count once
ENCLOSED = 0.95  # share of the islands that an edge must enclose
HOLE_PLAY = 0.3  # mm; drills are drawn with their finished or their tool's diameter
MATES = 8  # ends and lines, the nearest ones, that one loose end is joined to
MOST_CROSSINGS = 4_000  # of all lines; those of a drawing with an edge are some hundreds
MOST_PAIRS = 2_000_000  # of ends in reach of each other, and of lines round each other
FRAME = 2.0  # mm; a closed line within another one closer than this is the same edge drawn twice

_NESTED = "its lines run round each other without bound"


class Opening(NamedTuple):
    """A place where the edge is not closed, and the distance to the next loose end, in mm."""

    x: float
    y: float
    size: float


class Edge(Struct, frozen=True, eq=False):
    """What closed lines enclose.

    Attributes:
        area: material inside the edge; None where no closed line encloses the copper.
        share: share of the islands inside.
        openings: loose ends, the widest opening first.
        remarks: what was left aside, in words; where there is no area, why none was looked for.
        doubt: closed lines inside that may be cut-outs and are not taken as such, in words.
        bridged: openings that were closed by a straight line to find the area, the widest first.
        crossed: (x, y) where the edge meets itself; of all closed lines where there is no area.
    """

    area: MultiPolygon | None
    share: float
    openings: tuple[Opening, ...]
    remarks: tuple[str, ...]
    bridged: tuple[Opening, ...] = ()
    doubt: str = ""
    crossed: tuple[tuple[float, float], ...] = ()


def centre_lines(objects: DrawnObjects) -> Shapes:
    """Centre lines of the draws of a layer, as LineStrings."""
    spines = objects.spine[objects.dark]
    lines: Shapes = spines[shapely.get_type_id(spines) == shapely.GeometryType.LINESTRING]
    return lines


def contours(objects: DrawnObjects) -> Shapes:
    """Contours of the regions of a layer, as LineStrings."""
    regions = objects.shape[objects.dark & shapely.is_missing(objects.spine)]
    rings: Shapes = shapely.get_parts(shapely.boundary(regions))
    return rings


def trace_edge(
    lines: Shapes, centres: Floats, drilled: Floats, islands: Shapes | None = None
) -> Edge:
    """Find the closed line that encloses the copper, and the cut-outs within it.

    Ends that miss by up to `SNAP` are joined, unless that changes an edge that is closed already:
    in a drawing the ends of dimension lines come as near to the edge.

    Args:
        lines: LineStrings.
        centres: (n, 2) a point of each island.
        drilled: (n, 3) x, y and diameter of round holes; a circle that shows one is no cut-out.
        islands: (n,) those islands: a closed line that goes round none of them whole is a cut-out,
            whatever copper it cuts. Where they are not at hand their points stand for them.
    """
    parts, why = _parts(lines)
    if why:
        return Edge(None, 0.0, (), (why,))
    edge = _enclosing(parts, centres, drilled, islands)
    near = _leads(parts, SNAP)
    if len(near):
        parts = _node(np.concatenate([parts, near]))
        joined = _enclosing(parts, centres, drilled, islands)
        if joined.area is not None and _same_size(joined, edge):
            edge = joined
    if edge.area is not None:
        return edge
    far = _leads(parts, BRIDGE)
    if not len(far):
        return edge
    bridged = _enclosing(_node(np.concatenate([parts, far])), centres, drilled, islands)
    if bridged.area is None:
        return edge
    middle = shapely.get_coordinates(shapely.centroid(far))
    gaps = [
        Opening(float(x), float(y), float(d))
        for (x, y), d in zip(middle, shapely.length(far), strict=True)
    ]
    return replace(bridged, bridged=tuple(sorted(gaps, key=lambda gap: -gap.size)))


def widest_ring(lines: Shapes) -> MultiPolygon | None:
    """What the widest closed line encloses, wherever the copper is; None where none is closed."""
    parts, _ = _parts(lines)
    rings = _silhouettes(parts) if len(parts) else parts
    return _multi(rings[np.argmax(shapely.area(rings))]) if len(rings) else None


def gaps_between(openings: Sequence[Opening]) -> tuple[Opening, ...]:
    """Openings of which each loose end is nearest to the other, once each, at their middles.

    A loose end that is nearest to an end that has a nearer one stays alone.
    """
    if len(openings) < 2:
        return tuple(openings)
    points = np.array([(end.x, end.y) for end in openings])
    ends = shapely.points(points)
    one, other = shapely.STRtree(ends).query_nearest(ends, exclusive=True, all_matches=False)
    nearest = dict(zip(one.tolist(), other.tolist(), strict=True))
    found = []
    for end, mate in nearest.items():
        mutual = nearest[mate] == end
        if not mutual:
            found.append(openings[end])
        elif end < mate:
            x, y = ((points[end] + points[mate]) / 2).tolist()
            found.append(Opening(x, y, openings[end].size))
    return tuple(sorted(found, key=lambda gap: -gap.size))


def _same_size(a: Edge, b: Edge) -> bool:
    """Whether an edge is the first one found, or has the bounds of the one found before."""
    if a.area is None or b.area is None:
        return True
    return bool(np.abs(np.subtract(a.area.bounds, b.area.bounds)).max() <= 2 * SNAP)


def _enclosing(lines: Shapes, centres: Floats, drilled: Floats, islands: Shapes | None) -> Edge:
    openings = _openings(_loose(lines))
    rings = _silhouettes(lines) if len(lines) else lines
    if not len(rings):
        return Edge(None, 0.0, openings, ())
    shapely.prepare(rings)
    tree = shapely.STRtree(rings)
    point, ring = tree.query(shapely.points(centres), predicate="intersects")
    held = np.bincount(ring, minlength=len(rings))
    around = np.flatnonzero(held >= ENCLOSED * len(centres))

    def go_round(rows: Ints) -> Ints:
        """Those of some rings in which an island lies whole."""
        mine = np.isin(ring, rows)
        if islands is not None:
            mine[mine] = shapely.covers(rings[ring[mine]], islands[point[mine]])
        return np.unique(ring[mine])

    if len(around) > 1 and len(kept := go_round(around)):
        around = kept  # without cut-outs through the middle of the only islands
    inner, outer = tree.query(shapely.point_on_surface(rings), predicate="intersects")
    depth = np.bincount(
        inner[shapely.area(rings[outer]) > shapely.area(rings[inner])], minlength=len(rings)
    )
    remarks: list[str] = []
    if len(around):
        chosen = np.array([_board_ring(rings, around, remarks)])
    else:  # a panel: several boards side by side
        chosen = np.flatnonzero((depth == 0) & (held > 0))
    if not len(chosen):
        return Edge(None, 0.0, openings, (), crossed=_crossed(lines, rings[:0]))
    area = shapely.union_all(rings[chosen])
    crossed = _crossed(lines, rings[chosen])
    within = np.setdiff1d(tree.query(area, predicate="contains"), chosen)
    within = within[depth[within] == depth[chosen].min() + 1]
    within = within[~_shows_hole(rings[within], drilled)]
    empty = np.setdiff1d(within, go_round(within))
    if remarks:
        doubt = _doubt(rings[within], "in a drawing")
    else:
        area = shapely.difference(area, shapely.union_all(rings[empty]))
        doubt = _doubt(rings[np.setdiff1d(within, empty)], "round copper")
    share = len(np.unique(point[np.isin(ring, chosen)])) / max(len(centres), 1)
    return Edge(_multi(area), share, openings, tuple(remarks), doubt=doubt, crossed=crossed)


def _crossed(lines: Shapes, rings: Shapes) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in knots(lines, rings).tolist())


def _doubt(rings: Shapes, where: str) -> str:
    """What is said of closed lines inside the edge that are not taken as cut-outs."""
    if not len(rings):
        return ""
    x, y = shapely.get_coordinates(shapely.centroid(rings[0]))[0]
    one = "one " if len(rings) > 1 else ""
    lines = f"{plural.count(len(rings), 'closed line')} {where} inside the edge"
    return f"{lines}, {one}at {x:.3f}, {y:.3f}, taken as no cut-out"


def _shows_hole(rings: Shapes, drilled: Floats) -> NDArray[np.bool_]:
    """Whether each ring has the place and size of a drilled hole."""
    shown = np.zeros(len(rings), bool)
    if not len(rings) or not len(drilled):
        return shown
    x0, y0, x1, y1 = shapely.bounds(rings).T
    centres = shapely.points((x0 + x1) / 2, (y0 + y1) / 2)
    ring, hole = shapely.STRtree(shapely.points(drilled[:, :2])).query(
        centres, predicate="dwithin", distance=SNAP
    )
    size = np.stack([x1 - x0, y1 - y0])
    same = (np.abs(size[:, ring] - drilled[hole, 2]) <= HOLE_PLAY).all(0)
    shown[ring[same]] = True
    return shown


def remove_cutouts(area: MultiPolygon, cutouts: list[Polygon]) -> MultiPolygon:
    """The area without further cut-outs, such as routed paths and very large drills."""
    return _multi(shapely.difference(area, shapely.union_all(cutouts)))


def _board_ring(rings: Shapes, around: Ints, remarks: list[str]) -> int:
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


def _leads(parts: Shapes, reach: float) -> Shapes:
    """Short lines between loose ends in reach of each other, and to other lines within `SNAP`."""
    ends = shapely.points(_loose(parts)) if len(parts) else parts
    if not len(ends):
        return ends
    a, b = _mates(ends, ends, reach)
    pairs = np.unique(np.sort(np.stack([a, b], axis=1), axis=1), axis=0).T
    end, line = _mates(ends, parts, SNAP)
    leads: Shapes = np.concatenate(
        [
            shapely.linestrings(_pairs(ends[pairs[0]], ends[pairs[1]])),
            shapely.shortest_line(ends[end], parts[line]),
        ]
    )
    return leads


def _mates(ends: Shapes, others: Shapes, reach: float) -> tuple[Ints, Ints]:
    """Rows of ends and of the nearest others that are in reach but do not touch them."""
    found = pairs_within(ends, others, reach=reach, most=MOST_PAIRS)
    if found is None:  # a heap of ends, not a line with openings
        return np.empty(0, np.int64), np.empty(0, np.int64)
    a, b = found
    far = shapely.distance(ends[a], others[b])
    a, b, far = a[far > 0], b[far > 0], far[far > 0]
    order = np.lexsort((far, a))
    a, b = a[order], b[order]
    near = np.arange(len(a)) - np.searchsorted(a, a) < MATES
    return a[near], b[near]


def _parts(lines: Shapes) -> tuple[Shapes, str]:
    """The lines cut where they meet; none and why, where that or what follows would not end."""
    if not len(lines):
        return lines, ""
    lines = lines[shapely.length(lines) > 0]
    if crossings(lines) > MOST_CROSSINGS:
        return lines[:0], f"its lines cross more than {MOST_CROSSINGS} times"
    if _nest(lines):  # a fault that the cutting already would not end with
        return lines[:0], _NESTED
    parts = _node(lines)
    return (parts[:0], _NESTED) if _nest(parts) else (parts, "")


def _nest(lines: Shapes) -> bool:
    """Whether lines run round each other, each round very many."""
    chains = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
    return pairs_within(chains, most=MOST_PAIRS) is None


def _node(lines: Shapes) -> Shapes:
    parts: Shapes = shapely.get_parts(shapely.union_all(lines, grid_size=GRID))
    long: Shapes = parts[~shapely.is_empty(parts)]  # what is shorter than the grid is gone
    return long


def _pairs(a: Shapes, b: Shapes) -> Floats:
    return np.stack([shapely.get_coordinates(a), shapely.get_coordinates(b)], axis=1)


def _loose(parts: Shapes) -> Floats:
    """(n, 2) ends that meet no other end."""
    if not len(parts):
        return np.empty((0, 2))
    places, count = np.unique(np.concatenate(_end_points(parts)), axis=0, return_counts=True)
    loose: Floats = places[count == 1]
    return loose


def _end_points(parts: Shapes) -> tuple[Floats, Floats]:
    start = shapely.get_coordinates(shapely.get_point(parts, 0))
    return start, shapely.get_coordinates(shapely.get_point(parts, -1))


def _openings(loose: Floats) -> tuple[Opening, ...]:
    """Loose ends, each with the distance to the nearest other one, the widest first."""
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
    order = np.argsort(owner, kind="stable")
    found = [
        shapely.polygons(shapely.get_exterior_ring(part))
        for one in np.split(filled[order], np.flatnonzero(np.diff(owner[order])) + 1)
        for part in shapely.get_parts(shapely.union_all(one))
    ]
    return np.array(found, object)
