"""Random boards as Gerber and XNC text, from the text to the verdict.

Each is drawn twice from one plan: as text, which only the reader can understand, and with shapely
alone. What the reader makes of it is held against the second, what the checker says against the
full morphological closing of the second.
"""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import HealthCheck, Phase, find, given, reject, settings
from hypothesis import strategies as st

from tests.gerber_boards.drawn import cuts, dialects, holes_at, layers, macros, places, plans
from tests.gerber_boards.images import out_of_bounds
from tests.gerber_boards.plan import (
    AS_IT_IS,
    Arc,
    Area,
    Bend,
    Block,
    Dialect,
    Flash,
    Hole,
    Macro,
    Mark,
    Obround,
    Plan,
    Rectangle,
    Regular,
    Round,
    Steps,
    Stroke,
    Thermal,
    Turned,
)
from tests.gerber_boards.report import Count, judge
from tests.gerber_boards.text import files
from tests.gerber_boards.truth import axis, copper
from tests.gerber_boards.verdicts import SeveralError, board_of, width_errors, wrong_verdicts

EVERY = settings(
    deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)
LONG_BATCHES = 800  # of 25 boards
MM = Dialect().mm


@settings(EVERY, max_examples=20)
@given(plans())
def test_copper_is_read_within_the_tolerance_of_what_was_planned(plan: Plan) -> None:
    assert out_of_bounds(plan) == []


@settings(EVERY, max_examples=15)
@given(plans(), cuts)
def test_what_stays_joined_is_what_the_closing_of_the_planned_copper_joins(
    plan: Plan, cut: float
) -> None:
    try:
        wrong = wrong_verdicts(plan, cut)
    except SeveralError:
        reject()

    assert wrong == []


@settings(EVERY, max_examples=5)
@given(plans())
def test_widest_cuts_are_those_of_the_planned_copper(plan: Plan) -> None:
    errors = width_errors(plan)

    # No joint missed by 3 um, no false alarm of 10 um; chords add 1 um at either side.
    assert ((errors > -0.012) & (errors < 0.005)).all()


@settings(EVERY, max_examples=20)
@given(plans())
def test_holes_and_slots_are_read_where_they_were_planned(plan: Plan) -> None:
    board, mm = board_of(plan), plan.dialect.mm

    planned = sorted((hole.size * mm, axis(hole, mm).wkt) for hole in plan.holes)
    found = sorted((hole.diameter, _axis(hole.path).wkt) for hole in board.holes)
    assert len(found) == len(planned)
    for (size, line), (planned_size, planned_line) in zip(found, planned, strict=True):
        assert size == pytest.approx(planned_size)
        assert shapely.equals_exact(
            shapely.from_wkt(line), shapely.from_wkt(planned_line), tolerance=1e-9
        )
    assert {hole.plated for hole in board.holes} <= {plan.plated}


def _axis(path: tuple[tuple[float, float], ...]) -> shapely.Geometry:
    return shapely.Point(path[0]) if len(path) == 1 else shapely.LineString(path)


@pytest.mark.long
@pytest.mark.parametrize("batch", range(LONG_BATCHES))
def test_many_boards_from_text_to_verdict_have_no_wrong_one(batch: int) -> None:
    count = Count()

    judge(batch, count)

    assert count.wrong == []
    assert count.judged > 15


# What the plans are and hold


@pytest.mark.long
def test_plans_use_the_whole_of_the_format() -> None:
    texts: list[str] = []

    @settings(EVERY, max_examples=120, phases=[Phase.generate])
    @given(plans())
    def collect(plan: Plan) -> None:
        texts.extend(files(plan).values())

    # What one plan in dozens has is drawn by itself too.
    @settings(EVERY, max_examples=200, phases=[Phase.generate])
    @given(dialects, macros, holes_at(places), st.booleans())
    def collect_rare(dialect: Dialect, macro: Macro, hole: Hole, plated: bool) -> None:
        marks = (Mark(Flash(macro, (0, 0))),)
        texts.extend(files(Plan(dialect, marks, marks, (hole,), plated)).values())

    collect()
    collect_rare()

    written = "\n".join(texts)
    for word in (
        *("MOMM", "MOIN", "%FSLAX2", "%FSTAX", "%FSLAX3", "4Y24", "6Y26", "LPC", "LMXY", "LS0.5"),
        *("%ADD10C", "R,", "O,", "P,", "%AMM", "%ABD", "%SRX3", "G36", "G37", "G74", "G75"),
        *("G02", "G03", "$1", "\n1,1", "\n1,0", "\n4,1", "\n5,0", "\n7,", "\n20,1", "\n21,0"),
        *("METRIC", "INCH", "000.000", "G85", "M15", "NonPlated"),
    ):
        assert word in written, word


