"""Group findings by cause: a hundred places with one reason are one thing to mend."""

from __future__ import annotations

import sys
from math import inf
from typing import TYPE_CHECKING

from checker.findings import Cause, Finding, State
from checker.severity import Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from checker.findings import Observation

_SEVERITY = list(Severity)
_STATE = list(State)
TINY = sys.float_info.min
DIGITS = 6
"""Of places in mm: what arithmetic adds to them must not decide their order."""


def shortfall(seen: Observation) -> float:
    """How far measured and limit lie apart in parts of the limit, 0 where no length decides."""
    if seen.measured is None or seen.limit is None:
        return 0.0
    apart = abs(seen.limit - seen.measured)
    return apart / max(abs(seen.limit), abs(seen.measured), TINY)


def levels_of(sides: Sequence[str]) -> dict[str | None, int]:
    """Numbers of a board's sides, from top to bottom; what is of the whole board comes first."""
    return {side: number for number, side in enumerate((None, *sides))}


def order_of(seen: Observation, levels: Mapping[str | None, int]) -> tuple[object, ...]:
    """Sort key of places: side, then up and to the right."""
    y, x = (-inf if at is None else round(at, DIGITS) for at in (seen.y, seen.x))
    return (levels.get(seen.side, len(levels)), y, x, seen.message)


def worst_of(places: Iterable[Observation], levels: Mapping[str | None, int]) -> Observation:
    """The place that speaks for a cause, whatever order they come in."""
    return min(
        places,
        key=lambda seen: (_STATE.index(seen.state), -shortfall(seen), order_of(seen, levels)),
    )


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
        worst.last,
        worst.x is not None,
        -shortfall(worst),
        -count,
        rule,
        worst.cause,
    )
