"""Which gaps relief opens, and how: attempts in the order of who gives first, until all is whole."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind
from checker.exact import tie
from checker.isolation import Fate, fates
from checker.labels import UNKNOWN, kinds_of, labels_of
from checker.measure.gaps.census import ERROR
from checker.relief.channels import QUARTER, Sheet
from checker.relief.limits import Tier, kept_of
from checker.relief.model import Channel, Options, Place, Relief, Taken
from checker.relief.whole import beside, harmed
from checker.remedy import FINE_STEP, up

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from checker.board import Board, Floats
    from checker.measure import Facts
    from checker.process import Process

_ROUNDS = 12  # of dropping what harms and trying the next way
_FIRST = {Kind.POUR: 0, Kind.TRACE: 1, Kind.PAD: 2, UNKNOWN: 2}  # who gives first
_WORD = {Kind.POUR: "pour", Kind.TRACE: "trace", Kind.PAD: "pad", UNKNOWN: "copper"}


def width_of(board: Board, process: Process) -> float:
    """The cut that has to pass at every gap: the widest of the process, and what can't be told."""
    assert process.cut is not None
    return up(process.cut.most + tie(board), FINE_STEP)


def relief_of(
    board: Board,
    facts: Facts,
    process: Process,
    options: Options | None = None,
    steps: Mapping[int, float] | None = None,
    barred: frozenset[tuple[int, int]] = frozenset(),
) -> Relief:
    """What relief would open on a board, and what not and why; nothing is written.

    Args:
        board, facts: as measured for the process.
        process: as loaded.
        options: what the maker allows.
        steps: layer -> mm of the last digit of its file's coordinates, by which a stroke may lie
            off; layers that aren't there are left as they are. All outer ones, exact, where None.
        barred: (layer, row of its gaps) that are to stay as they are.
    """
    options = options or Options()
    if process.cut is None:
        return Relief(board, process, options, 0.0)
    width = width_of(board, process)
    places: list[Place] = []
    channels: list[Channel] = []
    closed = 0
    for index, judged in enumerate(fates(facts, process)):
        gaps, layer = facts.gaps[index], board.copper[index]
        foreign = np.diff(layer.net[gaps.islands], axis=1)[:, 0] != 0
        rows = np.flatnonzero(foreign & (judged.fits < width))
        closed += int(np.isin(judged.fate, (Fate.JOINED, Fate.AT_LIMIT, Fate.TRIMMED)).sum())
        if not len(rows):
            continue
        if steps is not None and index not in steps:
            places += (_told(facts, index, row, judged.fits, "its file") for row in rows.tolist())
            continue
        step = 0.0 if steps is None else steps[index]
        pen = up(width + ERROR + 2 * board.tolerance + 2 * step, FINE_STEP)
        work = _Layer(facts, index, process, options, pen, judged.fits)
        work.run([row for row in rows.tolist() if (index, row) not in barred])
        told = work.told(rows.tolist(), len(channels))
        channels += work.channels
        places += told
    places.sort(key=lambda place: (place.fits, place.layer, place.row))
    return Relief(board, process, options, width, tuple(channels), tuple(places), closed)


@dataclass(frozen=True, slots=True)
class _Attempt:
    """A way to open a gap: who keeps, who gives, what the keeper gives too, who may be asked."""

    keeper: int
    giver: int
    share: float
    tier: Tier


