"""Group findings by cause: a hundred places with one reason are one thing to mend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from checker.findings import Cause, Finding, State
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from checker.board import Floats, Ints

_SEVERITY = list(Severity)
_STATE = list(State)
_ALIKE = 0.01  # sizes within this (mm) are one setting: grids and rounding of layouts are coarser
_CROWD = 5  # so many places of one size are a setting, not chance
_SHARE = 0.2  # and at least this part of all places
_MOST_SETTINGS = 2


def shortfall(finding: Finding) -> float:
    """How far measured and limit lie apart in parts of the limit, 0 where no length decides."""
    measured, limit = finding.seen.measured, finding.seen.limit
    if measured is None or limit is None:
        return 0.0
    return abs(limit - measured) / max(abs(limit), abs(measured), np.finfo(float).tiny)


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
        members.sort(key=lambda finding: (_STATE.index(finding.seen.state), -shortfall(finding)))
        worst = members[0]
        severity = min((finding.severity for finding in members), key=_SEVERITY.index)
        remedy = worst.seen.remedy
        if len(members) > 1 and worst.seen.together is not None:
            remedy = worst.seen.together
        causes.append(Cause(text, rule, severity, worst.seen.state, remedy, tuple(members)))
    causes.sort(
        key=lambda cause: (
            _SEVERITY.index(cause.severity),
            _STATE.index(cause.state),
            cause.findings[0].seen.x is not None,  # what rules out the whole board comes first
            -shortfall(cause.findings[0]),
            -len(cause.findings),
            cause.rule,
            cause.cause,
        )
    )
    return tuple(causes)


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
