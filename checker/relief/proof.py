"""Proof that relief took nothing but copper to spare: the written texts, read and judged again."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from checker.board import Kind
from checker.engine import check, reach_for
from checker.exact import tie
from checker.fills import kinds_meant
from checker.hands import worth_both
from checker.hearing import heard
from checker.isolation import fates
from checker.measure import Reach, measure
from checker.relief.layer import nearest_rows
from checker.relief.worsened import worsened
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Board, CopperLayer, Ints
    from checker.findings import Finding, Report
    from checker.measure import Facts
    from checker.process import Process
    from checker.relief.model import Relief

_BESIDE = 0.02  # mm; a channel this near to what went wrong has to do with it
_AROUND = 1.0  # mm; one this near to where it is told may have


class Fault(Struct, frozen=True):
    """What relief would spoil.

    Attributes:
        words: what.
        channels: those that are to blame.
        around: those that may be.
        everywhere: whether it is one of the whole board, so that each of them has a part in it.
    """

    words: str
    channels: frozenset[int]
    around: frozenset[int] = frozenset()
    everywhere: bool = False


class Proof(Struct, frozen=True, eq=False):
    """What was judged again.

    Attributes:
        before, after: reports of the board as it was and as it would be.
        facts: of the board as it would be.
        faults: empty where nothing is lost.
        remarks: what is told of the whole board now, a note that spoils nothing, such as that more
            gaps take longer to cut.
    """

    before: Report
    after: Report
    facts: Facts
    faults: tuple[Fault, ...]
    remarks: tuple[Finding, ...] = ()


def reach_of(process: Process, width: float) -> Reach:
    """How far facts are needed: as far as the rules ask, and to the width that has to pass."""
    wanted = reach_for(process)
    return replace(wanted, cut=max(wanted.cut, width + 0.01))


def judged(board: Board, process: Process, width: float, both: bool) -> tuple[Facts, Report]:
    """What a board comes to, and facts that reach as far as relief looks.

    Args:
        board: as read.
        process: as loaded.
        width: of the cut that has to pass at every gap, mm.
        both: let a second process help where that is worth it, see `checker.hands`.
    """
    reach = reach_of(process, width)
    if not (both and worth_both(board)):
        facts = measure(board, reach)
        return facts, check(board, process, facts=facts)
    facts, (said,) = heard(board, (process,), lambda _rule, _process: None, reach=reach)
    return facts, check(board, process, facts=facts, said=said)


def proof_of(before: Report, relief: Relief, board: Board, both: bool = False) -> Proof:
    """Judge a board read anew against what it was.

    Args:
        before: the report of the board as it was.
        relief: what was to be done.
        board: as read from the new texts.
        both: let a second process help.
    """
    process, old = relief.process, relief.board
    facts, after = judged(board, process, relief.width, both)
    if tuple(layer.side for layer in old.copper) != tuple(layer.side for layer in board.copper):
        every = frozenset(range(len(relief.channels)))
        return Proof(before, after, facts, (Fault("the layers of copper are others", every),))
    partners = [_islands_before(*both) for both in zip(old.copper, board.copper, strict=True)]
    new = worsened(before.findings, after.findings, old, board, partners)
    remarks = tuple(one for one in new if _is_remark(one))
    faults = [
        *_cut_or_joined(relief, board),
        *_still_narrow(relief, facts, partners),
        *(_spoiled(one, relief) for one in new if one not in remarks),
    ]
    return Proof(before, after, facts, tuple(faults), remarks)


def _is_remark(finding: Finding) -> bool:
    """Whether it is a note on the whole board, which no copper of it is the worse for."""
    seen = finding.seen
    return finding.severity is Severity.NOTE and seen.side is None and seen.x is None


def _cut_or_joined(relief: Relief, board: Board) -> list[Fault]:
    """Islands that hold other objects than before, or came or went."""
    faults = []
    for index, (old, new) in enumerate(zip(relief.board.copper, board.copper, strict=True)):
        ours = [k for k, channel in enumerate(relief.channels) if channel.layer == index]
        count = len(old.objects)
        partner = new.island_of[:count]
        # The pen strokes that border a fill may go whole.
        gone = (partner < 0) & (kinds_meant(old) == Kind.POUR)
        held = (old.island_of >= 0) & ~gone
        pairs = np.unique(np.column_stack([old.island_of[held], partner[held]]), axis=0)
        lost = np.flatnonzero(held & (partner < 0))
        odd = _odd(pairs, len(old.islands), len(new.islands))
        for shape in [*old.objects.shape[lost], *(_shape(old, new, *one) for one in odd)]:
            blamed = _blamed(relief, ours, shape)
            faults.append(Fault(f"copper on {old.side} would be cut or joined", blamed))
        names = [
            (old.net_name[one], new.net_name[other])
            for one, other in pairs.tolist()
            if other >= 0 and old.net_name[one] != new.net_name[other]
        ]
        if names and not odd:
            words = f"the net {names[0][0]} on {old.side} would be called {names[0][1]}"
            faults.append(Fault(words, frozenset(ours)))
    return faults


def _odd(pairs: Ints, before: int, after: int) -> list[tuple[int, int]]:
    """Pairs (island before, after) that aren't one to one; -1 for the one that is missing."""
    olds, news = Counter(pairs[:, 0].tolist()), Counter(pairs[:, 1].tolist())
    found = [(a, b) for a, b in pairs.tolist() if b < 0 or olds[a] > 1 or news[b] > 1]
    # Islands that no object stands for, as those of a negative layer, are told by their number.
    alone = [(-1, b) for b in range(after) if b not in news]
    gone = [(a, -1) for a in range(before) if a not in olds]
    return found + (alone + gone if len(alone) != len(gone) else [])