class _Layer:
    """The gaps of one layer on their way to channels."""

    def __init__(
        self,
        facts: Facts,
        index: int,
        process: Process,
        options: Options,
        pen: float,
        fits: Floats,
    ) -> None:
        self.facts, self.index, self.process, self.options = facts, index, process, options
        self.pen, self.fits = pen, fits
        self.layer, self.gaps = facts.board.copper[index], facts.gaps[index]
        self.kept = kept_of(facts.board, index, process)
        self.sheet = Sheet(self.layer.islands, self.kept, pen)
        self.kinds = np.column_stack(
            [kinds_of(self.layer, self.gaps.object_a), kinds_of(self.layer, self.gaps.object_b)]
        )
        self.tiers = [Tier.POURS] if options.only_pours else list(Tier)
        self.least = (process.minimum_trace or 0.0) + 2 * (process.undercut + process.bite)
        self.chosen: dict[int, tuple[_Attempt, shapely.LineString]] = {}
        self.why: dict[int, str] = {}
        self.channels: list[Channel] = []

    def run(self, rows: list[int]) -> None:
        """Choose ways for the gaps; those that do harm are dropped and the next ones tried."""
        ahead = {row: self._attempts(row) for row in rows}
        waiting = set(rows)
        for _ in range(_ROUNDS):
            for row in sorted(waiting):
                self._choose(row, ahead[row])
            waiting = self._drop_harm()
            if not waiting:
                return
        while waiting := self._drop_harm():
            pass

    def _choose(self, row: int, ahead: Iterator[_Attempt]) -> None:
        swap = {0: ("a", "b"), 1: ("b", "a")}
        for attempt in ahead:
            side = 0 if attempt.keeper == self.gaps.islands[row, 1] else 1
            giver, keeper = (getattr(self.gaps, name)[row] for name in swap[side])
            way = self.sheet.way(
                attempt.keeper, attempt.giver, attempt.share, attempt.tier, giver, keeper
            )
            if way is not None:
                self.chosen[row] = attempt, way
                return
        self.why.setdefault(row, "")

    def _attempts(self, row: int) -> Iterator[_Attempt]:
        """Ways to try, those that ask the least of the less willing first."""
        islands, kinds = self.gaps.islands[row].tolist(), self.kinds[row].tolist()
        ends = [self.gaps.a[row], self.gaps.b[row]]
        needed = self.pen - float(self.gaps.distance[row])
        willing = [_FIRST[kind] for kind in kinds]
        first = 0 if willing[0] <= willing[1] else 1
        for tier in self.tiers:
            slack = [self._slack(tier, islands[k], ends[k], needed) for k in (0, 1)]
            if sum(slack) < needed - 0.002:
                continue
            shares: list[tuple[int, float]] = []
            if willing[0] == willing[1]:
                fair = [needed * one / max(sum(slack), 1e-9) for one in slack]
                shares.append((first, fair[1 - first]))
            shares.append((first, max(0.0, needed - slack[first])))
            shares.append((1 - first, max(0.0, needed - slack[1 - first])))
            for giver, share in shares:
                most = max(share, needed - share)
                if most <= self.options.most_taken + 1e-9:
                    yield _Attempt(islands[1 - giver], islands[giver], share, tier)

    def _slack(self, tier: Tier, island: int, end: Floats, most: float) -> float:
        """How far an island's edge may give way at a point, mm, as far as is of interest."""
        kept, point = self.kept[tier], shapely.Point(end)
        near = kept.tree.query(point, "dwithin", distance=most)
        near = near[kept.island[near] == island]
        return float(shapely.distance(kept.shape[near], point).min()) if len(near) else most

    def _drop_harm(self) -> set[int]:
        """Take back the ways that cut an island or leave it too narrow; their gaps."""
        ways: dict[bytes, list[int]] = {}
        for row, (_, way) in self.chosen.items():
            ways.setdefault(way.wkb, []).append(row)
        groups = list(ways.values())
        if not groups:
            return set()
        strokes = shapely.buffer(
            np.array([self.chosen[group[0]][1] for group in groups]), self.pen / 2,
            quad_segs=QUARTER,
        )  # fmt: skip
        tree = shapely.STRtree(strokes)
        stroke, island = self.sheet.touched(strokes)
        dropped: set[int] = set()
        for number in np.unique(island).tolist():
            mine = np.unique(stroke[island == number])
            stays = self.kept[Tier.POURS]
            wrong = harmed(
                self.layer.islands[number],
                strokes[mine],
                stays.shape[stays.island == number],
                self.least,
            )
            for shape in wrong:
                near = tree.query(shape, "dwithin", distance=0.003)
                near = [k for k in np.intersect1d(near, mine).tolist() if k not in dropped]
                if near:
                    dropped.add(min(near, key=lambda k: (len(groups[k]), strokes[k].area)))
        rows = {row for k in dropped for row in groups[k]}
        for row in rows:
            del self.chosen[row]
            self.why[row] = "copper beside it would be left too narrow, or be cut off"
        return rows

    def told(self, rows: list[int], first: int) -> list[Place]:
        """Every gap in words, and the channels of those that open."""
        numbers: dict[bytes, int] = {}
        places = []
        for row in rows:
            place = _told(self.facts, self.index, row, self.fits, self.why.get(row, ""))
            if row in self.chosen:
                place = self._opened(place, numbers, first)
            else:
                place = self._left(place)
            places.append(place)
        return places

    def _opened(self, place: Place, numbers: dict[bytes, int], first: int) -> Place:
        attempt, way = self.chosen[place.row]
        key = way.wkb
        if key not in numbers:
            numbers[key] = first + len(self.channels)
            points = shapely.get_coordinates(way)
            self.channels.append(
                Channel(self.index, points, self.pen, attempt.keeper, attempt.giver)
            )
        needed = self.pen - place.distance
        taken = {attempt.keeper: attempt.share, attempt.giver: max(0.0, needed - attempt.share)}
        sides = self._sides(place.row)
        gives = tuple(
            Taken(who, kind, taken[island])
            for island, who, kind in sides
            if taken[island] > 5e-4
        )
        return replace(place, channel=numbers[key], taken=gives, lacking="")

    def _left(self, place: Place) -> Place:
        needed, tier = self.pen - place.distance, self.tiers[-1]
        ends = self.gaps.a[place.row], self.gaps.b[place.row]
        sides = self._sides(place.row)
        slack = [
            self._slack(tier, island, end, needed)
            for (island, _, _), end in zip(sides, ends, strict=True)
        ]
        missing = max(0.0, needed - sum(slack))
        if missing > 0.002:
            none = [who for (_, who, _), one in zip(sides, slack, strict=True) if one < needed / 2]
            return replace(place, missing=missing, lacking=" and ".join(none))
        if max(slack) > self.options.most_taken and not place.lacking:
            return replace(place, lacking="more than is allowed would have to be taken")
        return replace(place, lacking=place.lacking or "other copper beside it has none to spare")

    def _sides(self, row: int) -> list[tuple[int, str, str]]:
        labels, gaps = labels_of(self.facts.board), self.gaps
        found = []
        for island, thing in zip(
            gaps.islands[row].tolist(),
            (int(gaps.object_a[row]), int(gaps.object_b[row])),
            strict=True,
        ):
            kind = _WORD[labels.kind(self.index, thing)]
            found.append((island, labels.standing(self.index, thing, island), kind))
        return found


def _told(facts: Facts, index: int, row: int, fits: Floats, why: str) -> Place:
    """A gap that stays as it is."""
    labels, gaps, layer = labels_of(facts.board), facts.gaps[index], facts.board.copper[index]
    islands = gaps.islands[row].tolist()
    things = int(gaps.object_a[row]), int(gaps.object_b[row])
    ends = sorted(zip(things, islands, strict=True), key=lambda one: labels.rank(index, *one))
    words = [labels.standing(index, *end) for end in ends]
    kinds = sorted(_WORD[labels.kind(index, thing)] for thing, _ in ends)
    x, y = ((gaps.a[row] + gaps.b[row]) / 2).tolist()
    return Place(
        index,
        row,
        layer.side,
        x,
        y,
        float(gaps.distance[row]),
        float(fits[row]),
        " and ".join(words),
        tuple(labels.net(index, island) for _, island in ends),
        f"{kinds[0]} and {kinds[1]}",
        lacking=why,
    )
