"""What relief may and may not do to a board, judged by shapely and the full closing alone."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from checker.isolation import parts_nets
from checker.severity import Severity
from tests.oracles.closing import Arcs, equivalence, joined

if TYPE_CHECKING:
    from checker.relief.make import Made

_UNCHANGED = 0.002  # mm: outside the strokes nothing moves farther
_SPECK = 1e-6  # mm2
_GAPS = ("uncuttable-gap", "tight-gap", "trimmed-gap", "crowded-joint")  # may follow each other


def faults(made: Made) -> list[str]:
    """Everything that is wrong with a relief, in words."""
    found = []
    for index, (was, now) in enumerate(
        zip(made.relief.board.copper, made.board.copper, strict=True)
    ):
        found += [f"{was.side}: {one}" for one in (*_islands(was, now), *_strokes(made, index))]
        if was.side in ("top", "bottom"):  # those inside are not cut
            found += [f"{was.side}: {one}" for one in _shut(made, index)]
    return found + _findings(made)


def _islands(was: Any, now: Any) -> list[str]:
    """Islands are as many and each lies within the one it was."""
    if len(was.islands) != len(now.islands):
        return [f"{len(was.islands)} islands before, {len(now.islands)} after"]
    grown = shapely.STRtree(shapely.buffer(was.islands, _UNCHANGED))
    inside, holds = grown.query(now.islands, "within")
    if sorted(holds.tolist()) != list(range(len(was.islands))) or len(set(inside)) != len(inside):
        return ["an island isn't within one before, one to one"]
    names = {holds: now.net_name[inside] for inside, holds in zip(inside, holds, strict=True)}
    odd = [k for k, name in enumerate(was.net_name) if name != names[k]]
    return [f"island {k} changed its name" for k in odd]


def _strokes(made: Made, index: int) -> list[str]:
    """Copper is the same but where a stroke runs; there, none is left."""
    was, now = (shapely.union_all(board.copper[index].islands) for board in (
        made.relief.board, made.board,
    ))  # fmt: skip
    ways = [
        shapely.LineString(channel.path).buffer(channel.pen / 2 + _UNCHANGED, quad_segs=32)
        for channel in made.relief.channels
        if channel.layer == index
    ]
    changed = shapely.symmetric_difference(was, now)
    outside = shapely.difference(changed, shapely.union_all(ways)).buffer(-_UNCHANGED / 2)
    kept = [
        shapely.LineString(channel.path).buffer(channel.pen / 2 - _UNCHANGED, quad_segs=32)
        for channel in made.relief.channels
        if channel.layer == index
    ]
    left = shapely.intersection(now, shapely.union_all(kept))
    return [
        *(["copper changed beside the strokes"] if outside.area > _SPECK else []),
        *(["copper is left in a stroke"] if left.area > _SPECK else []),
    ]


def _shut(made: Made, index: int) -> list[str]:
    """By the closing of all copper nothing stays joined but through gaps that are told as left.

    Islands of one net need no gap between them, nor do letters that belong to none.
    """
    assert made.relief.process.cut is not None
    islands = made.board.copper[index].islands
    was = made.relief.board.copper[index].islands
    if not len(islands):
        return []
    number = np.full(len(islands), -1)
    inside, holds = shapely.STRtree(was).query(shapely.point_on_surface(islands), "within")
    number[inside] = holds
    gaps = made.relief.facts.gaps[index]
    idle = gaps.islands[~parts_nets(made.relief.board, index, gaps.islands)].tolist()
    left = idle + [
        gaps.islands[place.row].tolist() for place in made.relief.left if place.layer == index
    ]
    pairs = np.array(left, dtype=np.int64).reshape(-1, 2)
    may = equivalence(len(was), pairs[:, 0], pairs[:, 1])
    stay = joined(list(islands), made.relief.process.cut.most, arcs=Arcs.SPARING)
    one, other = np.nonzero(stay & ~may[np.ix_(number, number)])
    both = zip(one.tolist(), other.tolist(), strict=True)
    return [f"{a} and {b} stay joined" for a, b in both if a < b]


def _findings(made: Made) -> list[str]:
    """No rule has more to say than before, but for those on gaps, which follow each other.

    Notes on the whole board are told beside the relief.
    """
    told = [one.id for one in made.remarks]
    odd = [one.rule for one in made.remarks if one.severity is not Severity.NOTE or one.seen.side]
    before, after = (
        Counter(one.rule for one in rep.findings if one.id not in told)
        for rep in (made.before, made.after)
    )
    more = [
        f"{rule}: {before[rule]} before, {count} after"
        for rule, count in sorted(after.items())
        if rule not in _GAPS and count > before[rule]
    ]
    gaps = [sum(report[rule] for rule in _GAPS) for report in (before, after)]
    more += [f"{rule}: is no note on the whole board" for rule in odd]
    return more + ([f"on gaps: {gaps[0]} before, {gaps[1]} after"] if gaps[1] > gaps[0] else [])