def _shape(old: CopperLayer, new: CopperLayer, one: int, other: int) -> shapely.Geometry:
    return new.islands[other] if other >= 0 else old.islands[one]


def _still_narrow(relief: Relief, facts: Facts, partners: Sequence[Ints]) -> list[Fault]:
    """Places that were to be opened and are not."""
    process, faults = relief.process, []
    assert process.cut is not None
    least = process.cut.most - tie(facts.board)
    for index, (gaps, judged) in enumerate(zip(facts.gaps, fates(facts, process), strict=True)):
        ours = {place.row: place for place in relief.places if place.layer == index}
        islands = partners[index][gaps.islands]
        narrow = np.flatnonzero((judged.fits < least) & (islands >= 0).all(axis=1))
        before = relief.facts.gaps[index]
        belongs = nearest_rows(
            before.islands,
            (before.a + before.b) / 2,
            list(ours),
            islands[narrow],
            ((gaps.a + gaps.b) / 2)[narrow],
        )
        for row in sorted(belongs):
            place = ours[row]
            if place.channel is not None:
                words = f"a gap at {place.x:.3f}, {place.y:.3f} would stay too narrow"
                faults.append(Fault(words, frozenset({place.channel})))
    return faults


def _islands_before(old: CopperLayer, new: CopperLayer) -> Ints:
    """(islands after,) the number each had before, by what is drawn on it; -1 unknown."""
    count = len(old.objects)
    held = (old.island_of >= 0) & (new.island_of[:count] >= 0)
    number = np.full(len(new.islands), -1)
    number[new.island_of[:count][held]] = old.island_of[held]
    return number


def _spoiled(finding: Finding, relief: Relief) -> Fault:
    seen = finding.seen
    ours = [
        k
        for k, channel in enumerate(relief.channels)
        if seen.side is None or relief.board.copper[channel.layer].side == seen.side
    ]
    words = f"{finding.rule}: {seen.message}"
    if seen.x is None or seen.y is None:
        return Fault(words, frozenset(ours), everywhere=True)
    point = shapely.Point(seen.x, seen.y)
    return Fault(words, _blamed(relief, ours, point), _blamed(relief, ours, point, _AROUND))


def _blamed(
    relief: Relief, ours: Sequence[int], shape: shapely.Geometry, reach: float = _BESIDE
) -> frozenset[int]:
    """The channels within reach of a shape; the nearest where none is."""
    if not ours:
        return frozenset()
    lines = np.array([shapely.LineString(relief.channels[k].path) for k in ours])
    half = np.array([relief.channels[k].pen / 2 for k in ours])
    away = shapely.distance(lines, shape) - half
    near = np.flatnonzero(away <= max(reach, float(away.min()) + _BESIDE))
    return frozenset(ours[k] for k in near.tolist())
