"""Which finding of an earlier run is which of a later one. Plain values: no numpy, no geometry.

Findings are one if rule, side, nets and pins are the same and the places lie near each other; of
several the nearest. An id that is the same goes first, but only says more than the place where no
twin of it came or went (see `checker.engine`).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from math import floor, hypot
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.findings import State
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from checker.findings import Finding, Observation

WITHIN = 2.0  # mm that a place may move between two runs
TOLERANCE = 0.002  # mm that a length may change without being another
_RADII = (1 / 64, 1 / 16, 1 / 4, 1.0)  # of the tolerance: near ones first, so that few are left
_CROWD = 32  # places of one kind looked at in a square of a radius; what is beyond stays unpaired
_SEVERITY = list(Severity)
_STATE = list(State)

Point = tuple[float, float]


class Pairing(Struct, frozen=True):
    """Findings of two runs by their numbers there, each in exactly one of the three, in order.

    Attributes:
        same: (number before, number after).
        gone: numbers before.
        new: numbers after.
    """

    same: tuple[tuple[int, int], ...]
    gone: tuple[int, ...]
    new: tuple[int, ...]


def pair(
    before: Sequence[Finding],
    after: Sequence[Finding],
    shift: Point = (0.0, 0.0),
    within: float = WITHIN,
) -> Pairing:
    """Pair the findings of two runs, one to one; the time grows with their number.

    Args:
        before: findings of the earlier run; their words are not looked at.
        after: those of the later run.
        shift: mm by which the board has moved in the coordinates of its files since.
        within: mm that a place may lie off where it was, above 0.
    """
    found = dict(_by_id(before, after, shift, within))
    taken = set(found.values())
    kinds: dict[tuple[object, ...], tuple[list[int], list[int]]] = {}
    for i, finding in enumerate(before):
        if i not in found:
            kinds.setdefault(_kind(finding), ([], []))[0].append(i)
    for j, finding in enumerate(after):
        # A kind that was not there before has none to pair with.
        if j not in taken and (kind := _kind(finding)) in kinds:
            kinds[kind][1].append(j)
    for kind, (left, right) in kinds.items():
        if not right:
            continue
        earlier, later = {i: before[i].seen for i in left}, {j: after[j].seen for j in right}
        placed = kind[-1]
        found.update(
            _by_place(earlier, later, shift, within) if placed else _by_lengths(earlier, later)
        )
    taken = set(found.values())
    return Pairing(
        tuple(sorted(found.items())),
        tuple(i for i in range(len(before)) if i not in found),
        tuple(j for j in range(len(after)) if j not in taken),
    )


def worse(before: Finding, after: Finding) -> bool:
    """Whether a finding weighs more, says worse of the board, or falls further short than it did.

    Further short: what was measured lies off the limit by over 2 um more than it did; of one limit
    `checker.causes.shortfall` grows with that.
    """
    return (
        _SEVERITY.index(after.severity) < _SEVERITY.index(before.severity)
        or _STATE.index(after.seen.state) < _STATE.index(before.seen.state)
        or _apart(after.seen) > _apart(before.seen) + TOLERANCE
    )


def _apart(seen: Observation) -> float:
    """How far measured and limit lie apart in mm, 0 where no length decides."""
    if seen.measured is None or seen.limit is None:
        return 0.0
    return abs(seen.limit - seen.measured)


def _kind(finding: Finding) -> tuple[object, ...]:
    seen = finding.seen
    placed = seen.x is not None and seen.y is not None
    return (finding.rule, seen.side, frozenset(seen.nets), frozenset(seen.pins), placed)


def _by_id(
    before: Sequence[Finding], after: Sequence[Finding], shift: Point, within: float
) -> Iterator[tuple[int, int]]:
    """Pairs of one id. Of twins the number says which only while they are equally many."""
    twins, later_twins = (
        Counter(_stem(finding) for finding in findings) for findings in (before, after)
    )
    numbers = {finding.id: j for j, finding in enumerate(after)}
    for i, finding in enumerate(before):
        # Taken out, lest an id that stands twice pairs twice.
        j = numbers.get(finding.id)
        if j is None or twins[_stem(finding)] != later_twins[_stem(finding)]:
            continue
        other = after[j]
        far = _far(finding.seen, other.seen, shift)
        if _kind(finding) == _kind(other) and far <= within:
            del numbers[finding.id]
            yield i, j


def _stem(finding: Finding) -> str:
    return finding.id.partition("-")[0]


def _far(before: Observation, after: Observation, shift: Point) -> float:
    """Distance in mm, 0 where one has no place."""
    if before.x is None or before.y is None or after.x is None or after.y is None:
        return 0.0
    return hypot(after.x - before.x - shift[0], after.y - before.y - shift[1])


def _by_place(
    before: dict[int, Observation], after: dict[int, Observation], shift: Point, within: float
) -> Iterator[tuple[int, int]]:
    """Pairs of one kind, the nearest first: as if all of them stood in one list by distance."""
    for share in _RADII:
        radius = share * within
        near = _near(before, after, shift, radius)
        for _, _, i, j in sorted(near):
            if i in before and j in after:
                del before[i], after[j]
                yield i, j
        if not before or not after:
            return


def _near(
    before: dict[int, Observation], after: dict[int, Observation], shift: Point, radius: float
) -> Iterator[tuple[float, float, int, int]]:
    """(distance, difference of the shortfall in mm, before, after) up to a distance."""
    squares: defaultdict[Point, list[int]] = defaultdict(list)
    for j, seen in after.items():
        squares[_square(seen, (0.0, 0.0), radius)].append(j)
    for i, seen in before.items():
        column, row = _square(seen, shift, radius)
        for square in ((column + a, row + b) for a in (-1, 0, 1) for b in (-1, 0, 1)):
            if square in squares:
                for j in squares[square][:_CROWD]:
                    far = _far(seen, after[j], shift)
                    if far <= radius:
                        yield far, abs(_apart(after[j]) - _apart(seen)), i, j


def _square(seen: Observation, shift: Point, size: float) -> Point:
    x, y = seen.x or 0.0, seen.y or 0.0
    return floor((x + shift[0]) / size), floor((y + shift[1]) / size)


def _by_lengths(
    before: dict[int, Observation], after: dict[int, Observation]
) -> Iterator[tuple[int, int]]:
    """Pairs of the whole board: those of the same lengths, then the rest from short to long."""
    waiting: defaultdict[tuple[float, float], list[int]] = defaultdict(list)
    for j in reversed(after):
        waiting[_lengths(after[j])].append(j)
    for i in list(before):
        if same := waiting.get(_lengths(before[i])):
            j = same.pop()
            del before[i], after[j]
            yield i, j
    yield from zip(_by_length(before), _by_length(after), strict=False)


def _by_length(places: dict[int, Observation]) -> Iterable[int]:
    return sorted(places, key=lambda number: (_lengths(places[number]), number))


def _lengths(seen: Observation) -> tuple[float, float]:
    return (-1.0 if seen.limit is None else seen.limit, seen.measured or 0.0)
