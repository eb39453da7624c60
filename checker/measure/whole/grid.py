"""Leads on a square grid of holes: which meet it, which are off it, and how many wires join them.

What a perfboard offers is one square grid of holes. Nothing fixes where a board lies on it but the
board's own leads, so it is laid where most of them meet a hole. A lead reaches a hole that is no
farther away than it can be bent; a part whose leads are off together may be moved as a whole. The
grid is never turned: by a quarter it is the same, and by less no row of leads would stay on it.

Copper does not matter here, only which leads are of one net. A net of n leads takes n - 1 joints:

* a bridge joins leads in holes next to each other in a row or a column, by solder or by a lead
  bent over; of a net they are as many as its leads less the clusters that such neighbours make;
* a wire joins two such clusters: one less than there are. Wires are insulated and may cross.

Leads are counted where they end up: each in the hole nearest to it once its part has been moved.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.labels import natural
from checker.measure.holes.owners import About, HoleNets, Paths
from checker.measure.holes.pads import LEAD, SCREW
from checker.measure.holes.uses import Use, uses_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints

    Bools = NDArray[np.bool_]

ERROR = 2e-4
"""Bound in mm on the error of offsets and fits, up to `CROWD` different places on the grid."""

PITCH = 2.54
"""Holes of common perfboard are this far apart (mm): the grid of IEC 60097 in inches."""

REACH = 0.4
"""How far a lead is bent (mm) to reach its hole without a thought; common practice."""

CROWD = 2000
"""So many different places on the grid are told apart to 0.1 um; of more, the best place of the
grid is sought among places in steps of 0.05 mm."""

_FINE, _COARSE = 1e-4, 0.05
_TOUCH = 1e-6  # mm; leads on the very rim of reach are within it


class Leads(Struct, frozen=True, eq=False):
    """The leads of a board: columns of length n.

    A lead is what stands in a hole that the files call a component's. Where they say nothing of a
    hole in copper it counts as one if it is as wide as the thinnest lead asks for and no screw's.

    Attributes:
        hole: (n,) index into the board's holes.
        at: (n, 2) middle of the hole or slot, mm.
        size: (n,) diameter of the hole, length of a slot, mm.
        net: (n,) number of its net, -1 without one.
        part: (n,) index into ``parts``, -1 where nobody says whose it is.
        parts: names of the parts, as people count.
        pin: what each lead is called ("J1.2"), "" where it has no name.
    """

    hole: Ints
    at: Floats
    size: Floats
    net: Ints
    part: Ints
    parts: tuple[str, ...]
    pin: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.hole)


class Grid(Struct, frozen=True, eq=False):
    """How leads meet a grid that lies where most of them do; lengths in mm.

    Attributes:
        pitch: of the grid; ``reach`` how far from its hole a lead may be.
        phase: (2,) a hole of the grid, within one pitch of the origin.
        offset: (n, 2) of each lead from the hole nearest to it.
        off: (n,) farther from it than ``reach`` by more than `ERROR`.
        fit: (parts,) how far a lead of the part is off at most once the part is moved as well as
            can be; exact up to a quarter of the pitch, an upper bound beyond.
        shift: (parts, 2) that way to move it; zeros where all its leads are within reach.
        cell: (n, 2) column and row of the hole that each lead goes into, its part moved where that
            brings all its leads within reach.
    """

    leads: Leads
    pitch: float
    reach: float
    phase: Floats
    offset: Floats
    off: Bools
    fit: Floats
    shift: Floats
    cell: Ints

    @property
    def distance(self) -> Floats:
        """(n,) of each lead from the hole nearest to it."""
        length: Floats = np.hypot(self.offset[:, 0], self.offset[:, 1])
        return length


class Wires(Struct, frozen=True, eq=False):
    """What joins the leads of each net of two or more: columns of length n.

    Attributes:
        net: (n,) numbers; ``leads`` (n,) how many it has.
        bridges: (n,) joints between neighbours on the grid; ``wires`` (n,) all others.
    """

    net: Ints
    leads: Ints
    bridges: Ints
    wires: Ints


@lru_cache(maxsize=1)
def leads_of(board: Board) -> Leads:
    """The leads of a board; vias and holes for screws and pegs are none."""
    uses = uses_of(board)
    diameter = np.array([hole.diameter for hole in board.holes])
    taken = (uses.use == Use.COMPONENT) | ((uses.use == Use.UNKNOWN) & (diameter >= LEAD))
    rows = np.flatnonzero(taken & (diameter < SCREW))
    pin = tuple(min(uses.pins[row], key=natural, default="") for row in rows.tolist())
    owner = [name.rpartition(".")[0] or name for name in pin]
    parts = tuple(sorted(set(filter(None, owner)), key=natural))
    index = {name: number for number, name in enumerate(parts)} | {"": -1}
    paths = Paths.of(board)
    nets = HoleNets.of(board, [About.of(layer, paths) for layer in board.copper])
    net = np.full(len(board.holes), -1)
    net[nets.hole[::-1]] = nets.net[::-1]  # ascending: the least of several stays
    return Leads(
        rows,
        uses.at[rows],
        diameter[rows] + shapely.length(paths.path[rows]),
        net[rows],
        np.array([index[name] for name in owner], dtype=np.int64),
        parts,
        pin,
    )


@lru_cache(maxsize=2)
def grid_of(board: Board, pitch: float = PITCH, reach: float = REACH) -> Grid:
    """The leads of a board on a grid of a pitch, which lies where most of them meet it.

    Of places where equally many do, the one with the least distances, then with the first names.

    Raises:
        ValueError: ``reach`` is more than a quarter of ``pitch``.
    """
    leads = leads_of(board)
    phase = best_phase(leads.at, pitch, reach, _ranks(leads.pin))
    offset = wrapped(leads.at - phase, pitch)
    off = np.hypot(offset[:, 0], offset[:, 1]) > reach + ERROR
    fit, centre = _fits(leads, pitch)
    strays = np.zeros(len(leads.parts), bool)
    strays[leads.part[off & (leads.part >= 0)]] = True
    shift = np.where(strays[:, None], -wrapped(centre - phase, pitch), 0.0)
    moved = np.where((fit <= reach + ERROR)[:, None], shift, 0.0)
    at = leads.at + np.vstack([moved, np.zeros((1, 2))])[leads.part]
    cell = np.rint((at - phase) / pitch).astype(np.int64)
    return Grid(leads, pitch, reach, phase, offset, off, fit, shift, cell)


@lru_cache(maxsize=2)
def wires_of(board: Board, pitch: float = PITCH, reach: float = REACH) -> Wires:
    """How many bridges and wires join the leads of each net; see above what they are."""
    grid = grid_of(board, pitch, reach)
    places: dict[int, set[tuple[int, int]]] = {}
    for net, (column, row) in zip(grid.leads.net.tolist(), grid.cell.tolist(), strict=True):
        if net >= 0:
            places.setdefault(net, set()).add((column, row))
    leads = Counter(grid.leads.net.tolist())
    several = sorted(net for net in places if leads[net] > 1)
    clusters = np.array([_clusters(places[net]) for net in several], dtype=np.int64)
    count = np.array([leads[net] for net in several], dtype=np.int64)
    return Wires(np.array(several, dtype=np.int64), count, count - clusters, clusters - 1)


def wrapped(offset: Floats, pitch: float) -> Floats:
    """Offsets to the nearest hole of a grid through the origin, at most half a pitch each way."""
    least: Floats = offset - pitch * np.rint(offset / pitch)
    return least


def clear_way(steps: Ints, pitch: float, pad: float) -> Floats:
    """(n,) least laminate in mm between holes (n, 2) columns and rows apart, pads subtracted.

    Copper that floats between two conductors shortens what parts them, so each pad on the way is
    passed for nothing: the way goes from pad to pad, straight or aslant, whichever is shorter.
    """
    across = np.abs(steps)
    straight, aslant = pitch - pad, pitch * np.sqrt(2) - pad
    both = across.min(axis=1)
    way: Floats = both * min(aslant, 2 * straight) + (across.max(axis=1) - both) * straight
    return way


# The place of the grid


def best_phase(at: Floats, pitch: float, reach: float, ranks: Ints) -> Floats:
    """(2,) where a hole of the grid lies so that most of the points (n, 2) are within reach of one.

    On a grid wrapped to one pitch, the discs of radius ``reach`` about the points overlap most
    there. The deepest overlap touches the rim of one of its discs; all rims are walked along.
    ``ranks`` (n,) decide between places that are equally good.
    """
    if reach > pitch / 4:
        raise ValueError(f"a reach of {reach} mm is more than a quarter of {pitch} mm")
    if not len(at):
        return np.zeros(2)
    spot, of_spot, weight = _spots(at, pitch)
    candidates: dict[bytes, Floats] = {}
    deepest = 0
    for depth, place in _deepest(spot, weight, pitch, reach):
        if depth < deepest:
            continue
        if depth > deepest:
            deepest = depth
            candidates.clear()
        candidates.setdefault(_within(spot, place, pitch, reach).tobytes(), place)
    best: tuple[tuple[object, ...], Floats] | None = None
    for key, place in candidates.items():
        members = np.frombuffer(key, dtype=bool)
        phase = _settled(spot[members], weight[members], place, pitch, reach)
        apart = wrapped(spot[members] - phase, pitch)
        effort = round(float((weight[members] * np.hypot(*apart.T)).sum()), 6)
        named = tuple(sorted(ranks[members[of_spot]].tolist()))
        order = (effort, named, *np.mod(phase, pitch).round(6).tolist())
        if best is None or order < best[0]:
            best = order, phase
    assert best is not None
    return np.mod(best[1], pitch)


def _spots(at: Floats, pitch: float) -> tuple[Floats, Ints, Ints]:
    """Different places of points on the grid (m, 2), that of each point (n,), points at each."""
    for step in (_FINE, _COARSE):
        spot, of_spot, weight = np.unique(
            np.rint(np.mod(at, pitch) / step), axis=0, return_inverse=True, return_counts=True
        )
        if len(spot) <= CROWD:
            break
    return spot * step, of_spot.ravel(), weight


def _within(spot: Floats, place: Floats, pitch: float, reach: float) -> Bools:
    apart = wrapped(spot - place, pitch)
    near: Bools = np.hypot(apart[:, 0], apart[:, 1]) <= reach + _TOUCH
    return near


def _deepest(
    spot: Floats, weight: Ints, pitch: float, reach: float
) -> Iterator[tuple[int, Floats]]:
    """Per disc, every stretch of its rim that most discs cover: how many, and its middle."""
    for one in range(len(spot)):
        apart = wrapped(spot - spot[one], pitch)
        distance = np.hypot(apart[:, 0], apart[:, 1])
        near = (distance <= 2 * reach) & (np.arange(len(spot)) != one)
        if not near.any():
            yield int(weight[one]), spot[one]
            continue
        middle = np.arctan2(apart[near, 1], apart[near, 0])
        half = np.arccos(np.minimum(1.0, distance[near] / (2 * reach)))
        start = np.mod(middle - half, 2 * np.pi)
        end = start + 2 * half
        gain = np.concatenate([weight[near]] * 2)
        # Twice round, so that stretches over the zero of the angle are whole.
        angle = np.concatenate([start, start + 2 * np.pi, end, end + 2 * np.pi])
        gain = np.concatenate([gain, -gain])
        order = np.lexsort((-gain, angle.round(9)))
        depth = np.cumsum(gain[order])
        most = int(depth.max())
        for at in np.flatnonzero(depth == most).tolist():
            turn = (angle[order[at]] + angle[order[at + 1]]) / 2
            rim = reach * np.array([np.cos(turn), np.sin(turn)])
            yield most + int(weight[one]), spot[one] + rim


def _settled(spot: Floats, weight: Ints, place: Floats, pitch: float, reach: float) -> Floats:
    """Towards the median of points all within reach of a place, as far as all stay so."""
    points = wrapped(spot - place, pitch)
    median = np.array([_median(column, weight) for column in points.T])
    centre = _middle(points)
    way, away = median - centre, points - centre
    # Least root t of |away - t way| = reach, per point.
    a, b = float(way @ way), away @ way
    c = (away**2).sum(axis=1) - reach**2
    if a < _TOUCH**2:
        return np.asarray(place + centre)
    roots = (b + np.sqrt(np.maximum(b**2 - a * c, 0.0))) / a
    return np.asarray(place + centre + float(np.clip(roots.min(), 0.0, 1.0)) * way)


def _middle(points: Floats) -> Floats:
    """(2,) of the least circle about points (n, 2)."""
    if (np.ptp(points, axis=0) < _TOUCH).all():
        return np.asarray(points.mean(axis=0))
    circle = shapely.minimum_bounding_circle(shapely.multipoints(points))
    return np.asarray(shapely.get_coordinates(shapely.centroid(circle))[0])


def _median(values: Floats, weight: Ints) -> float:
    order = np.argsort(values, kind="stable")
    total = np.cumsum(weight[order])
    low, high = np.searchsorted(total, [total[-1] / 2, total[-1] / 2 + 0.5])
    return float(values[order[[low, high]]].mean())


# Parts and nets


def _ranks(names: tuple[str, ...]) -> Ints:
    """(n,) the order of names as people count, those without one last."""
    order = {name: rank for rank, name in enumerate(sorted(set(names) - {""}, key=natural))}
    return np.array([order.get(name, len(order)) for name in names], dtype=np.int64)


def _fits(leads: Leads, pitch: float) -> tuple[Floats, Floats]:
    """Per part the radius of the least circle about its leads, wrapped to a pitch, and its middle.

    Each axis is cut open where it is free of leads for longest.
    """
    radius, centre = np.zeros(len(leads.parts)), np.zeros((len(leads.parts), 2))
    for part in range(len(leads.parts)):
        points = leads.at[leads.part == part]
        open_ = np.column_stack([_unrolled(column, pitch) for column in points.T])
        centre[part] = _middle(open_)
        radius[part] = np.hypot(*(open_ - centre[part]).T).max()
    return radius, centre


def _unrolled(values: Floats, pitch: float) -> Floats:
    wrap = np.mod(values, pitch)
    steps = np.unique(wrap)
    gaps = np.diff(np.append(steps, steps[0] + pitch))
    first = steps[(int(np.argmax(gaps)) + 1) % len(steps)]
    opened: Floats = np.mod(wrap - first + _TOUCH, pitch) - _TOUCH + first
    return opened


def _clusters(places: set[tuple[int, int]]) -> int:
    """How many groups of holes are joined through neighbours in a row or a column."""
    left, count = set(places), 0
    while left:
        count += 1
        front = [left.pop()]
        while front:
            x, y = front.pop()
            beside = left & {(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)}
            left -= beside
            front += beside
    return count
