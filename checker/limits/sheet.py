"""Many specimens on one sheet, judged by one check, each told apart by its place.

Rules ask what lies near; specimens that lie farther apart than anything reaches do not see each
other, so one check of a sheet says what a check of every specimen by itself would. What is found on
no place (too many drills, too large a board) is about the sheet and not asked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from checker.engine import check
from checker.findings import State, Verdict
from checker.limits.plan import Plan

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.findings import Finding, Report, Rule
    from checker.process.model import Process

    Findings = tuple[Finding, ...]

PITCH = 60.96  # mm from specimen to specimen, 24 x 2.54
HEIGHT = 101.6
EDGE = 25.4  # from the edge of the sheet to a specimen that asks nothing of it
LONE = 2 * PITCH, HEIGHT  # the board of a lone specimen
LONE_X = 2 * PITCH - EDGE  # where it stands if its distance from the middle counts


class Specimen(Protocol):
    """Draws itself on a plan, about x, with nets that begin with a word of its own."""

    def __call__(self, plan: Plan, x: float, word: str) -> None:
        """Draw."""


def judged(
    specimens: Sequence[Specimen],
    process: Process,
    rules: Mapping[str, Rule],
    sides: tuple[str, ...] = ("top",),
) -> list[Findings]:
    """For each specimen what a check finds at its place, remarks left out."""
    if not specimens:
        return []
    if len(sides) > 1 and process.machine.skew:  # then a hole's error grows with its place
        reports = (alone(draw, process, rules, sides=sides, x=LONE_X) for draw in specimens)
        return [tuple(one for one in worrying(r) if one.seen.x is not None) for r in reports]
    plan = Plan(PITCH * (len(specimens) + 1), HEIGHT, sides)
    for number, draw in enumerate(specimens):
        draw(plan, PITCH * (number + 1), str(number))
    found: list[list[Finding]] = [[] for _ in specimens]
    for finding in worrying(check(plan.board("sheet"), process, rules)):
        if finding.seen.x is not None:
            number = round(finding.seen.x / PITCH) - 1
            found[min(max(number, 0), len(found) - 1)].append(finding)
    return [tuple(one) for one in found]


def alone(
    draw: Specimen,
    process: Process,
    rules: Mapping[str, Rule],
    size: tuple[float, float] = LONE,
    sides: tuple[str, ...] = ("top",),
    x: float | None = None,
) -> Report:
    """What a check says of a board that holds one specimen.

    Args:
        draw: the specimen.
        process: to judge it by.
        rules: by name.
        size: width and height of the board.
        sides: of copper.
        x: where the specimen stands; in the middle where None.
    """
    plan = Plan(*size, sides)
    draw(plan, size[0] / 2 if x is None else x, "0")
    return check(plan.board("specimen"), process, rules)


def worrying(report: Report) -> Findings:
    """What a check found, remarks left out."""
    return tuple(one for one in report.findings if one.seen.state is not State.REMARK)


def verdict(findings: Findings) -> Verdict:
    """The verdict for a board of copper that is cut, on which that is found."""
    states = {finding.seen.state for finding in findings}
    if State.NOT_MAKEABLE in states:
        return Verdict.NOT_MAKEABLE
    return Verdict.MARGINAL if states else Verdict.MAKEABLE
