"""Nets that leftover copper brings near to each other: only the bands cleared round them count."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct, field

from checker.electrical import spoken
from checker.exact import tie
from checker.findings import Observation, State
from checker.labels import labels_of
from checker.measure.copper.spacing import borders_of, nearest_between
from checker.remedy import up
from rules._ratings import Demand, demand, narrowing
from rules._remains import cleared

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from checker.board import Board, Ints, Rating
    from checker.process.model import Process


class _Class(Struct):
    """Nets of one voltage that are cleared alike, by ``width`` mm; ``rating`` None: 0 V."""

    rating: Rating | None
    width: float
    nets: set[int] = field(default_factory=set)

    @property
    def volts(self) -> float:
        return abs(self.rating.volts or 0.0) if self.rating else 0.0


def by_leftover(
    board: Board, process: Process, ratings: Mapping[int, Rating]
) -> Iterator[Observation]:
    """One observation for two classes of nets that border one piece of leftover copper."""
    stays = cleared(board, process)
    if process.clears is None or stays is None:
        return
    clears = process.clears.nominal
    lost = {worst: 2 * narrowing(process, worst=worst) for worst in (False, True)}
    for index, layer in enumerate(board.copper):
        if layer.side not in ("top", "bottom"):
            continue
        classes = _classes(layer.net, clears, ratings)
        short = [
            (one, other, asked, bands)
            for place, one in enumerate(classes)
            for other in classes[place:]
            for asked in [demand(one.rating, other.rating, pads=False)]
            for bands in [one.width + other.width - lost[asked.hazardous]]
            if bands < asked.limit - tie(board)
        ]
        if short:
            borders = borders_of(board, index, *stays)
            for pair in short:
                yield from _told(board, index, borders, *pair)


def _classes(nets: Ints, width: float, ratings: Mapping[int, Rating]) -> list[_Class]:
    """Classes of the nets of a layer, the highest voltage first."""
    found: dict[tuple[str, float], _Class] = {}
    for net in np.unique(nets).tolist():
        rating = ratings.get(net)
        cleared = max(width, (rating.cleared if rating else None) or 0.0)
        key = spoken(rating), cleared
        found.setdefault(key, _Class(rating, cleared)).nets.add(net)
    return sorted(found.values(), key=lambda one: (-one.volts, spoken(one.rating), one.width))


def _told(
    board: Board, index: int, borders: Ints, one: _Class, other: _Class, asked: Demand, bands: float
) -> Iterator[Observation]:
    bordering: dict[int, set[int]] = defaultdict(set)
    for net, piece in borders.tolist():
        bordering[piece].add(net)
    pairs = [
        (a, b)
        for nets in bordering.values()
        if len(nets & (one.nets | other.nets)) > 1
        for a, b in [(nets & one.nets, nets & other.nets)]
        if a and b
    ]
    if not pairs:
        return
    first, second = (frozenset(set().union(*side)) for side in zip(*pairs, strict=True))
    nearest = nearest_between(board, index, first, second)
    row = int(np.argmin(nearest.distance))
    labels, more = labels_of(board), asked.limit - bands
    nets = tuple(sorted(labels.net(index, island) for island in nearest.islands[row].tolist()))
    x, y = ((nearest.a[row] + nearest.b[row]) / 2).tolist()
    least = one.width + (more / 2 if one is other else more)
    yield Observation(
        message=f"{bands:.3f} mm without copper between {spoken(one.rating)} and "
        f"{spoken(other.rating)} by way of leftover copper, {asked.words}: "
        f"nearest {' and '.join(nets)}",
        remedy=f"Clear {up(least):.2f} mm of copper round each net of {spoken(one.rating)} and "
        "note that as cleared",
        cause=f"leftover copper near nets of {spoken(one.rating)}",
        state=State.NOT_MAKEABLE if asked.hazardous else State.MARGINAL,
        measured=bands,
        limit=asked.limit,
        side=board.copper[index].side,
        x=x,
        y=y,
        nets=nets,
    )
