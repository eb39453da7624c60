"""Joints made by hand: where a wire or a lead must be soldered, and what stands over the place.

Without plating nothing joins the two sides of a hole. A lead is soldered on each side where copper
leaves its pad; a via takes a wire or a rivet, soldered on both.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.labels import natural
from checker.measure.boundary.minima import components
from checker.measure.holes.pads import SCREW, SIDES, outer, pads_at
from checker.measure.holes.uses import Use, uses_of
from checker.measure.holes.webs import repeated_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from checker.board import Board, CopperLayer, Floats, Ints, Part
    from checker.measure.holes.pads import Pads

    Bools = NDArray[np.bool_]

ERROR = 0.002
"""Bound in mm on the error of ``clear`` and ``reach``: outlines are followed to 0.001 mm."""

OUT = 0.5
"""A pad that comes out this far (mm) from under a body can be soldered: half of a usual lump."""

_RIM = 0.01  # mm; copper this near to a hole's rim stands at the hole
_MORE = 0.01  # mm2; an island larger than its pad by this goes on beyond it
_PADLIKE = 4  # copper up to so many diameters wide that is one stroke or region is a pad


class Joints(Struct, frozen=True, eq=False):
    """Holes that take a lead or join the sides, one a row; columns of two are top and bottom.

    Attributes:
        hole: (n,) index into the board's holes.
        at: (n, 2) middle of the hole, mm; ``diameter`` (n,).
        use: (n,) values of `Use`: VIA, COMPONENT or UNKNOWN.
        pad: (n, 2) index into the objects of that side of the hole's own pad, -1 none.
        island: (n, 2) index into the islands of that side, -1 where no copper stands there.
        joined: (n, 2) copper leaves the pad on this side.
        part: (n,) index into the board's parts of the part whose lead it takes, -1 unknown.
        cover: (n, 2) index of the part on that side that stands over the hole: any part over a
            via, its own body over a lead; -1 none.
        clear: (n, 2) distance of the hole's middle from the edge of that cover, negative inside;
            nan without one.
        reach: (n, 2) how far a lead's pad comes out from under that body, 0 where it is hidden
            whole; nan without one.
        lost: (n, 2) a lead's joint on this side is under its own body, its pad out of it by less
            than `OUT`, and without that joint the lead and the copper of this side stay apart.
        spare: how many joints of both sides join what others join already.
        bare: sides on which pads of leads stand and nothing leaves them.
    """

    hole: Ints
    at: Floats
    diameter: Floats
    use: NDArray[np.int8]
    pad: Ints
    island: Ints
    joined: Bools
    part: Ints
    cover: Ints
    clear: Floats
    reach: Floats
    lost: Bools
    spare: int
    bare: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.hole)

    @property
    def both(self) -> Bools:
        """(n,) copper leaves the hole on both sides: to be soldered on both."""
        both: Bools = self.joined[:, 0] & self.joined[:, 1]
        return both

    @property
    def idle(self) -> Bools:
        """(n, 2) a pad that nothing leaves, while there is copper on the other side."""
        return (self.island >= 0) & ~self.joined & (self.island[:, ::-1] >= 0)


@lru_cache(maxsize=1)
def joints_of(board: Board) -> Joints:
    """The joints of a board; holes for screws and holes without copper are none."""
    uses = uses_of(board)
    diameter = np.array([hole.diameter for hole in board.holes])
    taken = np.flatnonzero((uses.use != Use.MECHANICAL) & (diameter < SCREW))
    taken = taken[~np.isin(taken, list(repeated_of(board)))]
    at, diameter, use = uses.at[taken], diameter[taken], uses.use[taken]
    shape = (len(taken), len(SIDES))
    pad, island = np.full(shape, -1), np.full(shape, -1)
    joined = np.zeros(shape, bool)
    for column, layer in outer(board):
        found = pads_at(layer, at, diameter / 2)
        pad[:, column] = found.own()
        island[:, column], joined[:, column] = _copper_at(layer, found, at, diameter)
    kept = (island >= 0).any(axis=1)
    taken, at, diameter, use = taken[kept], at[kept], diameter[kept], use[kept]
    pad, island, joined = pad[kept], island[kept], joined[kept]
    part = _parts_of(board, [uses.pins[hole] for hole in taken.tolist()], at, use)
    cover, clear = _covers(board, at, diameter, use, part)
    covered = (cover >= 0) & (use == Use.COMPONENT)[:, None]
    reach = _reaches(board, pad, cover, covered)
    covered &= ~(reach >= OUT)
    return Joints(
        taken,
        at,
        diameter,
        use,
        pad,
        island,
        joined,
        part,
        cover,
        clear,
        reach,
        _lost(board, island, joined, covered),
        _spare(island[joined.all(axis=1)]),
        _bare(board, pad, island, joined),
    )


def _copper_at(layer: CopperLayer, pads: Pads, at: Floats, diameter: Floats) -> tuple[Ints, Bools]:
    """The island at each hole, and whether it goes on beyond the hole's own pads."""
    own, islands, area = pads.own(), layer.islands, shapely.area(layer.islands)
    island = np.where(own >= 0, np.append(layer.island_of, -1)[own], -1)
    mine = (pads.middle & ~pads.surface) | (own[pads.hole] == pads.row)
    mine &= layer.island_of[pads.row] == island[pads.hole]
    pads_area = np.bincount(pads.hole[mine], pads.area[mine], len(at))
    joined = np.append(area, 0.0)[island] > pads_area + _MORE
    # Pads drawn twice, or with their middle cleared, have more area than the copper they leave.
    drawn = np.bincount(layer.island_of[layer.island_of >= 0], minlength=len(islands))
    more = np.append(drawn, 0)[island] > 1
    for one in np.flatnonzero(~joined & more & (own >= 0)).tolist():
        shapes = layer.objects.shape[pads.row[mine & (pads.hole == one)]]
        beyond = shapely.difference(islands[island[one]], shapely.union_all(shapes))
        joined[one] = beyond.area > _MORE
    rest = np.flatnonzero(own < 0)
    island[rest] = _nearest_island(islands, at[rest], diameter[rest] / 2 + _RIM)
    x0, y0, x1, y1 = shapely.bounds(islands).T
    wide = np.maximum(x1 - x0, y1 - y0)
    rest = rest[island[rest] >= 0]
    joined[rest] = (drawn[island[rest]] > 1) | (wide[island[rest]] > _PADLIKE * diameter[rest])
    return island, joined


