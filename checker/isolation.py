"""Which gaps a process opens, and which nets it leaves joined.

A gap is open where a cut as wide as the process makes still separates its two islands: where the
gap's widest cut is no less than the cut. Each place of two nets has exactly one fate, so the rules
on gaps share this judgement and never speak twice of one place. Letters and marks that belong to no
net part nothing from each other: what joins them spoils how they look. But two nets that touch them
at both ends are joined through them. Poured copper that can join nothing counts to the net it lies
nearest to.
"""

from __future__ import annotations

import math
from enum import IntEnum
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.exact import tie
from checker.measure.copper.adrift import counted_nets
from checker.measure.copper.letters import carries_no_current

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from checker.board import Board, Floats, Ints
    from checker.measure import Facts, Gaps
    from checker.process.bit import Spread
    from checker.process.model import Process


class Fate(IntEnum):
    """What becomes of a gap, from best to worst."""

    OPEN = 0
    TIGHT = 1  # opens at the nominal cut, not at the widest of the spread
    TRIMMED = 2  # opens only by biting into copper
    AT_LIMIT = 3  # nearer to the cut width than drawing and measuring are exact
    JOINED = 4


class Fates(Struct, frozen=True, eq=False):
    """The gaps of one layer as one process sees them; columns as in `Gaps`.

    Attributes:
        fits: (n,) the width the cut is compared with: the widest cut that passes without biting
            into copper, or the distance for etching, which has no tool to fit.
        fate: (n,) values of `Fate`; gaps that part no nets are always open.
        through: (n,) True where islands stay joined that are no two nets, such as letters.
    """

    fits: Floats
    fate: NDArray[np.int8]
    through: NDArray[np.bool_]


def fates(facts: Facts, process: Process) -> tuple[Fates, ...]:
    """The fate of every gap of every layer; empty for a process that isolates nothing."""
    if process.cut is None:
        return ()
    return _fates(facts, process.cut, process.bite, process.method == "etching")


def parts_nets(board: Board, layer: int, islands: Ints) -> NDArray[np.bool_]:
    """(n,) whether two islands (n, 2) of a layer are two nets; letters and marks are no net's."""
    net = counted_nets(board, layer)
    found: NDArray[np.bool_] = net[islands[:, 0]] != net[islands[:, 1]]
    if found.any():
        found &= ~carries_no_current(board, layer)[islands].all(axis=1)
    return found


@lru_cache(maxsize=4)  # the rules on gaps and the grouping of nets ask one after another
def _fates(facts: Facts, cut: Spread, bite: float, by_distance: bool) -> tuple[Fates, ...]:
    band = tie(facts.board)
    judged = []
    for layer, gaps in enumerate(facts.gaps):
        fits = gaps.distance if by_distance else gaps.widest_cut[0.0]
        bitten = gaps.distance if by_distance else widest_cut(gaps, bite)
        foreign = parts_nets(facts.board, layer, gaps.islands)
        fate = np.select(
            [
                ~foreign,
                bitten < cut.nominal - band,
                bitten < cut.nominal + band,
                fits < cut.nominal - band,
                fits < cut.most - band,
            ],
            [Fate.OPEN, Fate.JOINED, Fate.AT_LIMIT, Fate.TRIMMED, Fate.TIGHT],
            Fate.OPEN,
        )
        through = ~foreign & (bitten < cut.nominal - band)
        judged.append(Fates(fits, fate.astype(np.int8), through))
    return tuple(judged)


def widest_cut(gaps: Gaps, bite: float) -> Floats:
    """The widest cut at a bite; at the next lesser bite measured where that one was not."""
    return gaps.widest_cut[max(known for known in gaps.widest_cut if known <= bite)]


class Tightest(Struct, frozen=True):
    """The gap of two nets that leaves a process the least room.

    Attributes:
        fits: the widest cut that every gap lets pass without biting into copper, mm.
        bitten: the same when the path may bite as far as the process allows; not necessarily at
            the same place.
        layer, row: the place of ``fits``; None where no gap is as narrow as gaps were looked for,
            and ``fits`` is how far that was.
    """

    fits: float
    bitten: float
    layer: int | None = None
    row: int | None = None


def tightest(facts: Facts, process: Process, reach: float = math.inf) -> Tightest:
    """The tightest gaps between nets, over all layers, up to a reach (mm) that may be less."""
    reach = min(reach, facts.reach.cut)
    fits, bitten, layer, row = reach, reach, None, None
    for index, judged in enumerate(fates(facts, process)):
        gaps = facts.gaps[index]
        foreign = np.flatnonzero(parts_nets(facts.board, index, gaps.islands))
        if len(foreign):
            bitten = min(bitten, float(widest_cut(gaps, process.bite)[foreign].min()))
            narrowest = int(foreign[np.argmin(judged.fits[foreign])])
            if judged.fits[narrowest] < fits:
                fits, layer, row = float(judged.fits[narrowest]), index, narrowest
    return Tightest(fits, bitten, layer, row)


class JoinedNets(Struct, frozen=True, eq=False):
    """Nets that the nominal cut leaves in one piece of copper, as they are counted for gaps.

    Attributes:
        by_side: layer index -> groups of net numbers joined on that layer alone.
        groups: groups over all layers, a net being one whatever side it is on.
        size: net number -> how many nets its group over all layers holds.
    """

    by_side: dict[int, list[list[int]]]
    groups: list[list[int]]
    size: dict[int, int]


def joined_nets(facts: Facts, process: Process) -> JoinedNets:
    """Groups of nets that stay joined, through third islands too; groups and nets ascending.

    Letters and marks are of a group where one of its nets touches them.
    """
    none = np.empty((0, 2), np.int64)
    pairs, through = [none], [none]
    for index, judged in enumerate(fates(facts, process)):
        net, islands = counted_nets(facts.board, index), facts.gaps[index].islands
        pairs.append(net[islands[judged.fate == Fate.JOINED]])
        through.append(net[islands[judged.through]])
    by_side = {
        index: _chained(*both)
        for index, both in enumerate(zip(pairs[1:], through[1:], strict=True))
    }
    over_all = _chained(np.concatenate(pairs), np.concatenate(through))
    return JoinedNets(by_side, over_all, {net: len(group) for group in over_all for net in group})


def _chained(pairs: Ints, through: Ints) -> list[list[int]]:
    """The groups that pairs link, also through what links no nets; of them, those on pairs."""
    told = set(np.unique(pairs).tolist())
    chains = groups(np.concatenate([pairs, through]))
    return [kept for chain in chains if (kept := [net for net in chain if net in told])]


def groups(pairs: Ints) -> list[list[int]]:
    """Union-find: (n, 2) pairs -> the groups they link, members and groups ascending."""
    parent: dict[int, int] = {}

    def root(node: int) -> int:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = node = parent[parent[node]]
        return node

    linked: Iterable[Sequence[int]] = np.unique(np.sort(pairs, axis=1), axis=0).tolist()
    for one, other in linked:
        low, high = sorted((root(one), root(other)))
        parent[high] = low
    found: dict[int, list[int]] = {}
    for node in sorted(parent):
        found.setdefault(root(node), []).append(node)
    return list(found.values())
