"""Which lines of which files draw what a finding speaks of."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.labels import labels_of
from checker.measure.boundary.segments import Segments
from checker.measure.boundary.standing import Standing
from checker.remarks import Origin

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.board import Floats, Hole, Ints
    from checker.findings import Finding
    from checker.measure import Facts

# How far from a place (mm) its copper is looked for, a little farther each time; what lies beyond
# the last is not what the finding speaks of.
_NEAR = (0.3, 1.0, 5.0)
OUTER = ("top", "bottom")  # the sides that a tool reaches, and that are measured
_ON_EDGE = 0.01  # mm
_DIGITS = 6  # of a place in mm: rules hand on what was measured, digit for digit


@lru_cache(maxsize=1)  # several processes ask for the places of one board
def origins_of(facts: Facts) -> Origins:
    """The origins on a board, looked up where asked."""
    return Origins(facts)


class Origins:
    """Traces findings of one board back to its files."""

    def __init__(self, facts: Facts) -> None:
        self.board, self.labels = facts.board, labels_of(facts.board)
        self._facts = facts
        self._boundaries: dict[int, Segments] = {}
        self._standing = [Standing(layer, self.board.tolerance) for layer in self.board.copper]

    def of(self, finding: Finding) -> tuple[Origin, ...]:
        """What the finding speaks of, what a person would look at first first.

        Copper for a finding that has a side, else the hole or the edge that is there; for the
        whole board the file of its side, or those of both outer sides. Never empty.
        """
        seen = finding.seen
        layers = [
            index
            for index, layer in enumerate(self.board.copper)
            if layer.side in ((seen.side,) if seen.side else OUTER)
        ]
        found: list[Origin] = []
        if seen.x is not None and seen.y is not None:
            place = _key(seen.x, seen.y)
            holes = [
                Origin(hole.source, hole.line, f"the hole {hole.diameter:.2f} mm")
                for hole in self._holes.get(place, ())
            ]
            copper = [one for index in layers for one in self._copper(index, place, seen.nets)]
            edge = () if seen.side or holes else self._edge(place)
            found = [*copper, *holes] if seen.side else [*(edge or (*holes, *copper))]
        if not found:
            sides = layers or range(len(self.board.copper))
            found = [
                Origin(layer.source, 0, f"the copper of the {layer.side}")
                for layer in map(self.board.copper.__getitem__, sides)
            ]
        return tuple(dict.fromkeys(found))

    def _copper(
        self, index: int, place: tuple[float, float], nets: tuple[str, ...]
    ) -> Iterator[Origin]:
        """Objects of a layer at a place: of the gap or neck measured there, else the nearest."""
        measured = self._measured.get((index, *place))
        pairs = list(self._nearest(index, place, nets)) if measured is None else measured
        layer = self.board.copper[index]
        for row, island in sorted(pairs, key=lambda pair: self.labels.rank(index, *pair)):
            line = int(layer.objects.line[row]) if row >= 0 else 0
            yield Origin(layer.source, line, self.labels.standing(index, row, island))

    def _edge(self, place: tuple[float, float]) -> tuple[Origin, ...]:
        """The file of the board's edge, where a place lies on it or in an opening of it."""
        outline = self.board.outline or self.board.stray_outline
        openings = self.board.open_edge if outline is None else outline.openings
        near = any(np.hypot(place[0] - x, place[1] - y) <= size for x, y, size in openings)
        if outline is not None and not near:
            boundary, point = outline.area.boundary, shapely.Point(place)
            near = bool(shapely.dwithin(boundary, point, _ON_EDGE))
        files = [file for file, role in self.board.sources if role == "outline"]
        if outline is not None:
            files.insert(0, outline.source)
        return (Origin(files[0], 0, "the edge of the board"),) if near and files else ()

    @cached_property
    def _measured(self) -> dict[tuple[int, float, float], list[tuple[int, int]]]:
        """(layer, place) -> rows and islands of the gaps and necks there, gaps first."""
        found: dict[tuple[int, float, float], list[tuple[int, int]]] = {}
        for index, (gaps, necks) in enumerate(
            zip(self._facts.gaps, self._facts.necks, strict=True)
        ):
            middles = np.round((gaps.a + gaps.b) / 2, _DIGITS).tolist()
            ends = zip(
                gaps.object_a.tolist(), gaps.object_b.tolist(), gaps.islands.tolist(), strict=True
            )
            for (x, y), (a, b, (A, B)) in zip(middles, ends, strict=True):
                found.setdefault((index, x, y), [(a, A), (b, B)])
            places = np.round(necks.at, _DIGITS).tolist()
            owners = zip(necks.object.tolist(), necks.island.tolist(), strict=True)
            for (x, y), owner in zip(places, owners, strict=True):
                found.setdefault((index, x, y), [owner])
        return found

    @cached_property
    def _holes(self) -> dict[tuple[float, float], list[Hole]]:
        """Holes by their middle; slots by both ends too."""
        found: dict[tuple[float, float], list[Hole]] = {}
        for hole in self.board.holes:
            middle = np.mean(hole.path, axis=0).tolist()
            for x, y in dict.fromkeys([tuple(middle), *hole.path]):
                found.setdefault(_key(x, y), []).append(hole)
        return found

    def _boundary(self, index: int) -> Segments:
        if index not in self._boundaries:
            self._boundaries[index] = Segments.of(self.board.copper[index].islands)
        return self._boundaries[index]

    def _nearest(
        self, index: int, place: tuple[float, float], nets: tuple[str, ...]
    ) -> Iterator[tuple[int, int]]:
        """Row and island of the nearest copper of each net, or of any where none is named."""
        boundary, standing = self._boundary(index), self._standing[index]
        nearest: dict[str, int] = {}
        for reach in _NEAR:
            near = boundary.tree.query(shapely.Point(place), "dwithin", distance=reach)
            near = near[np.argsort(_apart(boundary, near, place), kind="stable")]
            _, first = np.unique(boundary.island[near], return_index=True)
            for segment in near[np.sort(first)].tolist():
                label = self.labels.net(index, int(boundary.island[segment]))
                nearest.setdefault(label, segment)
            if nearest and all(net in nearest for net in nets):
                break
        chosen = [nearest[net] for net in nets if net in nearest] or list(nearest.values())[:1]
        for segment in chosen:
            row = np.array([segment])
            edge = boundary.at(row, _foot(boundary, row, place))
            island = boundary.island[row]
            # What stands right at the place, such as a pad in a pour, else at the nearest edge.
            here, there = standing.at(np.vstack([place, edge]), np.repeat(island, 2)).tolist()
            yield (there if here < 0 else here), int(island[0])


def _foot(boundary: Segments, rows: Ints, place: tuple[float, float]) -> Floats:
    """How far along segments, as a fraction, the point nearest to a place lies."""
    along = np.einsum("ij,ij->i", np.array(place) - boundary.a[rows], boundary.direction[rows])
    fraction: Floats = np.clip(along / boundary.length[rows], 0.0, 1.0)
    return fraction


def _apart(boundary: Segments, rows: Ints, place: tuple[float, float]) -> Floats:
    """Distance of a place from segments."""
    off = boundary.at(rows, _foot(boundary, rows, place)) - np.array(place)
    distance: Floats = np.hypot(off[:, 0], off[:, 1])
    return distance


def _key(x: float, y: float) -> tuple[float, float]:
    return round(x, _DIGITS), round(y, _DIGITS)
