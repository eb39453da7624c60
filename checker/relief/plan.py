"""Which gaps relief opens, and how: attempts in the order of who gives first, until all is whole."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from checker.board import Kind
from checker.exact import tie
from checker.isolation import Fate, fates
from checker.labels import UNKNOWN, kinds_of, labels_of
from checker.measure.gaps.census import ERROR
from checker.measure.leftover.crowding import soldered_of
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
_NEARLY = 0.002  # mm of slack that is measured too short
_AROUND = 0.05  # mm by which more is cleared beyond a joint
_TOLD = 5e-4  # mm; less is not taken, but rounding
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
        extra = ERROR + 2 * board.tolerance + 2 * step
        work = _Layer(facts, index, process, options, extra, judged.fits)
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


@dataclass(slots=True, eq=False)
class _Stroke:
    """A way that was chosen, the gaps it opens, and what it clears.

    A ``further`` one opens none: it clears as much round joints as solder wants.
    """

    attempt: _Attempt
    way: shapely.LineString
    pen: float
    rows: list[int]
    further: bool = False

    @property
    def cleared(self) -> shapely.Polygon:
        """What it clears."""
        return shapely.buffer(self.way, self.pen / 2, quad_segs=QUARTER)


class _Layer:
    """The gaps of one layer on their way to channels."""

    def __init__(
        self,
        facts: Facts,
        index: int,
        process: Process,
        options: Options,
        extra: float,
        fits: Floats,
    ) -> None:
        self.facts, self.index, self.process, self.options = facts, index, process, options
        board = facts.board
        self.pen, self.fits = up(width_of(board, process) + extra, FINE_STEP), fits
        self.wide = up((process.pad_clearance or 0.0) + tie(board) + extra, FINE_STEP)
        self.layer, self.gaps = board.copper[index], facts.gaps[index]
        self.kept = kept_of(board, index, process)
        self.sheet = Sheet(self.layer.islands, self.kept, self.pen)
        self.kinds = np.column_stack(
            [kinds_of(self.layer, self.gaps.object_a), kinds_of(self.layer, self.gaps.object_b)]
        )
        self.tiers = [Tier.POURS] if options.only_pours else list(Tier)
        self.least = (process.minimum_trace or 0.0) + 2 * (process.undercut + process.bite)
        self.strokes: dict[bytes, _Stroke] = {}
        self.of: dict[int, bytes] = {}  # row -> its stroke
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
                break
        while self._drop_harm():
            pass
        if self.wide > self.pen:
            self._clear_for_solder()
            while self._drop_harm():
                pass

    def _choose(self, row: int, ahead: Iterator[_Attempt]) -> None:
        for attempt in ahead:
            way = self._way(self.sheet, row, attempt)
            if way is not None:
                key = way.wkb
                stroke = self.strokes.setdefault(key, _Stroke(attempt, way, self.pen, []))
                stroke.rows.append(row)
                self.of[row] = key
                return

    def _way(self, sheet: Sheet, row: int, attempt: _Attempt) -> shapely.LineString | None:
        ends = self.gaps.a[row], self.gaps.b[row]
        if attempt.keeper == self.gaps.islands[row, 1]:
            giver, keeper = ends
        else:
            keeper, giver = ends
        return sheet.way(
            attempt.keeper, attempt.giver, attempt.share, attempt.tier, giver, keeper
        )

    def _clear_for_solder(self) -> None:
        """Where a pour gives beside a pad that is soldered, it gives what solder wants too."""
        pads = soldered_of(self.facts.board)[self.index]
        shapes, owner = self.layer.objects.shape[pads], self.layer.island_of[pads]
        sheet = Sheet(self.layer.islands, self.kept, self.wide, self.sheet)
        for row, key in sorted(self.of.items()):
            attempt = self.strokes[key].attempt
            own = shapes[owner == attempt.keeper]
            more = self.wide - float(self.gaps.distance[row])
            if attempt.tier != Tier.POURS or attempt.share or not len(own):
                continue
            if more > self.options.most_taken:
                continue
            way = self._way(sheet, row, attempt)
            if way is None:
                continue
            near = shapely.union_all(shapely.buffer(own, self.wide / 2 + _AROUND))
            parts = shapely.get_parts(shapely.line_merge(shapely.intersection(way, near)))
            for part in parts[shapely.length(parts) > 0]:
                stroke = _Stroke(attempt, part, self.wide, [], further=True)
                self.strokes.setdefault(part.wkb, stroke)

    def _attempts(self, row: int) -> Iterator[_Attempt]:
        """Ways to try, those that ask the least of the less willing first."""
        islands, kinds = self.gaps.islands[row].tolist(), self.kinds[row].tolist()
        ends = [self.gaps.a[row], self.gaps.b[row]]
        needed = self.pen - float(self.gaps.distance[row])
        willing = [_FIRST[kind] for kind in kinds]
        first = 0 if willing[0] <= willing[1] else 1
        for tier in self.tiers:
            slack = [self._slack(tier, islands[k], ends[k], needed) for k in (0, 1)]
            if sum(slack) < needed - _NEARLY:
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
        """Take back strokes that cut an island or leave it too narrow; the gaps they opened."""
        keys = list(self.strokes)
        if not keys:
            return set()
        cleared = np.array([self.strokes[key].cleared for key in keys])
        stroke, island = self.sheet.touched(cleared)
        stays, dropped = self.kept[Tier.POURS], set[int]()
        for number in np.unique(island).tolist():
            mine = np.unique(stroke[island == number])
            held = stays.shape[stays.island == number]
            wrong = harmed(self.layer.islands[number], cleared[mine], held, self.least)
            for shape in wrong:
                near = mine[beside([shape], cleared[mine])].tolist()
                if near and not dropped.intersection(near):
                    dropped.add(min(near, key=lambda k: self._worth(keys[k])))
        rows: set[int] = set()
        for k in dropped:
            gone = self.strokes.pop(keys[k])
            rows.update(gone.rows)
        for row in rows:
            del self.of[row]
            self.why[row] = "copper beside it would be left too narrow, or be cut off"
        return rows

    def _worth(self, key: bytes) -> tuple[bool, int, float]:
        """By which strokes are taken back: those for solder first, then those that open least."""
        stroke = self.strokes[key]
        return not stroke.further, len(stroke.rows), stroke.way.length

    def told(self, rows: list[int], first: int) -> list[Place]:
        """Every gap in words, and the channels of those that open."""
        numbers: dict[bytes, int] = {}
        for key, stroke in self.strokes.items():
            numbers[key] = first + len(self.channels)
            points, attempt = shapely.get_coordinates(stroke.way), stroke.attempt
            self.channels.append(
                Channel(self.index, points, stroke.pen, attempt.keeper, attempt.giver)
            )
        places = []
        for row in rows:
            place = _told(self.facts, self.index, row, self.fits, self.why.get(row, ""))
            opened = row in self.of
            places.append(self._opened(place, numbers) if opened else self._left(place))
        return places

    def _opened(self, place: Place, numbers: Mapping[bytes, int]) -> Place:
        key = self.of[place.row]
        attempt, needed = self.strokes[key].attempt, self.pen - place.distance
        taken = {attempt.keeper: attempt.share, attempt.giver: max(0.0, needed - attempt.share)}
        gives = tuple(
            Taken(who, kind, taken[island])
            for island, who, kind in self._sides(place.row)
            if taken[island] > _TOLD
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
