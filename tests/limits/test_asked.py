"""Least lengths: against closed forms, rounded up to the grid, and never more for a wider bit."""

from __future__ import annotations

from functools import partial
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.limits import specimens
from checker.limits.asked import MIL, Answer, Question, answers
from checker.process.model import Process
from checker.process.shop import EdgeWork
from tests.handmade import PLAIN, RULES, cone, cutting, exactly, flat, spread

TIE = 0.005  # checker/isolation.py: nearer to a limit than this nothing is a fault


def asked(draw: object, process: Process) -> Answer:
    (answer,) = answers([Question("a length", draw)], process, RULES)  # type: ignore[arg-type]
    return answer


def up(length: float, step: float) -> int:
    """Whole steps no shorter than a length."""
    return ceil(length / step - 1e-9)


def surely(nominal: float, most: float) -> float:
    """The least gap for a cut: the widest of the spread, but not right at the nominal width."""
    return max(most - TIE, nominal + TIE)


# Published: a 0.1 mm tip of 30 degrees 0.127 mm deep cuts 0.16806 mm (the formula w = t + 2 d
# tan(A/2)); a tip of 0 and 90 degrees 3 mil deep cuts 6 mil; a 1/64 in end mill cuts 0.397 mm.
@pytest.mark.parametrize(
    ("process", "width"),
    [
        (cone(exactly(0.1), 30.0, exactly(0.127)), 0.16806),
        (cone(exactly(1e-6), 90.0, exactly(0.0762)), 0.1524),
        (flat(0.396875, exactly(0.1)), 0.396875),
    ],
)
def test_clearance_is_the_width_of_the_cut_rounded_up(process: Process, width: float) -> None:
    answer = asked(specimens.traces_apart, process)

    assert answer.sure.mm == pytest.approx(0.05 * up(surely(width, width), 0.05))
    assert answer.sure.mil == up(surely(width, width), MIL)


@settings(max_examples=4, deadline=None)
@given(most=st.floats(0.06, 2.0), share=st.floats(0.5, 1.0))
def test_clearance_passes_from_the_widest_cut_and_with_luck_from_the_nominal(
    most: float, share: float
) -> None:
    nominal = most * share

    answer = asked(specimens.traces_apart, cutting(nominal, most))

    assert answer.luck is not None
    assert answer.sure.mm == pytest.approx(0.05 * up(surely(nominal, most), 0.05))
    assert answer.sure.mil == up(surely(nominal, most), MIL)
    assert answer.luck.mm == pytest.approx(0.05 * up(nominal - TIE, 0.05))
    assert answer.luck.mil == up(nominal - TIE, MIL)


@settings(max_examples=2, deadline=None)
@given(width=st.floats(0.05, 1.5), wider=st.floats(0.0, 1.5))
@pytest.mark.parametrize(
    "draw", [specimens.traces_apart, specimens.pads_at_pitch, specimens.pour_apart]
)
def test_wider_bit_never_allows_more(draw: object, width: float, wider: float) -> None:
    fine, coarse = asked(draw, cutting(width)), asked(draw, cutting(width + wider))

    assert (fine.sure.mm or 0) <= (coarse.sure.mm or 0)
    assert (fine.sure.mil or 0) <= (coarse.sure.mil or 0)


def test_pads_longer_than_their_gap_pass_where_the_gap_is_no_less_than_the_cut() -> None:
    """Half of a pitch is the gap, so that a cut of up to 0.2 mm asks for a pitch of 0.4 mm."""
    answer = asked(specimens.pads_at_pitch, cutting(0.15, 0.2))

    assert answer.sure.mm == pytest.approx(0.4)
    assert answer.sure.mil == up(0.2 - TIE, MIL / 2)


def test_a_mil_is_25_4_micrometres_exactly() -> None:
    """10 mil are 0.254 mm: a cut of that width less the tie passes 10 mil, a wider one 11."""
    passes = asked(specimens.traces_apart, cutting(0.2, 0.254 + TIE - 1e-4))
    fails = asked(specimens.traces_apart, cutting(0.2, 0.254 + TIE + 1e-4))

    assert (passes.sure.mil, fails.sure.mil) == (10, 11)


def test_trace_survives_from_the_minimum() -> None:
    process = replace(PLAIN, minimum_trace=0.33)

    answer = asked(specimens.trace_of, process)

    assert (answer.sure.mm, answer.sure.mil) == (0.35, 13)
    assert {one.rule for one in answer.below} == {"thin-copper"}


def test_etchant_takes_its_share_of_both_edges() -> None:
    """A trace of 0.2 mm is to be left and 0.03 mm goes on each side: 0.26 mm are to be drawn."""
    process = replace(cutting(0.2, method="etching"), minimum_trace=0.2, undercut=0.03)

    answer = asked(specimens.trace_of, process)

    assert answer.sure.mm == pytest.approx(0.3)
    assert answer.luck is not None
    assert answer.luck.mm == pytest.approx(0.2)


def test_pads_to_solder_keep_what_solder_wants() -> None:
    process = replace(cutting(0.1), pad_clearance=0.42, cleared_width=1.0)

    answer = asked(specimens.pads_apart, process)

    assert (answer.sure.mm, answer.sure.mil) == (0.45, 17)
    assert answer.luck is not None
    assert answer.luck.mm == pytest.approx(0.1)


@pytest.mark.parametrize("limit", [0.4, 10.0])
def test_edge_and_holes_keep_their_distance(limit: float) -> None:
    work = EdgeWork(edge_clearance=limit, hole_clearance=limit)
    process = replace(PLAIN, outline=work, web=min(limit, 3.0))

    edge = asked(specimens.copper_to_edge, process)
    hole = asked(partial(specimens.hole_to_edge, 1.0), process)
    web = asked(partial(specimens.holes_apart, 1.0), process)

    assert (edge.sure.mm, hole.sure.mm, web.sure.mm) == (limit, limit, min(limit, 3.0))
    assert edge.luck is not None
    assert edge.luck.free


def test_what_no_key_limits_is_free() -> None:
    answer = asked(specimens.copper_to_edge, PLAIN)

    assert answer.sure.free


def test_what_never_passes_has_no_least() -> None:
    process = cutting(30.0)

    answer = asked(specimens.traces_apart, process)

    assert (answer.sure.mm, answer.sure.mil) == (None, None)
    assert not answer.sure.free
    assert {one.rule for one in answer.below} == {"uncuttable-gap"}


@settings(max_examples=4, deadline=None)
@given(ring=st.floats(0.02, 3.0), off=st.floats(0.0, 0.3))
def test_ring_is_what_is_left_with_every_error_at_its_worst(ring: float, off: float) -> None:
    machine = replace(PLAIN.machine, registration=off)
    process = replace(PLAIN, ring=ring, machine=machine)
    question = Question("pad", partial(specimens.lead_of, 0.9), 0.9)

    (answer,) = answers([question], process, RULES)

    assert answer.sure.mm is not None
    assert (answer.sure.mm - 0.9) / 2 >= ring + off - TIE
    assert (answer.sure.mm - 0.05 - 0.9) / 2 < ring + off


def test_questions_asked_together_are_answered_as_alone() -> None:
    process = cone(spread(0.1, 0.03), 30.0, spread(0.1, 0.02))
    draws = [specimens.traces_apart, specimens.trace_of, specimens.pads_at_pitch]
    questions = [Question(str(row), draw) for row, draw in enumerate(draws)]

    together = answers(questions, process, RULES)

    apart = [answers([question], process, RULES)[0] for question in questions]
    assert [(one.sure, one.luck) for one in together] == [(one.sure, one.luck) for one in apart]
