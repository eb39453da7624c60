"""What is left of the copper where a path bites into it to pass a gap that is too narrow.

The path runs in the free space as far as it can. Through a gap narrower than the cut it takes from
both sides alike, as much as the narrowest spot of the gap asks for, and no more. The copper that
it sweeps is gone; what is left is measured like drawn copper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.measure.boundary.segments import Segments
from checker.measure.necks.census import census_necks

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from checker.board import CopperLayer, Floats, Ints, Shapes
    from checker.measure.facts import Gaps

SLACK = 0.002
"""The path gets so much more room (mm) than none, so that it is an area; bounds the excess bite."""

_QUARTER = 16  # segments of a quarter circle: chords within 0.1 % of a radius


class Loss(Struct, frozen=True, eq=False):
    """One layer after the cut; columns of different lengths.

    Attributes:
        neck_island, neck_at, neck_width: (n,), (n, 2), (n,) necks of what is left where the cut
            bit, mm; with ``neck_carries`` (n,) whether they join two parts of their net.
        pad, pad_left: (m,) rows of the layer's objects, and the share of their copper that is left.
        parted, parted_at: (k,) islands that fall into pieces with a pad each, and (k, 2) where.
        area: copper that the cut takes, mm2.
    """

    neck_island: Ints
    neck_at: Floats
    neck_width: Floats
    neck_carries: NDArray[np.bool_]
    pad: Ints
    pad_left: Floats
    parted: Ints
    parted_at: Floats
    area: float


def loss_of(
    layer: CopperLayer,
    gaps: Gaps,
    rows: Ints,
    fits: Floats,
    width: float,
    most: float,
    reach: float,
) -> Loss:
    """Cut a layer's trimmed gaps and measure what is left.

    Args:
        layer: its copper.
        gaps: its gaps.
        rows: (n,) those of them that open only by biting.
        fits: (n,) the widest cut that passes each of them without biting, mm.
        width: of the cut, mm: the path is led for it.
        most: the width it may come out with on that path; decides what is severed.
        reach: the widest neck looked for, mm.
    """
    tree = shapely.STRtree(layer.islands)
    paths = [
        (pair, _path(tree, pair, middles, width, bite))
        for pair, middles, bite in _pairs(gaps, rows, fits, width)
    ]
    touched = sorted({island for pair, path in paths for island in pair if not path.is_empty})
    return Loss(
        *_necks(layer, touched, paths, width, reach),
        *_pads(layer, paths, width),
        *_parted(layer, touched, paths, most),
        _area(layer, touched, paths, width),
    )


def _pairs(
    gaps: Gaps, rows: Ints, fits: Floats, width: float
) -> list[tuple[tuple[int, int], Any, float]]:
    """Two islands each with the middles of their trimmed gaps and how far the path has to bite."""
    middles = (gaps.a[rows] + gaps.b[rows]) / 2
    pairs, of = np.unique(gaps.islands[rows], axis=0, return_inverse=True)
    found = []
    for number, (one, other) in enumerate(pairs.tolist()):
        mine = of.reshape(-1) == number
        points = shapely.multipoints(middles[mine])
        found.append(((one, other), points, float((width - fits[mine].min()) / 2)))
    return found


def _path(tree: Any, pair: tuple[int, int], middles: Any, width: float, bite: float) -> Any:
    """Where the centre of the tool runs between two islands that it has to bite into."""
    small = min((tree.geometries[island] for island in pair), key=shapely.area)
    box = shapely.box(*_grown(shapely.bounds(small), 2 * width))
    one, other = (shapely.intersection(tree.geometries[island], box) for island in pair)
    # Centres from which a cut would touch both: there it bites, or does not pass.
    narrow = shapely.intersection(
        shapely.buffer(one, width / 2, quad_segs=_QUARTER),
        shapely.buffer(other, width / 2, quad_segs=_QUARTER),
    )
    parts = shapely.get_parts(narrow)
    narrow = shapely.union_all(parts[shapely.dwithin(parts, middles, width)])
    if narrow.is_empty:
        return narrow
    around = shapely.box(*_grown(shapely.bounds(narrow), 2 * width))
    near = shapely.intersection(tree.geometries[tree.query(around, predicate="intersects")], around)
    kept = shapely.buffer(near, -(bite + SLACK), quad_segs=_QUARTER)
    blocked = shapely.union_all(shapely.buffer(kept, width / 2, quad_segs=_QUARTER))
    return shapely.difference(narrow, blocked)


def _grown(bounds: Floats, by: float) -> Floats:
    grown: Floats = bounds + np.array([-by, -by, by, by])
    return grown


def _swept(paths: list[tuple[tuple[int, int], Any]], width: float, island: int) -> Any:
    return shapely.union_all(
        [
            shapely.buffer(path, width / 2, quad_segs=_QUARTER)
            for pair, path in paths
            if island in pair
        ]
    )


def _necks(
    layer: CopperLayer,
    touched: list[int],
    paths: list[tuple[tuple[int, int], Any]],
    width: float,
    reach: float,
) -> tuple[Ints, Floats, Floats, NDArray[np.bool_]]:
    pieces, of, cuts = [], [], []
    for island in touched:
        swept = _swept(paths, width, island)
        left = shapely.get_parts(shapely.difference(layer.islands[island], swept))
        left = left[shapely.area(left) > 0]
        pieces += left.tolist()
        of += [island] * len(left)
        cuts += [swept] * len(left)
    if not pieces:
        none = np.zeros(0, dtype=np.int64)
        return none, np.zeros((0, 2)), np.zeros(0), none.astype(bool)
    column: Shapes = np.empty(len(pieces), dtype=object)
    column[:] = pieces
    objects = layer.objects
    pads = objects.dark & (objects.kind == Kind.PAD)
    middles = shapely.get_coordinates(shapely.centroid(objects.shape[pads]))
    rows = census_necks(Segments.of(column), reach, middles)
    swept_at = np.array(cuts, dtype=object)[rows.island]
    bitten = shapely.dwithin(shapely.points(rows.at), swept_at, rows.width / 2 + 2 * SLACK)
    return (
        np.array(of, dtype=np.int64)[rows.island[bitten]],
        rows.at[bitten],
        rows.width[bitten],
        rows.carries[bitten],
    )


def _pads(
    layer: CopperLayer, paths: list[tuple[tuple[int, int], Any]], width: float
) -> tuple[Ints, Floats]:
    """Pads that the cut touches, with the share of each that is left."""
    objects = layer.objects
    pads = np.flatnonzero(objects.dark & (objects.kind == Kind.PAD))
    swept = np.array(
        [shapely.buffer(path, width / 2, quad_segs=_QUARTER) for _, path in paths], dtype=object
    )
    cut, pad = shapely.STRtree(objects.shape[pads]).query(swept, predicate="intersects")
    touched, of = np.unique(pad, return_inverse=True)
    rows = pads[touched]
    cuts = [shapely.union_all(swept[cut[of == number]]) for number in range(len(rows))]
    whole = shapely.area(objects.shape[rows])
    left = shapely.area(shapely.difference(objects.shape[rows], np.array(cuts, dtype=object)))
    return rows, left / np.maximum(whole, np.finfo(float).tiny)


def _parted(
    layer: CopperLayer,
    touched: list[int],
    paths: list[tuple[tuple[int, int], Any]],
    most: float,
) -> tuple[Ints, Floats]:
    """Islands of which the widest cut leaves two pieces or more that hold a pad."""
    objects = layer.objects
    flashed = objects.dark & (objects.kind == Kind.PAD)
    islands, at = [], []
    for island in touched:
        swept = _swept(paths, most, island)
        left = shapely.get_parts(shapely.difference(layer.islands[island], swept))
        pads = np.flatnonzero(flashed & (layer.island_of == island))
        middles = shapely.centroid(objects.shape[pads])
        holding = [piece for piece in left if shapely.intersects(piece, middles).any()]
        if len(holding) > 1:
            place = shapely.intersection(swept, layer.islands[island])
            islands.append(island)
            at.append(_between(place, holding))
    return np.array(islands, dtype=np.int64), np.array(at, dtype=float).reshape(-1, 2)


def _area(
    layer: CopperLayer, touched: list[int], paths: list[tuple[tuple[int, int], Any]], width: float
) -> float:
    """What the cut takes of the islands it touches."""
    taken = [
        shapely.area(shapely.intersection(layer.islands[one], _swept(paths, width, one)))
        for one in touched
    ]
    return float(sum(taken))


def _between(place: Any, holding: list[Any]) -> tuple[float, float]:
    """A point of the cut that touches two of the pieces it parts."""
    parts = shapely.get_parts(place)
    touching = [sum(shapely.dwithin(part, piece, SLACK) for piece in holding) for part in parts]
    point = shapely.point_on_surface(parts[int(np.argmax(touching))])
    return float(point.x), float(point.y)
