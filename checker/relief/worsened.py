"""Findings that the relieved board has and the board as it was had not, nor as bad.

Findings of two boards are paired by place. But what is one place before may be two once its middle
is opened, and a place is told where it is worst: so a finding without a partner may be of copper
that was as narrow all the time. It passes as such only where the copper itself says so, at that
very place, the report of the board as it was told of it nearby, and all in all no more is told.
"""

from __future__ import annotations

from collections import Counter
from math import hypot, inf, isfinite
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec.structs import replace

from checker.labels import Labels, labels_of
from checker.measure.clipping import clipped
from checker.pairing import TOLERANCE, WITHIN, pair, worse
from checker.registry import load_rules
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from checker.board import Board, Ints, Shapes
    from checker.findings import Finding

FAR = 5.0  # mm from where a gap was told that what is left of it may be told
_SEVERITY = list(Severity)

Box = tuple[float, float, float, float]


def worsened(
    before: Sequence[Finding],
    after: Iterable[Finding],
    old: Board,
    new: Board,
    partners: Sequence[Ints],
) -> list[Finding]:
    """Findings that are new, and those that weigh more than they did.

    Args:
        before: findings of the board as it was.
        after: those of the relieved one.
        old: the board as it was.
        new: the relieved one.
        partners: layer -> (islands of the new one,) the number each had, -1 unknown.
    """
    names = _names_before(old, new, partners)
    now = [_renamed(finding, names) for finding in after]
    pairing = pair(before, now)
    spoiled = [(i, j) for i, j in pairing.same if worse(before[i], now[j])]
    doubtful = [now[j] for j in pairing.new] + [now[j] for _, j in spoiled]
    if not doubtful:
        return []
    of_gaps = {name for name, rule in load_rules().items() if rule.of_gaps}
    told = _by_nets(one for one in before if one.rule in of_gaps)
    lost = [before[i] for i in [*pairing.gone, *(i for i, _ in spoiled)]]
    # Each that is no more makes up for one: of gaps, for any on its side.
    gaps_lost = Counter(one.seen.side for one in lost if one.rule in of_gaps)
    others_lost = _by_nets(one for one in lost if one.rule not in of_gaps)
    copper, found = _Copper(old, new), []
    for finding in doubtful:
        side, nets = finding.seen.side, _nets(finding)
        twin = _told_elsewhere(finding, others_lost.get(nets, ()), copper)
        if gaps_lost[side] and _was_narrow(finding, told.get(nets, ()), copper):
            gaps_lost[side] -= 1
        elif twin is not None:
            others_lost[nets].remove(twin)
        else:
            found.append(finding)
    return found


def _names_before(old: Board, new: Board, partners: Sequence[Ints]) -> dict[str, str]:
    """Nets that no file names go by a place on their copper, which may be another now."""
    after, before, names = labels_of(new), Labels(old), {}
    for index, (now, partner) in enumerate(zip(new.copper, partners, strict=True)):
        for island, number in enumerate(partner.tolist()):
            if number >= 0 and now.net_name[island] is None:
                names[after.net(index, island)] = before.net(index, number)
    return names


def _renamed(finding: Finding, names: Mapping[str, str]) -> Finding:
    nets = tuple(names.get(net, net) for net in finding.seen.nets)
    return replace(finding, seen=replace(finding.seen, nets=nets))


def _by_nets(findings: Iterable[Finding]) -> dict[object, list[Finding]]:
    """Findings by their side and nets."""
    found: dict[object, list[Finding]] = {}
    for finding in findings:
        found.setdefault(_nets(finding), []).append(finding)
    return found


def _nets(finding: Finding) -> object:
    return finding.seen.side, frozenset(finding.seen.nets)


def _was_narrow(finding: Finding, told: Iterable[Finding], copper: _Copper) -> bool:
    """Whether a finding is what is left of a gap told nearby, and was as narrow at its place.

    A gap may have been one place with what has been opened; and only one that opens is weighed for
    solder, with the pad for its place.
    """
    if finding.seen.measured is None or len(set(finding.seen.nets)) != 2:
        return False
    weight = _SEVERITY.index(finding.severity)
    far = [_far(one, finding) for one in told if _SEVERITY.index(one.severity) <= weight]
    # A long run is told at one of its places: where nothing was taken, it may be far off.
    near = bool(far) and (min(far) <= FAR or copper.unchanged(finding))
    return near and copper.distance_before(finding) <= finding.seen.measured + TOLERANCE


def _far(one: Finding, other: Finding) -> float:
    """Distance of two places in mm, inf where one has none."""
    if None in (one.seen.x, one.seen.y, other.seen.x, other.seen.y):
        return inf
    return hypot(one.seen.x - other.seen.x, one.seen.y - other.seen.y)  # type: ignore[operator]


def _told_elsewhere(finding: Finding, gone: Iterable[Finding], copper: _Copper) -> Finding | None:
    """The finding that tells the same of the same copper, no less, at another of its places."""
    if finding.seen.measured is None:
        return None
    same = [
        one
        for one in gone
        if one.rule == finding.rule
        and sorted(one.seen.pins) == sorted(finding.seen.pins)
        and one.seen.measured is not None
        and not worse(one, finding)
    ]
    return same[0] if same and copper.unchanged(finding) else None


class _Copper:
    """The copper of both boards about a place."""

    def __init__(self, old: Board, new: Board) -> None:
        self.old, self.new = old, new
        self._names = labels_of(old)
        self._trees: dict[tuple[int, bool], shapely.STRtree] = {}

    def distance_before(self, finding: Finding) -> float:
        """How near the two nets of a finding came at its place, mm; inf where they did not.

        The place of a large pad is farther from its edge than that of most.
        """
        near = self._distance(finding, WITHIN)
        return near if isfinite(near) else self._distance(finding, FAR)

    def _distance(self, finding: Finding, reach: float) -> float:
        index, box = self._about(finding, reach)
        if index < 0:
            return inf
        rows, parts = self._within(index, box, False)
        nets = [self._names.net(index, row) for row in rows.tolist()]
        one, other = (
            shapely.union_all(parts[[net == name for net in nets]])
            for name in sorted(set(finding.seen.nets))
        )
        apart = shapely.distance(one, other)
        return float(apart) if isfinite(apart) else inf

    def unchanged(self, finding: Finding) -> bool:
        """Whether nothing was taken as far about a place as what was measured there."""
        index, box = self._about(finding, (finding.seen.measured or 0.0) + TOLERANCE)
        if index < 0:
            return False
        was, now = (shapely.union_all(self._within(index, box, new)[1]) for new in (False, True))
        changed = shapely.symmetric_difference(was, now)
        return bool(shapely.is_empty(shapely.buffer(changed, -TOLERANCE / 2)))

    def _about(self, finding: Finding, reach: float) -> tuple[int, Box]:
        """Layer, -1 where a finding has none, and the box about its place."""
        sides = [layer.side for layer in self.old.copper]
        x, y = finding.seen.x, finding.seen.y
        if finding.seen.side not in sides or x is None or y is None:
            return -1, (0.0, 0.0, 0.0, 0.0)
        return sides.index(finding.seen.side), (x - reach, y - reach, x + reach, y + reach)

    def _within(self, index: int, box: Box, new: bool) -> tuple[Ints, Shapes]:
        """Islands of a layer in a box, and what of each lies there."""
        islands = (self.new if new else self.old).copper[index].islands
        if (index, new) not in self._trees:
            self._trees[index, new] = shapely.STRtree(islands)
        rows = np.sort(self._trees[index, new].query(shapely.box(*box)))
        return rows, shapely.make_valid(clipped(islands[rows], box))
