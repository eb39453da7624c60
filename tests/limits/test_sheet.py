"""A specimen is judged alike on a sheet among others and on a board of its own."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from msgspec.structs import replace

from checker.findings import Finding, Verdict
from checker.limits import specimens
from checker.limits.limits import Asking
from checker.limits.plan import Plan
from checker.limits.published import published
from checker.limits.sheet import Specimen, alone, judged, verdict, worrying
from checker.process import load_profile
from checker.process.model import Process
from tests.examples import quick
from tests.handmade import RULES

PROFILES = ("cone-30-0.1", "flat-0.8", "etch")
SPECIMENS: list[Specimen] = [
    *(specimens.land_of(land) for land in published().lands[::3]),
    *(specimens.trace_of(width) for width in (0.1, 0.2, 0.3, 3.0)),
    *(specimens.traces_apart(gap) for gap in (0.1, 0.2, 0.4, 6.4)),
    *(specimens.pads_apart(gap) for gap in (0.1, 0.25, 1.0)),
    *(specimens.pour_apart(gap) for gap in (0.1, 0.25, 1.0, 12.8)),
    *(specimens.pads_at_pitch(pitch) for pitch in (0.3, 0.5, 12.8)),
    *(specimens.copper_to_edge(distance) for distance in (0.1, 1.0)),
    *(specimens.hole_to_edge(1.0, distance) for distance in (0.1, 1.0)),
    *(specimens.holes_apart(1.0, web) for web in (0.1, 1.0)),
    *(specimens.lead_of(1.0, pad) for pad in (1.1, 1.4, 4.0)),
]


def told(found: Iterable[Finding]) -> set[tuple[str, str, float | None, float | None]]:
    """What was found, without its place and its words."""
    return {
        (
            one.rule,
            one.seen.state.value,
            one.seen.measured and round(one.seen.measured, 4),
            one.seen.limit and round(one.seen.limit, 4),
        )
        for one in found
        if one.seen.x is not None
    }


@pytest.mark.parametrize("name", quick(PROFILES, ("cone-30-0.1", "etch")))
def test_on_a_sheet_as_alone(name: str) -> None:
    process = Asking(load_profile(name), RULES).process

    together = judged(SPECIMENS, process, RULES)

    apart = [worrying(alone(draw, process, RULES)) for draw in SPECIMENS]
    assert [told(one) for one in together] == [told(one) for one in apart]


@pytest.mark.parametrize("name", PROFILES)
def test_vias_on_a_sheet_as_alone(name: str) -> None:
    process = Asking(load_profile(name), RULES).process
    vias = [specimens.via_of(hole, hole + wider) for hole in (0.3, 0.6) for wider in (0.2, 0.8, 4)]
    sides = ("top", "bottom")

    together = judged(vias, process, RULES, sides)

    apart = [worrying(alone(via, process, RULES, sides=sides)) for via in vias]
    assert [told(one) for one in together] == [told(one) for one in apart]


def skewed(process: Process, degrees: float) -> Process:
    return replace(process, machine=replace(process.machine, skew=degrees))


def test_axes_off_square_ask_for_wider_rings_wherever_a_via_stands_among_others() -> None:
    process = skewed(load_profile("cone-30-0.1"), 0.2)
    via = specimens.via_of(0.6, 1.5)

    found = judged([via] * 3, process, RULES, ("top", "bottom"))

    assert told(found[0]) == told(found[1]) == told(found[2])
    assert {rule for rule, *_ in told(found[0])} <= {"thin-ring", "broken-ring"}
    assert told(found[0]) != set()


def test_nothing_is_found_on_roomy_boards_of_the_built_in_processes() -> None:
    found = {
        name: worrying(alone(specimens.roomy, load_profile(name), RULES, (60.0, 40.0)))
        for name in ("cone-30-0.1", "cone-10-0.1", "cone-60-0.2", "flat-0.4", "etch", "laser")
    }

    assert {name for name, seen in found.items() if seen} == set()


def test_verdict_is_the_gravest_of_what_is_found() -> None:
    process = load_profile("cone-30-0.1")
    found = judged([specimens.traces_apart(gap) for gap in (0.1, 0.2, 0.3)], process, RULES)

    verdicts = [verdict(one) for one in found]

    assert verdicts == [Verdict.NOT_MAKEABLE, Verdict.MARGINAL, Verdict.MAKEABLE]


def test_copper_that_touches_is_one_island_of_its_net() -> None:
    plan = Plan(30.0, 30.0)
    plan.pad((5.0, 5.0), (2.0, 2.0), "A", ("U1", "1"))
    plan.trace(0.5, "A", (5.0, 5.0), (15.0, 5.0))
    plan.pad((20.0, 20.0), 2.0, "A")
    plan.pad((25.0, 25.0), 2.0, "B")

    (layer,) = plan.board("drawn").copper

    assert layer.net_name == ("A", "A", "B")
    assert layer.island_of.tolist() == [0, 0, 1, 2]
