"""What spoils a board, and what the odds rest on, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.labels import labels_of
from checker.measure.holes.drilling import drilling_of
from checker.measure.holes.pads import SIDES
from checker.odds.bed import MOST_WAVES
from checker.odds.result import Spoiler

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from checker.measure import Facts
    from checker.odds.chance import Setups
    from checker.process.model import Process

_LEAST = 0.001  # a smaller share of the draws is told as less than this
_TOLD = 3


class Feature(Struct, frozen=True, eq=False):
    """Something of a board that some draws spoil.

    Attributes:
        kind: "film", "gap", "neck" or "ring".
        side: column of `SIDES`; x, y: where, mm.
        spoils: (draws,) whether a draw spoils it.
        row: of the gap or the neck in the facts, or of the hole; -1 for a film.
        size: what is too little, mm.
    """

    kind: str
    side: int
    x: float
    y: float
    spoils: NDArray[np.bool_]
    row: int = -1
    size: float = 0.0


def any_of(features: Iterable[Feature], draws: int) -> NDArray[np.bool_]:
    """(draws,) whether any of the features is spoilt."""
    spoilt = np.zeros(draws, bool)
    for feature in features:
        spoilt |= feature.spoils
    return spoilt


def spoilers(facts: Facts, features: Sequence[Feature]) -> tuple[Spoiler, ...]:
    """The features that spoil most draws, each of those that the ones before it leave whole."""
    if not features:
        return ()
    spoils = np.array([feature.spoils for feature in features])
    share, left = spoils.mean(axis=1), np.ones(spoils.shape[1], bool)
    kind = np.array([feature.kind for feature in features])
    chosen: list[int] = []
    while len(chosen) < _TOLD:
        explains = (spoils & left).sum(axis=1)
        best = int(np.lexsort((-share, -explains))[0])
        if not explains[best]:
            break
        chosen.append(best)
        left &= ~spoils[best]
    return tuple(
        _told(facts, features[one], float(share[one]), int(alike.sum()) - 1)
        for one in sorted(chosen, key=lambda one: -share[one])
        for alike in [(kind == kind[one]) & (share >= share[one] / 2)]
    )


def _told(facts: Facts, feature: Feature, share: float, others: int) -> Spoiler:
    board, side = facts.board, SIDES[feature.side]
    index = board.sides.index(side)
    what, nets = {"film": _film, "gap": _gap, "neck": _neck, "ring": _ring}[feature.kind](
        facts, index, feature
    )
    near = labels_of(board).near(feature.x, feature.y, side)
    if feature.kind in ("film", "neck") and near:
        what += f", near {near}"
    return Spoiler(what, feature.kind, side, feature.x, feature.y, nets, share, others)


def _film(facts: Facts, index: int, feature: Feature) -> tuple[str, tuple[str, ...]]:
    return "foil stays uncut along the copper's edge", ()


def _gap(facts: Facts, index: int, feature: Feature) -> tuple[str, tuple[str, ...]]:
    gaps, labels, row = facts.gaps[index], labels_of(facts.board), feature.row
    ends = [
        (int(gaps.object_a[row]), int(gaps.islands[row, 0])),
        (int(gaps.object_b[row]), int(gaps.islands[row, 1])),
    ]
    ends.sort(key=lambda end: labels.rank(index, *end))
    one, other = (labels.standing(index, *end) for end in ends)
    nets = tuple(labels.net(index, island) for _, island in ends)
    return f"gap {gaps.distance[row]:.3f} mm between {one} and {other} stays closed", nets


def _neck(facts: Facts, index: int, feature: Feature) -> tuple[str, tuple[str, ...]]:
    necks, row = facts.necks[index], feature.row
    standing = labels_of(facts.board).standing(
        index, int(necks.object[row]), int(necks.island[row])
    )
    nets = (labels_of(facts.board).net(index, int(necks.island[row])),)
    return f"neck {feature.size:.3f} mm of {standing} is cut through", nets


def _ring(facts: Facts, index: int, feature: Feature) -> tuple[str, tuple[str, ...]]:
    board, labels, hole = facts.board, labels_of(facts.board), feature.row
    drilling = drilling_of(board)
    island, pad = (int(column[hole, feature.side]) for column in (drilling.island, drilling.pad))
    standing = labels.standing(index, pad, island)
    return f"ring {feature.size:.3f} mm of {standing} is broken", (labels.net(index, island),)


def assumed(facts: Facts, process: Process, drawn: Setups) -> tuple[str, ...]:
    """What the odds rest on, in sentences."""
    board, machine = facts.board, process.machine
    told = [
        "The ends of every spread are two standard deviations from its value, and what varies "
        "varies by itself",
        "The path is led for the width that a trial cut shows on that day",
    ]
    if drawn.shape == "beam":
        told.append("A beam has no depth: the foil is taken to be cut through everywhere")
    elif drawn.bed and machine.wave is not None:
        wave = max(machine.wave, *(length / MOST_WAVES for length in board.size))
        told.append(
            f"The bed lies off by a standard deviation of {drawn.bed:.3f} mm, alike over "
            f"{wave:.0f} mm (correlation 1/e)"
        )
    else:
        told.append("The bed is flat")
    if board.holes:
        told.append(
            "Holes are drilled in the set-up of the side cut first, which is the side for which "
            "the odds come out lower; backlash and skew are not counted"
        )
    elif any(one.what == "holes" for one in board.unchecked):
        told.append("No holes are known, so no ring breaks")
    wider = float((drawn.trial > facts.reach.cut).mean())
    if wider > 0:
        share = f"{100 * wider:.1f} %" if wider >= _LEAST else f"less than {100 * _LEAST:.1f} %"
        which = "all cuts" if wider == 1 else f"{share} of the cuts"
        told.append(
            f"Gaps of more than {facts.reach.cut:.3f} mm are taken to open, though {which} come "
            "out wider"
        )
    told.append(f"Necks of more than {facts.reach.copper:.3f} mm are taken to hold")
    if process.bite:
        told.append("Copper beside a gap that is passed by biting is taken to hold")
    if any(layer.side.startswith("inner") and len(layer.islands) for layer in board.copper):
        told.append("Copper between laminate is not counted")
    return tuple(told)
