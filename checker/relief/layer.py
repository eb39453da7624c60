"""The gaps of one layer on their way to strokes: attempts in the order of who gives first.

What would cut copper, or leave it too narrow, is spared from then on, and the gaps it was taken for
are tried anew: round it, from their other side, or as far as it.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from checker.board import Kind
from checker.labels import UNKNOWN, kinds_of
from checker.measure.boundary.segments import Segments
from checker.measure.gaps.census import ERROR, census
from checker.measure.leftover.crowding import soldered_of
from checker.relief.channels import EXACT, QUARTER, Sheet
from checker.relief.harms import Harms
from checker.relief.limits import Tier, kept_of, least_of
from checker.relief.thin import thin_in
from checker.relief.ways import between, grown
from checker.remedy import FINE_STEP, up

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from checker.board import Floats, Ints, Shapes
    from checker.measure import Facts
    from checker.process import Process
    from checker.relief.limits import Kept
    from checker.relief.model import Options
    from checker.relief.ways import Box, Strokes
    from checker.relief.whole import Harm

_ROUNDS = 60  # of sparing what would be harmed and trying anew; most layers need fewer than ten
_NEARLY = 0.002  # mm of slack that is measured too short
_AROUND = 0.05  # mm by which more is cleared beyond a joint
_FIRST = {Kind.POUR: 0, Kind.TRACE: 1, Kind.PAD: 2, UNKNOWN: 2}  # who gives first
HARM = "copper beside it would be left too narrow, or be cut off"


class Attempt(Struct, frozen=True):
    """A way to open a gap.

    Attributes:
        keeper, giver: islands.
        share: mm that the keeper gives too.
        tier: who may be asked.
        partly: whether part of the way will do.
    """

    keeper: int
    giver: int
    share: float
    tier: Tier
    partly: bool = False


class Stroke(Struct, eq=False, dict=True):
    """A way that was chosen, and the rows of the gaps it opens.

    A ``further`` one opens none: it clears as much round joints as solder wants.
    """

    attempt: Attempt
    way: shapely.LineString
    pen: float
    rows: list[int]
    further: bool = False

    @cached_property
    def cleared(self) -> shapely.Polygon:
        """What the pen takes along its way."""
        return shapely.buffer(self.way, self.pen / 2, quad_segs=QUARTER)


class Layer:
    """The gaps of one layer.

    Attributes:
        pen: width of a stroke that opens a gap; ``wide`` of one round a joint.
        strokes: by their ways; ``of`` row of a gap -> its stroke.
        why: row -> why it stays as it is.
    """

    def __init__(
        self,
        facts: Facts,
        index: int,
        process: Process,
        options: Options,
        pens: tuple[float, float],
        rows: list[int],
    ) -> None:
        self.facts, self.index, self.options, self.rows = facts, index, options, rows
        self.pen, self.wide = pens
        self.layer, self.gaps = facts.board.copper[index], facts.gaps[index]
        self.kinds = np.column_stack(
            [kinds_of(self.layer, self.gaps.object_a), kinds_of(self.layer, self.gaps.object_b)]
        )
        self.tiers = [Tier.POURS] if options.only_pours else list(Tier)
        self.least = least_of(facts.board, process)
        self._bare = kept_of(facts.board, index, process)
        self.kept = self._with_thin()
        self.sheet = Sheet(self.layer.islands, self.kept, self.pen)
        self.strokes: dict[bytes, Stroke] = {}
        self.of: dict[int, bytes] = {}
        self.why: dict[int, str] = {}
        self._seen = Harms(self.sheet, self._held, self.least)
        self._slack: dict[Tier, dict[int, tuple[float, float]]] = {}
        self._barred: set[bytes] = set()
        self._left: dict[int, Iterator[Attempt]] = {}  # row -> what was not tried yet
        self._next: dict[int, Attempt | None] = {}  # row -> what has not failed yet

    def _with_thin(self) -> dict[Tier, Kept]:
        """What stays, and what is too narrow already where gaps or ways through them may be."""
        asked = np.unique(self.gaps.islands[self.rows])
        shapes, row = thin_in(self.layer.islands[asked], self.least, self._about())
        return {tier: some.more(shapes, asked[row]) for tier, some in self._bare.items()}

    def _about(self) -> list[Box]:
        """Boxes round the gaps, and round the islands' edges where ways may be sought."""
        gaps, rows, reach = self.gaps, np.array(self.rows), max(self.pen, self.wide)
        ends = np.stack([gaps.a[rows], gaps.b[rows]])
        boxes = np.hstack([ends.min(0) - self.pen, ends.max(0) + self.pen]).tolist()
        slack = np.array(self._slack_of(self._bare[self.tiers[-1]])).sum(1)
        open_ = slack >= self.pen - gaps.distance[rows] - 2 * _NEARLY
        bounds = shapely.bounds(self.layer.islands)
        for one, other in np.unique(np.sort(gaps.islands[rows[open_]], axis=1), axis=0).tolist():
            boxes.append(grown(between(bounds[one], bounds[other], 2 * reach), reach))
        return [tuple(box) for box in boxes]

    def _held(self, number: int) -> Shapes:
        """All that stays of an island while only pours give."""
        stays, island = self._bare[Tier.POURS], self.layer.islands[[number]]
        thin, _ = thin_in(island, self.least)
        held: Shapes = np.concatenate([stays.shape[stays.island == number], thin])
        return held

    def run(self, width: float) -> None:
        """Choose strokes that open as many of the gaps as can be opened without harm.

        Args:
            width: of the cut that has to pass at a gap that is opened, mm.
        """
        waiting = set(self.rows)
        for _ in range(_ROUNDS):
            for row in sorted(waiting):
                self._choose(row)
            waiting = self._spare()
            if not waiting:
                break
        self._drop_harm()
        while self.strokes and self._unclaim(self._still_narrow(width)):
            pass

    def _choose(self, row: int) -> None:
        """The first attempt that finds a way; those that found none find none when more stays."""
        if row not in self._left:
            self._left[row] = self._attempts(row)
            self._next[row] = next(self._left[row], None)
        while (attempt := self._next[row]) is not None:
            way = self._way(self.sheet, row, attempt)
            key = b"" if way is None else way.wkb
            if way is None or key in self._barred:
                self._next[row] = next(self._left[row], None)
            else:
                if key not in self.strokes:
                    self.strokes[key] = Stroke(attempt, way, self.pen, [])
                self.strokes[key].rows.append(row)
                self.of[row] = key
                return

    def _way(self, sheet: Sheet, row: int, attempt: Attempt) -> shapely.LineString | None:
        a, b = self.gaps.a[row], self.gaps.b[row]
        ends = (a, b) if attempt.keeper == self.gaps.islands[row, 0] else (b, a)
        between = attempt.keeper, attempt.giver
        return sheet.way(between, attempt.share, attempt.tier, ends, partly=attempt.partly)

    def _attempts(self, row: int) -> Iterator[Attempt]:
        """Ways to try, those that ask the least of the less willing first."""
        found = []
        for one in self._whole_attempts(row):
            found.append(one)
            yield one
        for one in sorted(found, key=lambda one: (one.share, -one.tier)):
            yield Attempt(one.keeper, one.giver, one.share, one.tier, partly=True)

    def _whole_attempts(self, row: int) -> Iterator[Attempt]:
        islands, kinds = self.gaps.islands[row].tolist(), self.kinds[row].tolist()
        needed = self.pen - float(self.gaps.distance[row])
        willing = [_FIRST[kind] for kind in kinds]
        first = 0 if willing[0] <= willing[1] else 1
        for tier in self.tiers:
            slack = self.slack(row, tier)
            if sum(slack) < needed - _NEARLY:
                continue
            shares: list[tuple[int, float]] = []
            if willing[0] == willing[1]:
                shares.append((first, needed * slack[1 - first] / max(sum(slack), 1e-9)))
            shares.append((first, max(0.0, needed - slack[first])))
            shares.append((1 - first, max(0.0, needed - slack[1 - first])))
            for giver, share in dict.fromkeys(shares):
                share = up(share, FINE_STEP)  # alike for the gaps of one way
                if max(share, needed - share) <= self.options.most_taken + 1e-9:
                    yield Attempt(islands[1 - giver], islands[giver], share, tier)

    def slack(self, row: int, tier: Tier) -> tuple[float, float]:
        """How far the edges of both islands may give way at a gap, as far as is of interest."""
        if tier not in self._slack:
            slack = self._slack_of(self.kept[tier])
            self._slack[tier] = dict(zip(self.rows, slack, strict=True))
        return self._slack[tier][row]

    def _slack_of(self, kept: Kept) -> list[tuple[float, float]]:
        """The slack of each gap, of both islands."""
        gaps, rows = self.gaps, self.rows
        ends = np.stack([gaps.a[rows], gaps.b[rows]], 1).reshape(-1, 2)
        most = np.repeat(self.pen - gaps.distance[rows], 2)
        points, island = shapely.points(ends), gaps.islands[rows].ravel()
        end, near = kept.tree.query(points, "dwithin", distance=most)
        own = kept.island[near] == island[end]
        end, near = end[own], near[own]
        least = most.copy()
        np.minimum.at(least, end, shapely.distance(kept.shape[near], points[end]))
        return [(one, other) for one, other in least.reshape(-1, 2).tolist()]

    def clear_for_solder(self) -> None:
        """Where a pour gives beside a pad that is soldered, it gives what solder wants too.

        No gap is given up for that.
        """
        if self.wide <= self.pen:
            return
        pads = soldered_of(self.facts.board)[self.index]
        shapes, owner = self.layer.objects.shape[pads], self.layer.island_of[pads]
        sheet = Sheet(self.layer.islands, self.kept, self.wide, self.sheet)
        for row, key in sorted(self.of.items()):
            attempt = self.strokes[key].attempt
            own = shapes[owner == attempt.keeper]
            most = self.wide - float(self.gaps.distance[row])
            unasked = attempt.tier != Tier.POURS or attempt.share or attempt.partly
            if unasked or not len(own) or most > self.options.most_taken:
                continue
            way = self._way(sheet, row, attempt)
            if way is None:
                continue
            near = shapely.union_all(shapely.buffer(own, self.wide / 2 + _AROUND))
            parts = shapely.get_parts(shapely.line_merge(shapely.intersection(way, near)))
            for part in parts[shapely.length(parts) > 0]:
                if part.wkb not in self.strokes:
                    self.strokes[part.wkb] = Stroke(attempt, part, self.wide, [], further=True)
        self._drop_further()

    def _harms(self) -> list[tuple[int, list[bytes], Strokes, Harm]]:
        """As `Harms.of`, the strokes beside each from the least worth up."""
        found = self._seen.of(self._cleared())
        return [
            (number, sorted(near, key=self._worth), strokes, harm)
            for number, near, strokes, harm in found
        ]

    def _cleared(self) -> dict[bytes, shapely.Geometry]:
        return {key: stroke.cleared for key, stroke in self.strokes.items()}

    def _spare(self) -> set[int]:
        """Copper that strokes would harm is to stay from now on; rows of the gaps to try anew."""
        waiting: set[int] = set()
        for number, near, strokes, harm in self._harms():
            if any(key not in self.strokes for key in near):
                continue  # what made it is gone already
            spared_of = harm.spared(self._seen.island(number).clips, strokes, self.least)
            for key in near:
                spared = self._spared(self.strokes[key], strokes, spared_of)
                if spared is not None:
                    self.sheet.added.append((spared, number))
                    break
            else:
                key = near[0]
                self._barred.add(key)
            waiting |= self._take_back(key)
        return waiting

    def _spared(
        self, stroke: Stroke, strokes: Strokes, spared_of: Callable[[int], shapely.Geometry]
    ) -> shapely.Geometry | None:
        """What of an island a stroke must leave; None where that would not keep the stroke off."""
        spared = spared_of(next(k for k, one in enumerate(strokes.shape) if one is stroke.cleared))
        near = not spared.is_empty and shapely.distance(spared, stroke.way) < stroke.pen / 2 - EXACT
        return spared if near and shapely.area(spared) > 0 else None

    def _drop_harm(self) -> None:
        """Take back strokes until none harms."""
        while found := self._harms():
            for _, near, _, _ in found:
                if all(key in self.strokes for key in near):
                    self._take_back(near[0])

    def _drop_further(self) -> None:
        """Take back strokes that open no gap until none of them harms."""
        taken = True
        while taken and (found := self._harms()):
            taken = False
            for number, near, _, _ in found:
                if any(key not in self.strokes for key in near):
                    continue
                ours = [key for key in self._seen.taking(number) if self._opens_none(key)]
                for key in [key for key in near if self._opens_none(key)][:1] or ours:
                    self._take_back(key)
                    taken = True

    def _opens_none(self, key: bytes) -> bool:
        return key in self.strokes and self.strokes[key].further

    def _take_back(self, key: bytes) -> set[int]:
        rows = set(self.strokes.pop(key).rows)
        for row in rows:
            del self.of[row]
            self.why[row] = HARM
        return rows

    def _worth(self, key: bytes) -> tuple[bool, int, float]:
        """By which strokes are taken back: those for solder first, then those that open least."""
        stroke = self.strokes[key]
        return not stroke.further, len(stroke.rows), stroke.way.length

    def _still_narrow(self, width: float) -> set[int]:
        """Rows of the gaps that let no cut of that width pass in the copper that is left."""
        islands = self._seen.left(self._cleared())
        opened = np.sort(self.gaps.islands[sorted(self.of)], axis=1)
        found = census(Segments.of(islands), width - ERROR, between=np.unique(opened, axis=0))
        narrow = np.flatnonzero(np.isfinite(found.width[0]))
        pairs = np.column_stack([found.places.A, found.places.B])[narrow]
        middle = ((found.places.a + found.places.b) / 2)[narrow]
        return nearest_rows(self.gaps.islands, self._middles(), self.rows, pairs, middle)

    def _middles(self) -> Floats:
        middles: Floats = (self.gaps.a + self.gaps.b) / 2
        return middles

    def _unclaim(self, rows: set[int]) -> bool:
        """Give up gaps, and strokes that open none; whether any stroke is given up."""
        for row in rows & self.of.keys():
            self.strokes[self.of.pop(row)].rows.remove(row)
            self.why[row] = HARM
        idle = [key for key, one in self.strokes.items() if not one.rows]
        for key in idle:
            del self.strokes[key]
        return bool(idle)


def nearest_rows(
    pairs: Ints, middles: Floats, rows: list[int], found: Ints, at: Floats
) -> set[int]:
    """Of the rows, those to which places of the same two islands belong: the nearest to each."""
    by_pair: dict[tuple[int, ...], list[int]] = {}
    for row in rows:
        by_pair.setdefault(tuple(sorted(pairs[row].tolist())), []).append(row)
    nearest = set()
    for pair, point in zip(found.tolist(), at, strict=True):
        candidates = by_pair.get(tuple(sorted(pair)))
        if candidates:
            away = np.hypot(*(middles[candidates] - point).T)
            nearest.add(candidates[int(np.argmin(away))])
    return nearest