def _nearest_island(islands: NDArray[np.object_], at: Floats, reach: Floats) -> Ints:
    """(n,) the island at each point, -1 where none is within its reach."""
    nearest = np.full(len(at), -1)
    if not len(at) or not len(islands):
        return nearest
    shapely.prepare(islands)
    points, (x, y) = shapely.points(at), at.T
    boxes = shapely.box(x - reach, y - reach, x + reach, y + reach)
    point, island = shapely.STRtree(islands).query(boxes)
    near = shapely.dwithin(islands[island], points[point], reach[point])
    point, island = point[near], island[near]
    distance = shapely.distance(points[point], islands[island])
    order = np.lexsort((island, distance, point))
    found, first = np.unique(point[order], return_index=True)
    nearest[found] = island[order[first]]
    return nearest


# Parts


def _parts_of(
    board: Board, pins: Sequence[tuple[str, ...]], at: Floats, use: NDArray[np.int8]
) -> Ints:
    """(n,) the part of each lead; of several with one name, as in a panel, the nearest."""
    named: dict[str, list[int]] = {}
    for index, part in enumerate(board.parts or ()):
        named.setdefault(part.name, []).append(index)
    found = np.full(len(at), -1)
    for row in np.flatnonzero(use == Use.COMPONENT).tolist():
        parts = [i for pin in pins[row] for i in named.get(pin.rpartition(".")[0] or pin, ())]
        if parts and board.parts is not None:
            x, y = at[row]
            far = [np.hypot(board.parts[i].x - x, board.parts[i].y - y) for i in parts]
            found[row] = parts[int(np.argmin(far))]
    return found


