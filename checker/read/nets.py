"""Which islands are one net: by attributes, by a netlist's points, or by drawn connectivity."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker import plural
from checker.board import Note
from checker.read.groups import Groups
from checker.read.netlist import NO_NET

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import DrawnObjects, FileEnd, Floats, Hole, Ints, Pin, Shapes

BY_ATTRIBUTES = "layer attributes"
LANDED = 0.5  # share of a netlist's points that must lie on copper for it to be used
MOST_TOLD = 6  # nets that one note names
_CHUNK = 8  # boundary segments whose box is looked up at once
_ROWS = 512  # such boxes whose neighbours are held at one time: aslant, all may overlap all


class DrawnLayer(Struct, frozen=True, eq=False):
    """A layer of copper before its nets are known; fields as in `checker.board.CopperLayer`."""

    side: str
    source: str
    objects: DrawnObjects
    islands: Shapes
    island_of: Ints
    end: FileEnd


class Nets(Struct, frozen=True, eq=False):
    """Net numbers and names of the islands of each layer, and where they come from."""

    number: tuple[Ints, ...]
    name: tuple[tuple[str | None, ...], ...]
    source: str
    ties: tuple[tuple[str, ...], ...]
    notes: tuple[Note, ...]


def name_nets(
    layers: Sequence[DrawnLayer],
    holes: Sequence[Hole],
    pins: Sequence[Pin],
    radii: Floats,
    netlist: str,
    tolerance: float,
) -> Nets:
    """Number the nets; equal numbers are one net by design, on any side.

    Args:
        layers: from top to bottom.
        holes: a hole not said to be unplated joins the sides by design.
        pins: points of a netlist.
        radii: (len(pins),) of the pins' holes in mm, 0 without one.
        netlist: name of the file they are from.
        tolerance: islands of a layer nearer than twice this count as touching.
    """
    first = np.cumsum([0, *(len(layer.islands) for layer in layers)])
    touching = Groups(int(first[-1]))
    for layer, start in zip(layers, first, strict=False):
        a, b = touching_pairs(layer.islands, 2 * tolerance)
        touching.join(a + start, b + start)
    joints = _joints(layers, first, [hole for hole in holes if hole.plated is not False])
    notes: list[Note] = []
    source, named = BY_ATTRIBUTES, _by_attributes(layers, first)
    if not named and pins:
        source, named = "netlist file", _by_points(layers, first, pins, radii, netlist, notes)
    if not named:
        source = "drawn connectivity"
    piece = touching.labels()
    notes += _tied(layers, first, piece, named)
    label, names, ties = _merge(piece, joints, named, notes)
    number = np.unique(label, return_inverse=True)[1].reshape(-1)
    split = [slice(int(a), int(b)) for a, b in pairwise(first)]
    return Nets(
        tuple(number[part] for part in split),
        tuple(tuple(names.get(int(n)) for n in label[part]) for part in split),
        source,
        ties,
        tuple(notes),
    )


def touching_pairs(islands: Shapes, distance: float) -> tuple[Ints, Ints]:
    """Pairs of islands nearer than ``distance``, by the boxes of short pieces of boundary."""
    rings, of_ring = shapely.get_rings(islands, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if not len(points):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    start = np.flatnonzero(np.diff(ring, prepend=-1))
    place = np.arange(len(points)) - start[ring]
    segment = np.flatnonzero(ring[:-1] == ring[1:])  # each from a point to the next of its ring
    new = np.diff(ring[segment], prepend=-1) != 0
    new |= place[segment] % _CHUNK == 0
    chunk = np.cumsum(new) - 1
    ends = np.flatnonzero(np.diff(chunk, append=-1))
    order = np.insert(segment, ends + 1, segment[ends] + 1)
    pieces = shapely.linestrings(points[order], indices=np.insert(chunk, ends + 1, chunk[ends]))
    owner = of_ring[ring[segment[ends]]]
    x0, y0, x1, y1 = shapely.bounds(pieces).T
    boxes = shapely.box(x0 - distance, y0 - distance, x1 + distance, y1 + distance)
    tree = shapely.STRtree(pieces)
    found = [np.empty((2, 0), np.int64)]
    for first in range(0, len(boxes), _ROWS):
        a, b = tree.query(boxes[first : first + _ROWS])
        a += first
        foreign = owner[a] < owner[b]
        a, b = a[foreign], b[foreign]
        near = shapely.dwithin(pieces[a], pieces[b], distance)
        found.append(np.stack([owner[a[near]], owner[b[near]]]))
    pairs = np.unique(np.concatenate(found, axis=1), axis=1)
    return pairs[0], pairs[1]


def landing(shapes: Shapes, radii: Floats, islands: Shapes) -> tuple[Ints, Ints]:
    """Pairs (i, j): shape i (a hole's centre line or a point) lies on island j.

    Where it lies on none, because the pad is drawn as a ring, the islands at the hole's edge
    count instead.
    """
    if not len(shapes) or not len(islands):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    shapely.prepare(islands)
    tree = shapely.STRtree(islands)
    item, island = tree.query(shapely.envelope(shapes))
    on = shapely.intersects(islands[island], shapes[item])
    item, island = item[on], island[on]
    rest = np.setdiff1d(np.arange(len(shapes)), item)
    x0, y0, x1, y1 = shapely.bounds(shapes[rest]).T
    reach = radii[rest] + 0.01
    near, ring = tree.query(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach))
    on = shapely.dwithin(islands[ring], shapes[rest[near]], reach[near])
    return np.concatenate([item, rest[near[on]]]), np.concatenate([island, ring[on]])


def _joints(
    layers: Sequence[DrawnLayer], first: Ints, holes: Sequence[Hole]
) -> list[tuple[Hole, list[int]]]:
    """For each hole the islands of all layers that it joins by design."""
    shapes = np.array(
        [shapely.LineString(h.path) if h.is_slot else shapely.Point(h.path[0]) for h in holes],
        object,
    )
    radii = np.array([hole.diameter / 2 for hole in holes])
    joined: list[list[int]] = [[] for _ in holes]
    for layer, start in zip(layers, first, strict=False):
        hit, island = landing(shapes, radii, layer.islands)
        for i, j in zip(hit.tolist(), island.tolist(), strict=True):
            joined[i].append(j + int(start))
    return list(zip(holes, joined, strict=True))


def _by_attributes(layers: Sequence[DrawnLayer], first: Ints) -> list[tuple[int, str]]:
    """(island, net name) of all objects that carry a net."""
    named: list[tuple[int, str]] = []
    for layer, start in zip(layers, first, strict=False):
        objects = layer.objects
        rows = (objects.net >= 0) & (layer.island_of >= 0)
        pairs = np.unique(np.stack([layer.island_of[rows], objects.net[rows]]), axis=1)
        named += [(i + int(start), objects.names[n]) for i, n in pairs.T.tolist()]
    return [(island, net) for island, net in named if net not in NO_NET]


def _by_points(
    layers: Sequence[DrawnLayer],
    first: Ints,
    pins: Sequence[Pin],
    radii: Floats,
    name: str,
    notes: list[Note],
) -> list[tuple[int, str]]:
    """(island, net name) of all points of a netlist that lie on copper of their side."""
    shapes = shapely.points([pin.x for pin in pins], [pin.y for pin in pins])
    expected, landed = np.zeros(len(pins), bool), np.zeros(len(pins), bool)
    named: list[tuple[int, str]] = []
    for layer, start in zip(layers, first, strict=False):
        rows = np.flatnonzero([pin.side in (None, layer.side) for pin in pins])
        hit, island = landing(shapes[rows], radii[rows], layer.islands)
        expected[rows] = True
        landed[rows[hit]] = True
        named += [
            (j + int(start), pins[i].net)
            for i, j in zip(rows[hit].tolist(), island.tolist(), strict=True)
        ]
    share = landed[expected].mean() if expected.any() else 0.0
    if share < LANDED:
        text = f"not used: {100 * share:.0f} % of its points lie on copper (another origin?)"
        notes.append(Note(name, 0, text))
        return []
    missed = int((expected & ~landed).sum())
    if missed:
        notes.append(Note(name, 0, f"{missed} of {len(pins)} points lie on no copper"))
    return [(island, net) for island, net in dict.fromkeys(named) if net not in NO_NET]


def _tied(
    layers: Sequence[DrawnLayer], first: Ints, piece: Ints, named: Sequence[tuple[int, str]]
) -> list[Note]:
    """Notes on copper that carries the names of several nets, one for each such set of nets."""
    of_piece: dict[int, dict[str, int]] = {}
    for island, net in named:
        of_piece.setdefault(int(piece[island]), {}).setdefault(net, island)
    told: dict[tuple[str, ...], str] = {}
    for nets in of_piece.values():
        if len(nets) > 1:
            layer = int(np.searchsorted(first, min(nets.values()), "right")) - 1
            told.setdefault(tuple(sorted(nets)), layers[layer].source)
    return [
        Note(
            source,
            0,
            f"its copper joins the nets {_few(nets)}, which are taken as one; where that "
            "is not on purpose, the layout has a short",
        )
        for nets, source in sorted(told.items())
    ]


def _few(nets: Sequence[str]) -> str:
    more = len(nets) - MOST_TOLD
    return plural.listed([*nets[:MOST_TOLD], *([f"{more} more"] if more > 0 else [])])


def _merge(
    piece: Ints,
    joints: Sequence[tuple[Hole, list[int]]],
    named: Sequence[tuple[int, str]],
    notes: list[Note],
) -> tuple[Ints, dict[int, str], tuple[tuple[str, ...], ...]]:
    """One label per island, the name of each label, and the names that drawn copper ties.

    Args:
        piece: (n,) label of the copper that an island is in, islands that touch taken as one.
        joints: holes with the islands they join.
        named: (island, net name); empty where nets come from what is drawn alone.
        notes: told of holes that meet several nets.
    """
    texts = sorted({net for _, net in named})
    index = {net: i for i, net in enumerate(texts)}
    count = len(piece)
    # Names stand behind the islands: a name and every piece of copper that bears it are joined.
    groups = Groups(count + len(texts))
    groups.join(np.arange(count), piece)
    groups.join(
        np.array([island for island, _ in named], np.int64),
        np.array([count + index[net] for _, net in named], np.int64),
    )
    bears = {groups.find(count + i) for i in range(len(texts))}
    _through_holes(groups, joints, bears, notes)
    label = groups.labels()
    of_label: dict[int, list[str]] = {}
    for i, net in enumerate(texts):
        of_label.setdefault(int(label[count + i]), []).append(net)
    ties = tuple(sorted(tuple(nets) for nets in of_label.values() if len(nets) > 1))
    names = {key: " + ".join(nets) for key, nets in of_label.items()}
    return label[:count], names, ties


def _through_holes(
    groups: Groups,
    joints: Sequence[tuple[Hole, list[int]]],
    bears: set[int],
    notes: list[Note],
) -> None:
    """Join what holes join: unnamed copper freely, to a named net where only one is met."""
    nameless = [
        (hole, [island for island in islands if groups.find(island) not in bears], islands)
        for hole, islands in joints
    ]
    for _, free, _ in nameless:
        if len(free) > 1:
            groups.join(np.full(len(free) - 1, free[0]), np.array(free[1:]))
    met: dict[int, set[int]] = {}
    clashing = []
    for hole, free, islands in nameless:
        nets = {groups.find(island) for island in islands} & bears
        if free:
            met.setdefault(groups.find(free[0]), set()).update(nets)
        if len(nets) > 1:
            clashing.append(hole)
    if clashing:
        x, y = clashing[0].path[0]
        holes = plural.count(len(clashing), "hole")
        text = f"copper of several nets at {holes}, one at {x:.3f}, {y:.3f}"
        notes.append(Note(clashing[0].source, clashing[0].line, text))
    for root, nets in met.items():
        if len(nets) == 1:
            groups.join(np.array([root]), np.array(list(nets)))
