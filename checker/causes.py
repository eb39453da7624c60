"""Group findings by cause: a hundred places with one reason are one thing to mend."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np

from checker.findings import Cause, Finding, State
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from checker.board import Board, Floats, Ints
    from checker.findings import Observation

_SEVERITY = list(Severity)
_STATE = list(State)
_TINY = sys.float_info.min
_ALIKE = 0.01  # sizes within this (mm) are one setting: grids and rounding of layouts are coarser
_CROWD = 5  # so many places of one size are a setting, not chance
_SHARE = 0.2  # and at least this part of all places
_MOST_SETTINGS = 2


def shortfall(seen: Observation) -> float:
    """How far measured and limit lie apart in parts of the limit, 0 where no length decides."""
    if seen.measured is None or seen.limit is None:
        return 0.0
    apart = abs(seen.limit - seen.measured)
    return apart / max(abs(seen.limit), abs(seen.measured), _TINY)


def levels_of(board: Board) -> dict[str | None, int]:
    """Numbers of the sides, from top to bottom; what is of the whole board comes first."""
    return {side: number for number, side in enumerate((None, *board.sides))}


def order_of(seen: Observation, levels: Mapping[str | None, int]) -> tuple[object, ...]:
    """Sort key of places: side, then up and to the right."""
    y, x = (-np.inf if at is None else at for at in (seen.y, seen.x))
    return (levels.get(seen.side, len(levels)), y, x, seen.message)


def worst_of(places: Iterable[Observation], levels: Mapping[str | None, int]) -> Observation:
    """The place that speaks for a cause, whatever order they come in."""
    return min(
        places,
        key=lambda seen: (_STATE.index(seen.state), -shortfall(seen), order_of(seen, levels)),
    )


def worst_rows(measured: Floats, limit: float, level: Ints, at: Floats) -> Ints:
    """Of places of one cause and state the one that `worst_of` takes, and those at the same spot.

    Args:
        measured: (n,) mm.
        limit: mm.
        level: (n,) as of `levels_of`.
        at: (n, 2) where.
    """
    largest = np.maximum(np.maximum(np.abs(measured), abs(limit)), _TINY)
    near = -np.abs(limit - measured) / largest  # as `shortfall` says it, to the last bit
    keys = np.column_stack([near, level, at[:, 1], at[:, 0]])
    first = keys[np.lexsort(keys.T[::-1])[0]]
    return np.flatnonzero((keys == first).all(axis=1))


def group(findings: Iterable[Finding]) -> tuple[Cause, ...]:
    """Findings of one rule and one cause together; causes and their findings worst first.

    The remedy of a cause is that of its worst place, which covers the lesser ones: a rule words
    its remedies so that more shortfall never asks for less.
    """
    together: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        together.setdefault((finding.rule, finding.seen.cause), []).append(finding)
    causes = []
    for (rule, text), members in together.items():
        members.sort(
            key=lambda finding: (_STATE.index(finding.seen.state), -shortfall(finding.seen))
        )
        worst = members[0].seen
        severity = min((finding.severity for finding in members), key=_SEVERITY.index)
        remedy = remedy_of(worst, len(members))
        causes.append(Cause(text, rule, severity, worst.state, remedy, tuple(members)))
    causes.sort(
        key=lambda cause: rank(
            cause.rule, cause.severity, cause.findings[0].seen, len(cause.findings)
        )
    )
    return tuple(causes)


def remedy_of(worst: Observation, count: int) -> str:
    """The remedy of a cause by its worst place and the number of its places."""
    return worst.remedy if count == 1 or worst.together is None else worst.together


def rank(rule: str, severity: Severity, worst: Observation, count: int) -> tuple[object, ...]:
    """Sort key of causes, worst first; what rules out the whole board before single places."""
    return (
        _SEVERITY.index(severity),
        _STATE.index(worst.state),
        worst.x is not None,
        -shortfall(worst),
        -count,
        rule,
        worst.cause,
    )


def alike(patterns: Ints, sizes: Floats) -> Iterator[tuple[int, Ints]]:
    """Rows that share a pattern and a class of size, as (pattern, rows), patterns ascending."""
    for pattern in np.unique(patterns).tolist():
        rows = np.flatnonzero(patterns == pattern)
        classes = size_classes(sizes[rows])
        for number in range(int(classes.max()) + 1):
            yield pattern, rows[classes == number]


def size_classes(sizes: Floats) -> Ints:
    """(n,) lengths -> (n,) class numbers: one per size that recurs as a setting does, then a rest.

    A clearance that was typed into a layout program shows as a crowd of places of one size; what
    was drawn by hand is spread out and makes one class together.
    """
    order = np.argsort(sizes, kind="stable")
    ascending = sizes[order]
    classes = np.full(len(sizes), -1)
    free = np.ones(len(sizes), dtype=bool)
    for number in range(_MOST_SETTINGS):
        left = ascending[free]
        if not len(left) or left[-1] - left[0] <= _ALIKE:
            break
        held = np.searchsorted(left, left + _ALIKE, side="right") - np.arange(len(left))
        fullest = int(np.argmax(held))
        if held[fullest] < max(_CROWD, _SHARE * len(sizes)):
            break
        taken = np.flatnonzero(free)[fullest : fullest + held[fullest]]
        classes[order[taken]] = number
        free[taken] = False
    _, compact = np.unique(np.where(classes < 0, _MOST_SETTINGS, classes), return_inverse=True)
    return compact.astype(np.int64)


def spoken(sizes: Floats) -> str:
    """Sizes in words: "0.20 mm" where they are alike, else "0.11 to 0.24 mm"."""
    if sizes.max() - sizes.min() <= _ALIKE:
        return f"{np.median(sizes):.2f} mm"
    return f"{sizes.min():.2f} to {sizes.max():.2f} mm"