def _covers(
    board: Board, at: Floats, diameter: Floats, use: NDArray[np.int8], part: Ints
) -> tuple[Ints, Floats]:
    """Which part stands over each hole on each side, and how deep under it the hole is."""
    cover, clear = np.full((len(at), 2), -1), np.full((len(at), 2), np.nan)
    parts = board.parts or ()
    points = shapely.points(at)
    for column, side in enumerate(SIDES):
        over = np.array([i for i, p in enumerate(parts) if p.side == side and p.cover], np.int64)
        shapes = np.array([parts[i].cover for i in over.tolist()], object)
        row, found = shapely.STRtree(shapes).query(
            points, predicate="dwithin", distance=diameter / 2
        )
        via = use[row] == Use.VIA
        bodied = np.array([parts[i].body is not None for i in over.tolist()], bool)
        own = (part[row] == over[found]) & bodied[found]
        row, found = row[via | own], found[via | own]
        edge = shapely.distance(shapely.boundary(shapes[found]), points[row])
        depth = np.where(shapely.intersects(shapes[found], points[row]), -edge, edge)
        ranked = sorted(
            range(len(row)),
            key=lambda k: (row[k], round(depth[k], 6), natural(parts[over[found[k]]].name)),
        )
        for k in reversed(ranked):  # so that the first of a row stays
            cover[row[k], column], clear[row[k], column] = over[found[k]], depth[k]
    return cover, clear


def _reaches(board: Board, pad: Ints, cover: Ints, covered: Bools) -> Floats:
    reach = np.full(pad.shape, np.nan)
    objects = {column: layer.objects for column, layer in outer(board)}
    for row, column in np.argwhere(covered & (pad >= 0)).tolist():
        corners = shapely.get_coordinates(objects[column].shape[pad[row, column]])
        body = _body(board, int(cover[row, column])).body
        reach[row, column] = shapely.distance(body, shapely.points(corners)).max()
    return reach


def _body(board: Board, index: int) -> Part:
    return (board.parts or ())[index]


# Nets


def _lost(board: Board, island: Ints, joined: Bools, covered: Bools) -> Bools:
    """Joints under their own body without which lead and copper stay apart.

    Joints that can be reached hold islands and leads together. Layers between are left to other
    rules: what they carry counts as joined.
    """
    number, count = _numbered(board, island)
    nodes = count + np.arange(len(island))
    open_ = (island >= 0) & ~covered
    pairs = [
        np.stack([nodes[open_[:, column]], number[open_[:, column], column]], axis=1)
        for column in range(2)
    ]
    if len(board.copper) > len(SIDES):
        nets = np.concatenate([layer.net for _, layer in outer(board)])
        first = np.unique(nets, return_index=True)
        pairs.append(np.stack([first[1][np.searchsorted(first[0], nets)], np.arange(count)], 1))
    root, _ = _united(count + len(island), np.concatenate(pairs))
    apart = root[number] != root[nodes][:, None]
    lost: Bools = covered & joined & apart
    return lost


def _numbered(board: Board, island: Ints) -> tuple[Ints, int]:
    """Islands counted through both sides, and how many there are."""
    start, count = np.zeros(2, np.int64), 0
    for column, layer in outer(board):
        start[column] = count
        count += len(layer.islands)
    return np.where(island >= 0, island + start, 0), count


def _spare(island: Ints) -> int:
    """Joints of both sides, (n, 2) islands, that close a ring."""
    if not len(island):
        return 0
    top = int(island[:, 0].max()) + 1
    pairs = island + np.array([0, top])
    _, joins = _united(int(pairs.max()) + 1, pairs)
    return len(island) - joins


def _united(count: int, pairs: Ints) -> tuple[Ints, int]:
    """(count,) the group of each thing once pairs are joined, and how many pairs joined two."""
    group = components(count, pairs[:, 0], pairs[:, 1])
    return group, count - len(np.unique(group))


def _bare(board: Board, pad: Ints, island: Ints, joined: Bools) -> tuple[str, ...]:
    """Sides that hold pads of holes, all with copper on the other side, and nothing of a net."""
    found = []
    if len(board.copper) != len(SIDES):
        return ()
    for column, layer in outer(board):
        here, objects = island[:, column], layer.objects
        at_holes = np.unique(here[here >= 0])
        alone = ~joined[:, column] & (island[:, 1 - column] >= 0)
        other = np.setdiff1d(np.arange(len(layer.islands)), at_holes)
        solder = objects.dark & (objects.kind != Kind.TRACE) & np.isin(layer.island_of, other)
        named = any(layer.net_name[island] for island in other.tolist())
        if len(at_holes) and alone[here >= 0].all() and not solder.any() and not named:
            found.append(layer.side)
    return tuple(found)