def test_a_plan_that_fails_shrinks_to_a_small_one() -> None:
    shrinking = settings(EVERY, phases=[Phase.generate, Phase.shrink])  # and no explaining

    least = find(layers(1, 2), lambda marks: copper(marks, MM).area > 0.2, settings=shrinking)

    assert len(least) == 2


@pytest.mark.parametrize(
    ("mark", "area"),
    [
        (Mark(Flash(Round(100, 40), (7, 9))), math.pi / 4 * (1.0 - 0.16)),
        (Mark(Flash(Rectangle(100, 50), (7, 9)), True, Turned("X", 30, 80)), 0.5 * 0.64),
        (Mark(Flash(Obround(100, 40), (7, 9))), 0.6 * 0.4 + math.pi / 4 * 0.16),
        (Mark(Flash(Regular(100, 6, 15), (7, 9))), 6 * 0.25 * math.sqrt(3) / 4),
        (Mark(Stroke(Round(20), ((0, 0), (100, 0)))), 0.2 + math.pi * 0.01),
        (Mark(Stroke(Rectangle(20, 10), ((0, 0), (100, 0)))), 1.2 * 0.1),
        (Mark(Arc(Round(20), (0, 0), 20, 0, 3, False)), math.pi / 2 * 0.2 + math.pi * 0.01),
        (Mark(Arc(Round(20), (0, 0), 20, 0, 3, True)), 1.5 * math.pi * 0.2 + math.pi * 0.01),
        (
            Mark(Area((0, 0), ((100, 0), Bend((0, 100), (0, 0), False), (0, 0)))),
            math.pi / 4,
        ),
        (Mark(Flash(Macro((Thermal((0, 0), 100, 60, 10, 45),)), (3, 4))), None),
        (
            Mark(Steps((3, 2), (50, 60), (Mark(Flash(Round(20), (0, 0))),))),
            6 * math.pi * 0.01,
        ),
        (
            Mark(
                Flash(
                    Block(
                        (
                            Mark(Flash(Rectangle(100, 100), (0, 0))),
                            Mark(Flash(Round(50), (0, 0)), False),
                        )
                    ),
                    (5, 5),
                ),
                True,
                AS_IT_IS,
            ),
            1 - math.pi / 4 * 0.25,
        ),
    ],
    ids=lambda value: type(value.thing).__name__ if isinstance(value, Mark) else "",
)
def test_truth_has_the_area_of_the_closed_form(mark: Mark, area: float | None) -> None:
    if area is None:  # a ring cut by a cross of two slots
        ring, width = (0.5, 0.3), 0.1
        across = sum(
            sign
            * (width / 2 * math.sqrt(r * r - width * width / 4) + r * r * math.asin(width / 2 / r))
            for sign, r in zip((1, -1), ring, strict=True)
        )
        area = math.pi * (0.25 - 0.09) - 4 * across

    assert copper((mark,), MM).area == pytest.approx(area, rel=5e-4)


@settings(EVERY, max_examples=10)
@given(layers(1, 5))
def test_copper_pushed_out_holds_the_true_one_and_that_holds_what_is_pushed_in(
    marks: tuple[Mark, ...],
) -> None:
    less, true, more = (copper(marks, MM, slack) for slack in (-0.01, 0.0, 0.01))

    assert less.difference(true).area == pytest.approx(0, abs=1e-9)
    assert true.difference(more).area == pytest.approx(0, abs=1e-9)
    assert less.area < true.area < more.area
